//! How a drawing fits paper: tracks in one row or in several, upright or across.

use super::layout::Layout;
use super::things::{Rail, Track};
use crate::report::page::{PaperSize, page_rule};

// Lengths are in the drawing's own unit; letters are 11 units high.
/// A row of the grid.
pub const ROW: f64 = 13.0;
/// A letter of a label, and of a terminal's name.
pub const LETTER: f64 = 6.1;
/// A letter of a terminal's name.
pub const SMALL: f64 = 5.0;
/// From a track's line to its label.
pub const BESIDE: f64 = 19.0;
/// From the line to the names of terminals.
pub const BEFORE: f64 = 6.0;
/// The least room to the left of a line.
const LEAST_LEFT: f64 = 22.0;
/// Between a label and the next track's things.
const GAP: f64 = 7.0;
/// Around everything.
pub const MARGIN: f64 = 14.0;
/// Above the first row of tracks: the heading.
pub const HEAD: f64 = 48.0;
/// A letter of the legend.
const LEGEND: f64 = 5.3;
/// The least width of a drawing.
const LEAST_WIDTH: f64 = 420.0;
/// Below each row of tracks: their numbers.
pub const NUMBERS: f64 = 34.0;

/// What can be printed on of an A4 sheet, in millimetres: the shorter side, the longer one.
const PRINTABLE: [f64; 2] = [186.0, 269.0];
/// What is left around that, at the least.
const MARGIN_MM: f64 = 12.0;
/// Millimetres a unit never has more than.
const LARGEST: f64 = 0.29;
/// Letters of two millimetres: as small as they may get before tracks go into another row.
const LEGIBLE: f64 = 0.185;
/// Bands on one sheet.
const MOST_BANDS: usize = 6;

/// Some of the tracks, side by side: what goes across the paper once.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    /// The first of them.
    pub first: usize,
    /// The x of each one's line.
    pub lines: Vec<f64>,
    /// From the left margin to the right one.
    pub width: f64,
}

impl Band {
    /// The x of a track that is in it.
    pub fn line(&self, track: usize) -> Option<f64> {
        track.checked_sub(self.first).and_then(|at| self.lines.get(at)).copied()
    }

    /// Behind the last of its tracks.
    pub fn end(&self) -> usize {
        self.first + self.lines.len()
    }
}

/// A drawing on its paper.
#[derive(Debug, Clone, PartialEq)]
pub struct Paper {
    /// The bands, from the top.
    pub bands: Vec<Band>,
    /// Width and height in units.
    pub size: [f64; 2],
    /// Height of the legend below the last row of tracks.
    pub foot: f64,
    /// Millimetres a unit.
    pub scale: f64,
}

impl Paper {
    /// The way of laying it out that leaves the letters largest; fewer rows of tracks if they are legible.
    ///
    /// `legend` is the number of letters of the legend.
    pub fn of(layout: &Layout, legend: usize) -> Paper {
        let mut best: Option<Paper> = None;
        for count in 1..=MOST_BANDS.min(layout.tracks.len().max(1)) {
            let paper = Paper::with(layout, legend, count);
            let found = best.as_ref().map_or(0.0, |paper| paper.scale);
            if found >= LEGIBLE {
                break;
            }
            if paper.scale > found * 1.05 {
                best = Some(paper);
            }
        }
        best.unwrap_or_else(|| Paper::with(layout, legend, 1))
    }

    fn with(layout: &Layout, legend: usize, count: usize) -> Paper {
        let widths: Vec<f64> = layout.tracks.iter().map(width).collect();
        let ranges = cut(layout, &widths, count);
        let bands: Vec<Band> = ranges.iter().map(|(from, to)| band(layout, *from, *to)).collect();
        let wide = bands.iter().map(|band| band.width).fold(LEAST_WIDTH, f64::max);
        // Folding leaves the ends of lines empty.
        let lines = (legend as f64 * 1.12 / letters(wide)).ceil() + 1.0;
        let foot = lines * ROW + 6.0;
        let tall = HEAD + foot + bands.len() as f64 * band_height(layout);
        let [short, long] = PRINTABLE;
        let upright = (short / wide).min(long / tall);
        let across = (long / wide).min(short / tall);
        Paper { bands, size: [wide, tall], foot, scale: upright.max(across).min(LARGEST) }
    }

    /// Makes a printer take A4, with the longer side where the drawing has it.
    pub fn page_rule(&self) -> String {
        let [short, _] = PRINTABLE;
        // A drawing that fills the shorter side may be wider by rounding.
        let across = self.size[0] * self.scale > short + 0.1;
        page_rule(PaperSize::A4, across, MARGIN_MM)
    }

    /// Letters of a line of the legend.
    pub fn legend_letters(&self) -> usize {
        letters(self.size[0]) as usize
    }

    /// The y at which the rows of a band begin.
    pub fn top(&self, layout: &Layout, band: usize) -> f64 {
        HEAD + band as f64 * band_height(layout)
    }
}

fn letters(wide: f64) -> f64 {
    (wide - 2.0 * MARGIN) / LEGEND
}

fn band_height(layout: &Layout) -> f64 {
    layout.rows as f64 * ROW + NUMBERS
}

fn left(track: &Track) -> f64 {
    (track.left as f64 * SMALL + BEFORE + 2.0).max(LEAST_LEFT)
}

fn width(track: &Track) -> f64 {
    left(track) + BESIDE + track.right as f64 * LETTER + GAP
}

fn band(layout: &Layout, from: usize, to: usize) -> Band {
    // Room for words on where a bar goes on, beside the rows of tracks that others follow.
    let mut x = MARGIN + if from > 0 { 40.0 } else { 0.0 };
    let mut lines = Vec::new();
    for track in &layout.tracks[from..to] {
        lines.push(x + left(track));
        x += width(track);
    }
    let after = if to < layout.tracks.len() { 46.0 } else { 0.0 };
    Band { first: from, lines, width: x + after + MARGIN }
}

/// Ranges of tracks of about the same width, cut where few bars are.
fn cut(layout: &Layout, widths: &[f64], count: usize) -> Vec<(usize, usize)> {
    let total: f64 = widths.iter().sum();
    let most = total / count as f64 * if count == 1 { 1.0 } else { 1.12 } + 1.0;
    let mut ranges = Vec::new();
    let mut from = 0;
    while from < widths.len() {
        let mut ends = Vec::new();
        let mut wide = 0.0;
        for (at, width) in widths.iter().enumerate().skip(from) {
            wide += width;
            if wide > most && !ends.is_empty() {
                break;
            }
            ends.push((at + 1, wide));
        }
        let rest = ends.last().is_none_or(|(end, _)| *end == widths.len());
        let judged =
            |(end, wide): &(usize, f64)| bars_cut(layout, *end) as f64 * 0.08 - wide / most;
        let best = ends.iter().min_by(|a, b| judged(a).total_cmp(&judged(b)));
        let to = if rest { widths.len() } else { best.map_or(widths.len(), |one| one.0) };
        ranges.push((from, to));
        from = to;
    }
    if ranges.is_empty() { vec![(0, 0)] } else { ranges }
}

/// Bars that go on across the gap before track `at`.
fn bars_cut(layout: &Layout, at: usize) -> usize {
    let inner = layout.bars.iter().filter(|bar| bar.rail == Rail::Node);
    inner.filter(|bar| bar.span().0 < at && at <= bar.span().1).count()
}
