//! What is written beside a symbol.

use unicode_width::UnicodeWidthStr;

use super::chains::Step;
use super::shape::Shape;
use crate::circuit::{Circuit, Kind, Part, TerminalId};
use crate::problem::sanitise;

/// Letters on a line of a label.
pub const LETTERS: usize = 19;
/// Lines of a name before it is cut short.
const NAME_LINES: usize = 2;
/// Letters of a terminal's name.
const TERMINAL_LETTERS: usize = 9;
/// Names that say no more than the symbol does.
const USUAL: [&str; 11] =
    ["in", "out", "+", "-", "1", "2", "anode", "cathode", "body", "point", "joint"];

/// One line of a label.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// The words.
    pub words: String,
    /// A place or another thing of less weight.
    pub soft: bool,
}

fn strong(words: String) -> Line {
    Line { words, soft: false }
}

/// The lines beside a step.
pub fn lines(circuit: &Circuit, step: &Step, shape: Shape) -> Vec<Line> {
    let part = circuit.part(step.part);
    match &part.kind {
        Kind::Wire { colour, area_mm2, .. } => wire(part, colour, *area_mm2),
        _ if shape == Shape::Body => vec![soft("by its body")],
        _ => {
            let mut lines: Vec<Line> =
                few(&sanitise(&part.name), NAME_LINES).into_iter().map(strong).collect();
            lines.push(soft(&circuit.place(part.place).name));
            lines
        }
    }
}

fn soft(words: &str) -> Line {
    Line { words: short(&sanitise(words), LETTERS), soft: true }
}

/// A wire's own name if it has one, then colour and size.
fn wire(part: &Part, colour: &str, area_mm2: f64) -> Vec<Line> {
    let mut lines = Vec::new();
    if !is_made_name(&part.name) {
        lines.extend(few(&sanitise(&part.name), NAME_LINES).into_iter().map(strong));
    }
    let size = size(area_mm2);
    let words = if colour.is_empty() { size } else { format!("{} {size}", sanitise(colour)) };
    lines.push(strong(short(&words, LETTERS)));
    lines
}

/// A wire without a name of its own is called after its ends.
fn is_made_name(name: &str) -> bool {
    name.contains(" to ") && (name.contains("wire, ") || name.contains("cable, "))
}

/// Square millimetres without needless digits.
fn size(area_mm2: f64) -> String {
    let digits = if area_mm2 < 10.0 { 2 } else { 0 };
    let text = format!("{area_mm2:.digits$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// The name of a terminal within its part; empty where it says no more than the symbol.
pub fn terminal(circuit: &Circuit, step: &Step, end: TerminalId, shape: Shape) -> String {
    let terminal = circuit.terminal(end);
    if !shape.names_terminals() || terminal.part != Some(step.part) {
        return String::new();
    }
    let words = terminal.name.rsplit_once(", ").map_or("", |(_, words)| words);
    let told = USUAL.contains(&words) && shape != Shape::Battery;
    if told { String::new() } else { short(&sanitise(words), TERMINAL_LETTERS) }
}

/// Words in lines of a label; what does not fit into `most` lines is cut short.
fn few(words: &str, most: usize) -> Vec<String> {
    let mut lines = folded(words, LETTERS);
    if lines.len() > most {
        let rest = lines.split_off(most - 1).join(" ");
        lines.push(short(&rest, LETTERS));
    }
    lines
}

/// Words in lines of at most so many columns; longer words are cut short.
pub fn folded(words: &str, columns: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in words.split_whitespace() {
        let last = lines.pop().unwrap_or_default();
        if last.is_empty() {
            lines.push(short(word, columns));
        } else if last.width() + 1 + word.width() <= columns {
            lines.push(format!("{last} {word}"));
        } else {
            lines.extend([last, short(word, columns)]);
        }
    }
    lines
}

/// Text in so many columns, with an ellipsis where it was cut.
pub fn short(words: &str, columns: usize) -> String {
    if words.width() <= columns {
        return words.to_owned();
    }
    let mut kept = String::new();
    for letter in words.chars() {
        kept.push(letter);
        if kept.width() + 1 > columns {
            kept.pop();
            break;
        }
    }
    format!("{}\u{2026}", kept.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_folded_and_cut() {
        assert_eq!(few("right tail lamp", 2), ["right tail lamp"]);
        assert_eq!(few("trailer ground joint", 2), ["trailer ground", "joint"]);
        let long = few("a very long name of a part which it is", 2);
        assert_eq!(long, ["a very long name of", "a part which it is"]);
        assert_eq!(
            few("one two three four five six seven eight nine ten", 2)[1],
            "five six seven eig\u{2026}"
        );
        assert_eq!(short("ä\u{4e2d}\u{4e2d}", 3), "ä\u{2026}");
    }

    #[test]
    fn sizes_read_as_on_the_reel() {
        let texts = [0.75, 1.0, 2.5, 16.0, 0.823].map(size);
        assert_eq!(texts, ["0.75", "1", "2.5", "16", "0.82"]);
    }
}
