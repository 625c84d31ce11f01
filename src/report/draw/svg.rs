//! The drawing on paper.

use maud::{Markup, html};
use unicode_width::UnicodeWidthStr;

use super::Marks;
use super::colours::{PLAIN, paints};
use super::label::{Line, folded};
use super::layout::{Layout, Measure};
use super::paper::{BEFORE, BESIDE, Band, LETTER, MARGIN, Paper, ROW, SMALL};
use super::shape::Shape;
use super::symbols::{px, symbol};
use super::things::{Bar, Gap, Item, Join, Rail};
use crate::circuit::{Circuit, Kind, PartId, colour};
use crate::problem::sanitise;
use crate::report::mark;

/// Rows of things on paper.
pub const MEASURE: Measure = Measure { wire: 2, pin: 2, symbol: 3 };
/// What a marked part is framed with.
const ALARM: &str = "#b3261e";

/// The whole drawing as a file.
pub fn write(circuit: &Circuit, marks: &Marks) -> String {
    format!("{}{}\n", mark::DRAWING, drawing(circuit, marks, true).into_string())
}

/// The drawing as an element of a page.
pub fn svg(circuit: &Circuit, marks: &Marks) -> Markup {
    drawing(circuit, marks, false)
}

/// The drawing; one that is `alone` in its file tells a printer its paper.
fn drawing(circuit: &Circuit, marks: &Marks, alone: bool) -> Markup {
    let layout = Layout::of(circuit, MEASURE);
    let words = legend(circuit, &layout);
    let paper = Paper::of(&layout, words.width());
    let words = folded(&words, paper.legend_letters());
    let [wide, tall] = paper.size;
    let title = format!("Wiring of {}", sanitise(&circuit.name));
    let millimetres = |units: f64| format!("{:.1}mm", units * paper.scale);
    let painter = Painter { circuit, marks, layout: &layout };
    html! {
        svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label=(title) style="max-width:100%;height:auto"
            width=(millimetres(wide)) height=(millimetres(tall)) viewBox=(format!("0 0 {} {}", px(wide), px(tall)))
            font-family="system-ui, 'Segoe UI', Roboto, 'Noto Sans', sans-serif" font-size="11" fill="#14202b" {
            title { (title) }
            @if alone { style { (paper.page_rule()) } }
            rect width="100%" height="100%" fill="#fff" {}
            (painter.heading())
            @for (at, band) in paper.bands.iter().enumerate() {
                g transform=(format!("translate(0 {})", px(paper.top(&layout, at)))) { (painter.band(band)) }
            }
            @for (at, line) in words.iter().enumerate() {
                text x=(px(MARGIN)) y=(px(tall - paper.foot + 14.0 + at as f64 * ROW)) fill="#53616e" font-size="10" { (line) }
            }
        }
    }
}

struct Painter<'a> {
    circuit: &'a Circuit,
    marks: &'a Marks,
    layout: &'a Layout,
}

/// What the drawing needs to be read.
fn legend(circuit: &Circuit, layout: &Layout) -> String {
    let used = |code: &str| {
        circuit.parts.iter().any(|part| {
            matches!(&part.kind, Kind::Wire { colour, .. } if colour.split('/').any(|piece| piece == code))
        })
    };
    let codes = colour::CODES.iter().filter(|(code, _)| used(code));
    let codes: Vec<String> = codes.map(|(code, name)| format!("{code} {name}")).collect();
    let mut words = "Wires with colour by IEC 60757 and square millimetres".to_owned();
    if !codes.is_empty() {
        words.push_str(&format!(": {}", codes.join(", ")));
    }
    words.push_str(". Contacts as they stand with nothing operated.");
    let mut lines = layout.items.iter().flat_map(|item| &item.label);
    if let Some(line) = lines.find(|line| line.soft && line.words.starts_with("see ")) {
        let several = line.words.contains(',');
        let (piece, track) =
            if several { ("other pieces", "tracks") } else { ("another piece", "track") };
        let tracks = line.words.trim_start_matches("see ");
        words.push_str(&format!(" \"{}\": {piece} of the part in {track} {tracks}.", line.words));
    }
    let loose: Vec<&str> =
        layout.loose.iter().map(|part| circuit.part(*part).name.as_str()).collect();
    if !loose.is_empty() {
        words.push_str(&format!(" Not wired: {}.", sanitise(&loose.join(", "))));
    }
    words
}

/// The y of a row's upper edge, and of its middle.
fn edge(row: usize) -> f64 {
    row as f64 * ROW
}

fn middle(row: usize) -> f64 {
    edge(row) + ROW / 2.0
}

