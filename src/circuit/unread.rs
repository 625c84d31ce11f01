//! Why a text cannot be read at all, in our words: what is seen before a parser sees it, and the usual slips behind
//! what a parser says.

use crate::problem::{Problem, Span};

/// The largest text that is read; circuit files written by hand have a few kilobytes.
pub const MOST_BYTES: usize = 1 << 20;

/// What is better said in our words than in a parser's.
pub(super) fn before_parsing(text: &str) -> Vec<Problem> {
    let start = Span::of(text, 0..0);
    if text.len() > MOST_BYTES {
        return vec![
            Problem::error(
                "too-long",
                &start,
                format!("the file has {} bytes, more than a circuit file can need", text.len()),
            )
            .help("circuit files are a few kilobytes of YAML text; is this another file?"),
        ];
    }
    if text.lines().all(|line| line.trim().is_empty() || line.trim_start().starts_with('#')) {
        return vec![
            Problem::error("empty", &start, "there is nothing in this file")
                .help("begin with `format: 1`, then `name`, `system`, `parts` and `wires`; `circuits/README.md` shows how"),
        ];
    }
    if let Some(at) = text.find('\0') {
        return vec![
            Problem::error("not-text", &Span::of(text, at..at + 1), "this is not a text file")
                .help("circuit files are plain YAML text"),
        ];
    }
    tabs(text).into_iter().collect()
}

/// Tabs in front of a line's text, in one problem for the whole file.
fn tabs(text: &str) -> Option<Problem> {
    let indent = |line: &str| line.len() - line.trim_start_matches([' ', '\t']).len();
    let mut offset = 0;
    let mut found = Vec::new();
    for line in text.split_inclusive('\n') {
        if let Some(tab) = line[..indent(line)].find('\t')
            && !line.trim().is_empty()
            && !line.trim_start().starts_with('#')
        {
            found.push(offset + tab);
        }
        offset += line.len();
    }
    let first = *found.first()?;
    let message = match found.len() {
        1 => "a tab stands before the text of this line".to_owned(),
        n => format!("tabs stand before the text of {n} lines, this is the first"),
    };
    Some(
        Problem::error("tab", &Span::of(text, first..first + 1), message)
            .help("indent with blanks: YAML does not allow tabs there"),
    )
}

/// The usual slips behind what a YAML parser says: message (its own words without one) and way out.
pub(super) fn in_our_words(said: &str, span: &Span, text: &str) -> (Option<&'static str>, String) {
    let line = text.lines().nth(span.line.saturating_sub(1)).unwrap_or("");
    let any = |words: &[&str]| words.iter().any(|word| said.contains(word));
    if any(&["documents"]) {
        return (
            Some("a second document begins here"),
            "keep one circuit in one file: take out the line `---` and what follows".to_owned(),
        );
    }
    if any(&["budget", "limit", "depth", "nesting"]) {
        return (
            Some("this file is nested deeper or repeats more than a circuit can"),
            "a circuit file needs five levels and no aliases: is this another file?".to_owned(),
        );
    }
    if any(&["alias", "anchor"]) {
        return (None, "a value that begins with `*` or `&` needs quotes: \"*...\"".to_owned());
    }
    let way_out = if let Some(number) = open_bracket(text, span.line) {
        format!("the bracket that opens on line {number} does not close there")
    } else if line.matches(": ").count() > 1 && !line.contains('{') {
        "a text with `: ` in it needs quotes: `note: \"first: check the fuse\"`".to_owned()
    } else if any(&["quote"]) {
        "a text that begins with a quote needs the same quote at its end".to_owned()
    } else if any(&["simple key expected"]) && line.trim_start().starts_with('{') {
        "each line of a list begins with `- `, as in `- { from: battery.+, to: fuse.in }`"
            .to_owned()
    } else if any(&["expected ',' or '}'"]) {
        "a comma belongs between two entries within braces: `{ kind: horn, at: dash }`".to_owned()
    } else if any(&["did not find expected key", "indent"]) {
        "lines of one group begin in the same column: is this one indented like its neighbours?"
            .to_owned()
    } else {
        "look at this line and the one above it: brackets, quotes, colons, indentation".to_owned()
    };
    (None, way_out)
}

/// The nearest line at or a little above `line` on which more brackets open than close.
fn open_bracket(text: &str, line: usize) -> Option<usize> {
    let balance = |line: &str| {
        let code = line.split(" #").next().unwrap_or(line);
        code.matches(['{', '[']).count() > code.matches(['}', ']']).count()
    };
    let lines: Vec<&str> = text.lines().take(line).collect();
    (0..lines.len()).rev().take(4).find(|at| balance(lines[*at])).map(|at| at + 1)
}
