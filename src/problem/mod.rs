//! What can be wrong with a file, as data: severity, message, place, help; and how it is shown.
//!
//! Rooms that read files return [`Problem`]s, all of them at once; `render` draws them as a picture
//! with a caret, as one line, or as JSON. [`sanitise`] is the door every text from a file passes.

mod render;

use std::ops::Range;

pub use render::{Picture, json, one_line, picture};

/// How bad a problem is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// The file cannot be used until it is mended.
    Error,
    /// The file can be used; something in it is probably not meant so.
    Warning,
}

impl Severity {
    /// `error` or `warning`.
    pub fn word(self) -> &'static str {
        match self {
            Severity::Error => "error",
            Severity::Warning => "warning",
        }
    }
}

/// A stretch of a file's text.
#[derive(Debug, Clone, PartialEq, Eq, Default, Hash)]
pub struct Span {
    /// Which of the files that were read together: 0 is the one that was asked for.
    pub file: usize,
    /// Byte offsets into the text.
    pub bytes: Range<usize>,
    /// Line of its first character, from 1.
    pub line: usize,
    /// Column of its first character, from 1, counted in characters.
    pub column: usize,
}

impl Span {
    /// The span of these bytes of `text`, moved inwards to whole characters.
    pub fn of(text: &str, bytes: Range<usize>) -> Span {
        let start = floor_char(text, bytes.start);
        let end = floor_char(text, bytes.end.max(start));
        let before = &text[..start];
        let line = before.bytes().filter(|byte| *byte == b'\n').count() + 1;
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        let column = before[line_start..].chars().count() + 1;
        Span { file: 0, bytes: start..end, line, column }
    }
}

fn floor_char(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// A text with the name it goes by in messages; a slice of them is in the order of [`Span::file`].
#[derive(Debug, Clone, Copy)]
pub struct Source<'a> {
    /// Path, or the name of a built-in circuit.
    pub name: &'a str,
    /// The whole text.
    pub text: &'a str,
}

/// One thing wrong with a file.
///
/// Messages have no trailing dot, blame nobody and name things with backquotes; `help` says how to
/// mend it. None of the texts is sanitised before it is rendered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// How bad it is.
    pub severity: Severity,
    /// What sort of problem: stable, without blanks.
    pub id: &'static str,
    /// What is wrong, in one line.
    pub message: String,
    /// Where.
    pub span: Span,
    /// Other places that belong to it, each with its label.
    pub notes: Vec<(Span, String)>,
    /// How to mend it.
    pub help: Option<String>,
}

impl Problem {
    /// An error at `span`.
    pub fn error(id: &'static str, span: &Span, message: impl Into<String>) -> Problem {
        Problem {
            severity: Severity::Error,
            id,
            message: message.into(),
            span: span.clone(),
            notes: Vec::new(),
            help: None,
        }
    }

    /// A warning at `span`.
    pub fn warning(id: &'static str, span: &Span, message: impl Into<String>) -> Problem {
        Problem { severity: Severity::Warning, ..Problem::error(id, span, message) }
    }

    /// By this key problems stand in the order of files and lines.
    pub fn order(&self) -> (usize, usize, Severity) {
        (self.span.file, self.span.bytes.start, self.severity)
    }

    /// The same with a way to mend it.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Problem {
        self.help = Some(help.into());
        self
    }

    /// The same with another place that belongs to it.
    #[must_use]
    pub fn note(mut self, span: &Span, label: impl Into<String>) -> Problem {
        self.notes.push((span.clone(), label.into()));
        self
    }
}

/// `text` without anything that moves a cursor, hides, or turns the direction of writing.
///
/// Line breaks and tabs become blanks; control characters, zero-width characters, bidirectional
/// marks, byte-order marks, tag characters and private-use ones are left out.
pub fn sanitise(text: &str) -> String {
    text.chars()
        .filter_map(|c| match c {
            '\n' | '\r' | '\t' | '\u{2028}' | '\u{2029}' | '\u{85}' => Some(' '),
            c if c.is_control() || is_hidden(c) => None,
            c => Some(c),
        })
        .collect()
}

/// Characters that show nothing themselves but change how others show.
fn is_hidden(c: char) -> bool {
    matches!(c,
        '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{115f}' | '\u{1160}' | '\u{17b4}' | '\u{17b5}'
        | '\u{180b}'..='\u{180f}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}'
        | '\u{2060}'..='\u{206f}' | '\u{3164}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{ffa0}'
        | '\u{fff0}'..='\u{fffb}' | '\u{fffe}' | '\u{ffff}' | '\u{e000}'..='\u{f8ff}' | '\u{1d173}'..='\u{1d17a}'
        | '\u{e0000}'..='\u{e0fff}' | '\u{f0000}'..='\u{10ffff}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, expected: &str) {
        assert_eq!(sanitise(text), expected);
    }

    #[test]
    fn tricks_are_left_out_and_words_stay() {
        check("start button", "start button");
        check("Zündschloß Ω", "Zündschloß Ω");
        check("a\u{1b}[2Jb", "a[2Jb");
        check("a\u{9b}2Jb", "a2Jb");
        check("\u{202e}evil\u{200b}", "evil");
        check("two\nlines\there", "two lines here");
    }

    #[test]
    fn spans_count_characters() {
        let text = "a: é\nüb: x";
        let span = Span::of(text, text.find('x').unwrap()..text.len());
        assert_eq!((span.line, span.column), (2, 5));
        assert_eq!(Span::of(text, 4..99).bytes, 3..text.len());
    }
}