impl Painter<'_> {
    fn heading(&self) -> Markup {
        let marked: Vec<&str> =
            self.marks.parts.iter().map(|part| self.circuit.part(*part).name.as_str()).collect();
        html! {
            text x=(px(MARGIN)) y="20" font-size="16" font-weight="bold" { (sanitise(&self.circuit.name)) }
            text x=(px(MARGIN)) y="35" fill="#53616e" {
                (sanitise(&self.circuit.machine)) @if !self.circuit.machine.is_empty() { ", " } (px(self.circuit.system_volts)) " V"
                @if !marked.is_empty() { ". Framed and crossed: " (sanitise(&marked.join(", "))) }
            }
        }
    }

    fn band(&self, band: &Band) -> Markup {
        let here = |item: &&Item| band.line(item.track).is_some();
        html! {
            @for bar in &self.layout.bars { (self.bar(bar, band)) }
            @for gap in &self.layout.gaps { (gap_line(gap, band)) }
            @for item in self.layout.items.iter().filter(here) { (self.item(item, band)) }
            @for bar in self.layout.bars.iter().filter(|bar| bar.rail == Rail::Node) { (dots(bar, band)) }
            @for (at, x) in band.lines.iter().enumerate() {
                text x=(px(*x)) y=(px(edge(self.layout.rows) + 15.0)) text-anchor="middle" fill="#53616e" { (band.first + at + 1) }
            }
        }
    }

    fn bar(&self, bar: &Bar, band: &Band) -> Markup {
        let y = middle(bar.row);
        match bar.rail {
            Rail::Node => self.node(bar, band, y),
            rail => {
                let words = if rail == Rail::Supply { "+" } else { "\u{2013}" };
                let (from, to) = (MARGIN, band.width - MARGIN);
                html! {
                    path d=(format!("M{} {}H{}", px(from), px(y), px(to))) stroke="#14202b" stroke-width="3.4" {}
                    text x=(px(from)) y=(px(if rail == Rail::Supply { y - 5.0 } else { y + 14.0 })) font-weight="bold" { (words) }
                }
            }
        }
    }

    fn node(&self, bar: &Bar, band: &Band, y: f64) -> Markup {
        let (first, last) = bar.span();
        let main =
            bar.joins.iter().position(|join| join.from.iter().all(Option::is_some)).unwrap_or(0);
        let left = |at: usize| bar.joins[at].track;
        html! {
            @for at in 1..bar.joins.len() {
                @let carried = if at > main { &bar.joins[at..] } else { &bar.joins[..at] };
                @let (from, to) = (ends_of(left(at - 1), band), ends_of(left(at), band));
                @if from < to { (line(&format!("M{} {}H{}", px(from), px(y), px(to)), self.common(carried))) }
            }
            @if last >= band.end() && first < band.end() {
                (goes_on(band.width - MARGIN - 34.0, y, &format!("\u{25b8} {}", next_in(bar, band.end()))))
            }
            @if first < band.first && last >= band.first {
                (goes_on(MARGIN, y, &format!("{} \u{25c2}", last_before(bar, band.first))))
            }
        }
    }

    /// The colour code that all these lines have; `None` when they differ.
    fn common(&self, joins: &[Join]) -> Option<&str> {
        let mut codes =
            joins.iter().flat_map(|join| join.from).flatten().map(|part| self.code(part));
        let first = codes.next()??;
        codes.all(|code| code == Some(first)).then_some(first)
    }

    /// The colour code of a wire; `None` for anything else.
    fn code(&self, part: PartId) -> Option<&str> {
        match &self.circuit.part(part).kind {
            Kind::Wire { colour, .. } => Some(colour),
            _ => None,
        }
    }

    fn item(&self, item: &Item, band: &Band) -> Markup {
        let x = band.line(item.track).unwrap_or_default();
        let (top, bottom) = (edge(item.row), edge(item.row + item.rows));
        let from = if item.meets[0] { top - ROW / 2.0 } else { top };
        let to = if item.meets[1] { bottom + ROW / 2.0 } else { bottom };
        let whole = format!("M{} {}V{}", px(x), px(from), px(to));
        let is_line = matches!(item.shape, Shape::Wire | Shape::Dot);
        let part = self.circuit.part(item.part);
        html! {
            g data-part=(sanitise(&part.id)) data-shape=(format!("{:?}", item.shape)) {
                @if self.marks.parts.contains(&item.part) { (alarm(item, x, top, bottom)) }
                @if is_line {
                    (line(&whole, item.colour_of.and_then(|wire| self.code(wire))))
                } @else {
                    (symbol(item.shape, item.flipped, x, from, to))
                }
                @if item.shape == Shape::Dot && item.meets == [false, false] {
                    circle cx=(px(x)) cy=(px(f64::midpoint(top, bottom))) r="3.4" {}
                }
                (label(&item.label, x + BESIDE, edge(item.label_row), is_line))
                (terminals(item, x, top, bottom))
            }
        }
    }
}

