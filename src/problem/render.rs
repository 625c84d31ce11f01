//! Problems as a picture with a caret, as one line, as JSON.

use std::borrow::Cow;

use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};
use serde_json::{Value, json};

use super::{Problem, Severity, Source, Span, is_hidden, sanitise};

/// How a picture is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Picture {
    /// With colours.
    pub colour: bool,
    /// With box characters; ASCII without.
    pub unicode: bool,
}

/// The problem with the lines of the file it is about, a caret under the place, and the help.
pub fn picture(problem: &Problem, source: Source<'_>, style: Picture) -> String {
    let renderer = if style.colour { Renderer::styled() } else { Renderer::plain() };
    let decor = if style.unicode { DecorStyle::Unicode } else { DecorStyle::Ascii };
    let level = match problem.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
    };
    let notes = problem.notes.iter().map(|(span, label)| {
        AnnotationKind::Context.span(visible(span, source.text)).label(sanitise(label))
    });
    let snippet = Snippet::source(shown(source.text))
        .path(sanitise(source.name))
        .annotation(AnnotationKind::Primary.span(visible(&problem.span, source.text)))
        .annotations(notes);
    let mut group = level.primary_title(sanitise(&problem.message)).element(snippet);
    if let Some(help) = &problem.help {
        group = group.element(Level::HELP.message(sanitise(help)));
    }
    renderer.decor_style(decor).render(&[group])
}

/// `file:line:column: error: message; help`.
pub fn one_line(problem: &Problem, source: Source<'_>) -> String {
    let help =
        problem.help.as_deref().map_or(String::new(), |help| format!("; {}", sanitise(help)));
    format!(
        "{}:{}:{}: {}: {}{help}",
        sanitise(source.name),
        problem.span.line,
        problem.span.column,
        problem.severity.word(),
        sanitise(&problem.message),
    )
}

/// Keys `severity`, `id`, `file`, `line`, `column`, `message`, `help` (null when there is none).
pub fn json(problem: &Problem, source: Source<'_>) -> Value {
    json!({
        "severity": problem.severity.word(),
        "id": problem.id,
        "file": sanitise(source.name),
        "line": problem.span.line,
        "column": problem.span.column,
        "message": sanitise(&problem.message),
        "help": problem.help.as_deref().map(sanitise),
    })
}

/// The text with what would hide, turn or command a terminal replaced by something seen of as many bytes, so that
/// spans stay true. The renderer does the same for the control characters of ASCII and leaves all others.
fn shown(text: &str) -> Cow<'_, str> {
    let is_trick = |c: char| {
        !c.is_ascii() && (c.is_control() || is_hidden(c) || matches!(c, '\u{2028}' | '\u{2029}'))
    };
    if !text.chars().any(is_trick) {
        return Cow::Borrowed(text);
    }
    let mut safe = String::with_capacity(text.len());
    for letter in text.chars() {
        match (is_trick(letter), letter.len_utf8()) {
            (false, _) => safe.push(letter),
            (true, 2) => safe.push('\u{a4}'),
            (true, 3) => safe.push(char::REPLACEMENT_CHARACTER),
            (true, _) => safe.extend([char::REPLACEMENT_CHARACTER, '?']),
        }
    }
    Cow::Owned(safe)
}

/// The bytes to underline: within the text, on whole characters, on the first line of the span.
fn visible(span: &Span, text: &str) -> std::ops::Range<usize> {
    let bytes = Span::of(text, span.bytes.clone()).bytes;
    let first_line = text[bytes.clone()].lines().next().unwrap_or("").trim_end().len();
    bytes.start..bytes.start + first_line
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_picture_shows_place_and_way_out() {
        let text = "parts:\n  lamp: { kind: lmap }\n";
        let at = text.find("lmap").unwrap();
        let problem = Problem::error("unknown-kind", &Span::of(text, at..at + 4), "no kind `lmap`")
            .note(&Span::of(text, 9..13), "this part")
            .help("did you mean `lamp`?");
        let source = Source { name: "a\u{1b}.yaml", text };
        let picture = picture(&problem, source, Picture::default());
        insta::assert_snapshot!(picture, @"
        error: no kind `lmap`
         --> a.yaml:2:17
          |
        2 |   lamp: { kind: lmap }
          |   ----          ^^^^
          |   |
          |   this part
          |
          = help: did you mean `lamp`?
        ");
        assert_eq!(
            one_line(&problem, source),
            "a.yaml:2:17: error: no kind `lmap`; did you mean `lamp`?"
        );
    }

    #[test]
    fn no_line_of_the_file_commands_the_terminal() {
        let text = "name: a\u{9b}31m\u{85}b\u{1b}[2J\u{200b}\u{feff}\u{2028}\u{e0041}\u{202e}\n";
        let problem = Problem::error("x", &Span::of(text, 6..text.len() - 1), "no");
        let drawn = picture(&problem, Source { name: "a", text }, Picture::default());
        assert!(drawn.lines().all(|line| sanitise(line) == line), "{drawn:?}");
        assert!(drawn.contains("a\u{a4}31m"), "{drawn}");
    }

    #[test]
    fn any_span_of_any_text_can_be_drawn() {
        for text in ["", "\n", "é\n\nü", "a"] {
            for start in 0..8 {
                let span = Span { bytes: start..start + 3, line: 9, column: 9 };
                let problem = Problem::warning("x", &span, "").note(&span, "");
                assert!(
                    !picture(&problem, Source { name: "", text }, Picture::default()).is_empty()
                );
            }
        }
    }
}
