//! The tree as a drawing: from left to right, a box a step, the likeliest ways on top.

use maud::{Markup, html};
use unicode_width::UnicodeWidthStr;

use super::steps::{Step, To, steps};
use super::{FaultTree, Kind};
use crate::report::mark;
use crate::report::page::{PaperSize, page_rule};
use crate::report::plain::{minutes, share, tied};

// All lengths are in the drawing's own unit, which is a pixel at its natural size.
const BOX_WIDTH: f64 = 236.0;
/// Between the boxes of one column and the next: here the outcomes are written.
const GAP: f64 = 176.0;
const MARGIN: f64 = 16.0;
/// White around a drawing on paper, in millimetres.
const PAPER_MARGIN: f64 = 10.0;
const LINE: f64 = 15.0;
/// Size of the letters in `STYLE`.
const LETTERS: f64 = 12.0;
/// Height of a way that ends here.
const ROW: f64 = 24.0;
/// Between two boxes one above the other.
const AIR: f64 = 10.0;
/// Room above the tree for the heading.
const HEAD: f64 = 64.0;
/// Characters on a line of a box, and of an outcome: 12 units high letters are some 7 wide.
const BOX_LETTERS: usize = 31;
const WAY_LETTERS: usize = 22;

/// Strokes and letters; nothing is told by colour alone.
const STYLE: &str = "text{font:12px sans-serif;fill:#14202b}.s{fill:#53616e}.b{font-weight:bold}\
.t{fill:#fff;stroke:#0d4f63;stroke-width:1.5}.f{fill:#eef1f3;stroke:#14202b;stroke-width:3}\
.e{fill:#fff;stroke:#53616e;stroke-dasharray:5 3}.w{fill:none;stroke:#53616e}\
.c{stroke-dasharray:2 4}.h{font:bold 20px sans-serif}.g{fill:#fff}";

/// Room behind the last boxes for what a way ends in: `to step 100`.
const END_WORDS: f64 = 76.0;

/// The whole drawing; a step to which several ways lead is drawn once and named by its number elsewhere.
///
/// For a sheet of paper it is scaled to fit, with the longer side where the drawing has it.
pub fn write(tree: &FaultTree, paper: Option<PaperSize>) -> String {
    let list = steps(tree);
    let (layout, (wide, high)) = laid_out(&list);
    let subject = &tree.subject;
    let title = format!("Fault tree: {}", subject.circuit);
    let line = format!(
        "{}. What fails: {}. On average {} to a proven repair. Frames: thin for a look, thick and tinted for a repair.",
        subject.machine,
        subject.complaint,
        minutes(tree.figures.expected_minutes)
    );
    let (across, down) = size(paper, wide, high);
    let drawing = html! {
        svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label=(title)
            width=(across) height=(down) viewBox=(format!("0 0 {wide:.0} {high:.0}")) {
            style { (STYLE) @if let Some(paper) = paper { (page_rule(paper, wide >= high, PAPER_MARGIN)) } }
            rect.g width="100%" height="100%" {}
            text.h x=(MARGIN) y="28" { (title) }
            text.s x=(MARGIN) y="48" { (line) }
            @for shape in &layout.shapes { (shape) }
        }
    };
    format!("{}{}\n", mark::DRAWING, drawing.into_string())
}

/// How high its letters come out on paper, in millimetres.
pub fn letters_mm(tree: &FaultTree, paper: PaperSize) -> f64 {
    let list = steps(tree);
    let (_, (wide, high)) = laid_out(&list);
    LETTERS * scale(paper, wide, high)
}

/// The shapes, and the width and height of them all.
fn laid_out(list: &[Step]) -> (Layout<'_>, (f64, f64)) {
    let mut layout =
        Layout { list, placed: vec![false; list.len()], shapes: Vec::new(), deepest: 0 };
    let bottom = if list.is_empty() { HEAD } else { layout.step(1, 0, HEAD).bottom };
    let wide = MARGIN * 2.0 + column(layout.deepest) + BOX_WIDTH + GAP + END_WORDS;
    (layout, (wide, bottom + MARGIN))
}

/// Millimetres a unit, the longer side of the paper where the drawing has it.
fn scale(paper: PaperSize, wide: f64, high: f64) -> f64 {
    let (short, long) = paper.sides_mm();
    let (across, down) = if wide >= high { (long, short) } else { (short, long) };
    ((across - 2.0 * PAPER_MARGIN) / wide).min((down - 2.0 * PAPER_MARGIN) / high)
}

/// Its width and height as they are printed.
fn size(paper: Option<PaperSize>, wide: f64, high: f64) -> (String, String) {
    let Some(paper) = paper else { return (length(wide), length(high)) };
    let scale = scale(paper, wide, high);
    (format!("{:.1}mm", scale * wide), format!("{:.1}mm", scale * high))
}

fn length(units: f64) -> String {
    format!("{units:.0}")
}

fn column(depth: usize) -> f64 {
    depth as f64 * (BOX_WIDTH + GAP)
}

/// Where a step and all behind it came to lie.
struct Spot {
    /// Height at which the line to its box arrives.
    middle: f64,
    /// What follows may begin here.
    bottom: f64,
}