/// A line in the colours of a code.
fn line(d: &str, code: Option<&str>) -> Markup {
    let Some(code) = code else {
        return html! { path d=(d) fill="none" stroke=(PLAIN) stroke-width="1.8" {} };
    };
    let (main, tracer) = paints(code);
    html! {
        path d=(d) fill="none" stroke=(PLAIN) stroke-width="4.4" {}
        path d=(d) fill="none" stroke=(main) stroke-width="3.2" {}
        @if let Some(tracer) = tracer { path d=(d) fill="none" stroke=(tracer) stroke-width="1.5" stroke-dasharray="7 4" {} }
    }
}

fn gap_line(gap: &Gap, band: &Band) -> Markup {
    let Some(x) = band.line(gap.track) else { return html! {} };
    let from = edge(gap.row) - if gap.meets[0] { ROW / 2.0 } else { 0.0 };
    let to = edge(gap.row + gap.rows) + if gap.meets[1] { ROW / 2.0 } else { 0.0 };
    line(&format!("M{} {}V{}", px(x), px(from), px(to)), None)
}

/// Where a bar meets a track, or the edge of the band on the way to it.
fn ends_of(track: usize, band: &Band) -> f64 {
    let edge = if track < band.first { MARGIN + 34.0 } else { band.width - MARGIN - 36.0 };
    band.line(track).unwrap_or(edge)
}

fn goes_on(x: f64, y: f64, words: &str) -> Markup {
    html! { text x=(px(x)) y=(px(y + 4.0)) font-size="10" { (words) } }
}

fn next_in(bar: &Bar, from: usize) -> usize {
    bar.joins.iter().map(|join| join.track).find(|track| *track >= from).unwrap_or(from) + 1
}

fn last_before(bar: &Bar, from: usize) -> usize {
    bar.joins.iter().map(|join| join.track).rfind(|track| *track < from).unwrap_or(0) + 1
}

/// Dots where lines are joined; where lines only cross there is none.
fn dots(bar: &Bar, band: &Band) -> Markup {
    let (first, last) = bar.span();
    let ways = |join: &Join| {
        let sideways = usize::from(join.track > first) + usize::from(join.track < last);
        join.from.iter().flatten().count() + sideways
    };
    let joined = bar.joins.iter().filter(|join| ways(join) > 2);
    html! {
        @for x in joined.filter_map(|join| band.line(join.track)) {
            circle cx=(px(x)) cy=(px(middle(bar.row))) r="3.4" {}
        }
    }
}

fn label(lines: &[Line], x: f64, top: f64, beside_line: bool) -> Markup {
    let x = if beside_line { x - BESIDE + 7.0 } else { x };
    html! {
        @for (at, line) in lines.iter().enumerate() {
            @let y = px(top + at as f64 * ROW + 10.0);
            @if line.soft { text x=(px(x)) y=(y) fill="#53616e" font-size="10" font-style="italic" { (line.words) } }
            @else { text x=(px(x)) y=(y) { (line.words) } }
        }
    }
}

fn terminals(item: &Item, x: f64, top: f64, bottom: f64) -> Markup {
    let places = [top + 8.0, bottom - 1.0];
    let before = BEFORE + item.shape.wings() as f64 * SMALL;
    html! {
        @for (name, y) in item.terminals.iter().zip(places) {
            @if !name.is_empty() {
                text x=(px(x - before)) y=(px(y)) text-anchor="end" font-size="9" fill="#53616e" { (name) }
            }
        }
    }
}

/// A frame and a cross: what is marked is seen without colours too.
fn alarm(item: &Item, x: f64, top: f64, bottom: f64) -> Markup {
    let letters = item.label.iter().map(|line| line.words.width()).max().unwrap_or(0);
    let wide = 18.0 + BESIDE + letters as f64 * LETTER + 4.0;
    html! {
        rect x=(px(x - 18.0)) y=(px(top - 1.0)) width=(px(wide)) height=(px(bottom - top + 2.0)) rx="4"
            fill="#fdecea" stroke=(ALARM) stroke-width="2" {}
        text x=(px(x - 16.0)) y=(px(f64::midpoint(top, bottom) + 5.0)) font-size="14" font-weight="bold" fill=(ALARM) { "\u{2717}" }
    }
}
