//! Problems as a picture with a caret, as one line, as JSON.

use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};
use serde_json::{Value, json};

use super::{Problem, Severity, Source, Span, sanitise};

/// How a picture is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Picture {
    /// With colours.
    pub colour: bool,
    /// With box characters; ASCII without.
    pub unicode: bool,
}

/// The problem with the lines of the files it is about, a caret under the place, and the help.
pub fn picture(problem: &Problem, sources: &[Source<'_>], style: Picture) -> String {
    let renderer = if style.colour { Renderer::styled() } else { Renderer::plain() };
    let decor = if style.unicode { DecorStyle::Unicode } else { DecorStyle::Ascii };
    let level = match problem.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
    };
    let own = source_of(&problem.span, sources);
    let snippet = snippet(problem, problem.span.file, own)
        .annotation(AnnotationKind::Primary.span(visible(&problem.span, own.text)));
    let mut group = level.primary_title(sanitise(&problem.message)).element(snippet);
    for file in other_files(problem) {
        group = group.element(snippet_of_notes(problem, file, sources));
    }
    if let Some(help) = &problem.help {
        group = group.element(Level::HELP.message(sanitise(help)));
    }
    renderer.decor_style(decor).render(&[group])
}

/// The text of a file with the notes that stand in it.
fn snippet<'a>(
    problem: &Problem,
    file: usize,
    source: Source<'a>,
) -> Snippet<'a, annotate_snippets::Annotation<'a>> {
    let notes = problem.notes.iter().filter(|(span, _)| span.file == file).map(|(span, label)| {
        AnnotationKind::Context.span(visible(span, source.text)).label(sanitise(label))
    });
    Snippet::source(source.text).path(sanitise(source.name)).annotations(notes)
}

fn snippet_of_notes<'a>(
    problem: &Problem,
    file: usize,
    sources: &[Source<'a>],
) -> Snippet<'a, annotate_snippets::Annotation<'a>> {
    let source = sources.get(file).copied().unwrap_or(NO_SOURCE);
    snippet(problem, file, source)
}

/// Files that only notes stand in, each once.
fn other_files(problem: &Problem) -> Vec<usize> {
    let mut files: Vec<usize> = problem.notes.iter().map(|(span, _)| span.file).collect();
    files.retain(|file| *file != problem.span.file);
    files.dedup();
    files
}

const NO_SOURCE: Source<'static> = Source { name: "", text: "" };

fn source_of<'a>(span: &Span, sources: &[Source<'a>]) -> Source<'a> {
    sources.get(span.file).copied().unwrap_or(NO_SOURCE)
}

/// `file:line:column`.
fn place(span: &Span, sources: &[Source<'_>]) -> String {
    format!("{}:{}:{}", sanitise(source_of(span, sources).name), span.line, span.column)
}

/// `file:line:column: error: message; help`, with the places in other files that belong to it.
pub fn one_line(problem: &Problem, sources: &[Source<'_>]) -> String {
    let help =
        problem.help.as_deref().map_or(String::new(), |help| format!("; {}", sanitise(help)));
    let elsewhere = problem.notes.iter().filter(|(span, _)| span.file != problem.span.file);
    let mut notes = String::new();
    for (span, label) in elsewhere {
        notes.push_str(&format!("; {}: {}", place(span, sources), sanitise(label)));
    }
    format!(
        "{}: {}: {}{notes}{help}",
        place(&problem.span, sources),
        problem.severity.word(),
        sanitise(&problem.message),
    )
}

/// Keys `severity`, `id`, `file`, `line`, `column`, `message`, `notes` (other places, each with `file`,
/// `line`, `column` and `label`), `help` (null when there is none).
pub fn json(problem: &Problem, sources: &[Source<'_>]) -> Value {
    let notes: Vec<Value> = problem
        .notes
        .iter()
        .map(|(span, label)| {
            json!({
                "file": sanitise(source_of(span, sources).name),
                "line": span.line,
                "column": span.column,
                "label": sanitise(label),
            })
        })
        .collect();
    json!({
        "severity": problem.severity.word(),
        "id": problem.id,
        "file": sanitise(source_of(&problem.span, sources).name),
        "line": problem.span.line,
        "column": problem.span.column,
        "message": sanitise(&problem.message),
        "notes": notes,
        "help": problem.help.as_deref().map(sanitise),
    })
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
        let picture = picture(&problem, &[source], Picture::default());
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
            one_line(&problem, &[source]),
            "a.yaml:2:17: error: no kind `lmap`; did you mean `lamp`?"
        );
    }

    #[test]
    fn any_span_of_any_text_can_be_drawn() {
        for text in ["", "\n", "é\n\nü", "a"] {
            for start in 0..8 {
                let bytes = start..start + 3;
                let span = Span { file: 0, bytes, line: 9, column: 9 };
                let problem = Problem::warning("x", &span, "").note(&span, "");
                assert!(
                    !picture(&problem, &[Source { name: "", text }], Picture::default()).is_empty()
                );
            }
        }
    }

    #[test]
    fn a_note_in_another_file_is_shown_with_that_file() {
        let (own, other) = ("a: 1\nb: 2\n", "x: 1\n\nb: 3\n");
        let mut elsewhere = Span::of(other, 6..7);
        elsewhere.file = 1;
        let problem = Problem::error("given-twice", &Span::of(own, 5..6), "`b` is given twice")
            .note(&elsewhere, "the first is here");
        let sources =
            [Source { name: "own.yaml", text: own }, Source { name: "other.yaml", text: other }];
        insta::assert_snapshot!(picture(&problem, &sources, Picture::default()), @"
        error: `b` is given twice
         --> own.yaml:2:1
          |
        2 | b: 2
          | ^
          |
         ::: other.yaml:3:1
          |
        3 | b: 3
          | - the first is here
        ");
        assert_eq!(
            one_line(&problem, &sources),
            "own.yaml:2:1: error: `b` is given twice; other.yaml:3:1: the first is here"
        );
        assert_eq!(json(&problem, &sources)["notes"][0]["file"], "other.yaml");
    }
}