struct Layout<'a> {
    list: &'a [Step],
    placed: Vec<bool>,
    shapes: Vec<Markup>,
    deepest: usize,
}

impl Layout<'_> {
    /// Places a step with its box's left edge in the column `depth`, nothing above `top`.
    fn step(&mut self, number: usize, depth: usize, top: f64) -> Spot {
        self.placed[number - 1] = true;
        self.deepest = self.deepest.max(depth);
        let list = self.list;
        let step = &list[number - 1];
        let left = MARGIN + column(depth);
        let lines = folded(&format!("{number}. {}", step.title), BOX_LETTERS);
        let tall = (lines.len() as f64 + 1.0) * LINE + 12.0;
        let mut arrivals = Vec::new();
        let mut below = top;
        for way in step.likeliest_first() {
            let next = way.number().filter(|next| !self.placed[next - 1]);
            let words = tied(&format!("{}, {}", way.words, share(way.probability)));
            let words = folded(&words, WAY_LETTERS);
            let room = ROW.max(words.len() as f64 * LINE + 8.0);
            let at = if let Some(next) = next {
                let spot = self.step(next, depth + 1, below);
                below = spot.bottom.max(below + room);
                spot.middle
            } else {
                below += room;
                below - room / 2.0
            };
            arrivals.push((at, words, end_words(&way.to, next.is_some())));
        }
        // Level with the likeliest way, so that the main line runs along the top.
        let middle = arrivals.first().map_or(0.0, |first| first.0).max(top + tall / 2.0);
        self.frame(step, &lines, left, middle - tall / 2.0, tall);
        for (at, words, end) in &arrivals {
            self.line(left + BOX_WIDTH, middle, *at, words, end.as_deref());
        }
        Spot { middle, bottom: below.max(middle + tall / 2.0) + AIR }
    }

    fn frame(&mut self, step: &Step, lines: &[String], left: f64, top: f64, tall: f64) {
        let class = match step.kind {
            Kind::Test => "t",
            Kind::Fix => "f",
            _ => "e",
        };
        let counted = if step.kind == Kind::HandOn { "counted as " } else { "" };
        let facts =
            format!("{counted}{}, {} of the jobs", minutes(step.minutes), share(step.reached));
        let at = |line: usize| length(top + 4.0 + (line as f64 + 1.0) * LINE);
        self.shapes.push(html! {
            rect class=(class) x=(length(left)) y=(length(top)) width=(BOX_WIDTH) height=(length(tall)) rx="4" {}
            @for (number, line) in lines.iter().enumerate() {
                text.b x=(length(left + 8.0)) y=(at(number)) { (line) }
            }
            text.s x=(length(left + 8.0)) y=(at(lines.len())) { (facts) }
        });
    }

    /// The line from a box to where an outcome leads, with the outcome on it.
    fn line(&mut self, from: f64, middle: f64, at: f64, words: &[String], end: Option<&str>) {
        let (bend, to) = (from + 14.0, from + GAP);
        let stop = if end.is_some() { from + GAP - 8.0 } else { to };
        let path = format!("M{from:.0} {middle:.0}H{bend:.0}V{at:.0}H{stop:.0}");
        let cut = end == Some("cut");
        let count = words.len();
        self.shapes.push(html! {
            path.w.c[cut] d=(path) {}
            @for (number, line) in words.iter().enumerate() {
                text x=(length(bend + 6.0)) y=(length(at - 4.0 - (count - 1 - number) as f64 * LINE)) { (line) }
            }
            @if let Some(end) = end {
                text.b[!cut].s[cut] x=(length(to - 2.0)) y=(length(at + 4.0)) { (end) }
            }
        });
    }
}

/// What stands at the end of a way that leads to no box of its own.
fn end_words(to: &To, drawn: bool) -> Option<String> {
    match to {
        To::Step(_) if drawn => None,
        To::Step(number) => Some(format!("to step {number}")),
        To::Cured(_) => Some("proven".to_owned()),
        To::Cut => Some("cut".to_owned()),
    }
}

/// Words in lines of at most so many letters; a longer word is a line of its own, cut short.
fn folded(words: &str, letters: usize) -> Vec<String> {
    let mut lines: Vec<String> = vec![String::new()];
    for word in words.split(' ') {
        let last = lines.len() - 1;
        if !lines[last].is_empty() && lines[last].width() + 1 + word.width() > letters {
            lines.push(String::new());
        }
        let last = lines.len() - 1;
        if !lines[last].is_empty() {
            lines[last].push(' ');
        }
        lines[last].push_str(&short(word, letters));
    }
    lines
}

fn short(word: &str, letters: usize) -> String {
    if word.width() <= letters {
        return word.to_owned();
    }
    let kept: String = word.chars().take(letters.saturating_sub(1)).collect();
    format!("{kept}\u{2026}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_fold_into_lines() {
        assert_eq!(folded("one two three", 8), ["one two", "three"]);
        assert_eq!(folded("a superlongword b", 6), ["a", "super\u{2026}", "b"]);
    }
}
