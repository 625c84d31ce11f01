//! The drawing in a terminal: box characters, or ASCII.

use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

use super::Marks;
use super::layout::{Layout, Measure};
use super::shape::Shape;
use super::things::{Bar, Item, Join, Rail, Track};
use crate::circuit::Circuit;
use crate::problem::sanitise;
use crate::report::mark;

/// Rows of things in a terminal.
pub const MEASURE: Measure = Measure { wire: 1, pin: 1, symbol: 3 };
/// Columns left of a line at least, for symbols and marks.
const LEAST_LEFT: usize = 2;
/// Columns from a line to its label.
const BESIDE: usize = 3;
/// Columns for words on where a bar goes on.
const GOES_ON: usize = 5;

/// How the drawing is printed.
#[derive(Debug, Clone, Copy)]
pub struct Look {
    /// Columns of a line.
    pub width: usize,
    /// Nothing but ASCII in what we draw; names from the circuit stay as they are.
    pub ascii: bool,
}

/// The whole drawing, in as many rows of tracks as the width asks for.
pub fn write(circuit: &Circuit, marks: &Marks, look: Look) -> String {
    let layout = Layout::of(circuit, MEASURE);
    let mut text = format!(
        "{}, {}\n{} ({})\n",
        mark::DRAWING_TEXT,
        env!("CARGO_PKG_VERSION"),
        sanitise(&circuit.name),
        sanitise(&circuit.machine)
    );
    for range in ranges(&layout, look.width) {
        text.push('\n');
        text.push_str(&band(marks, &layout, range, look.ascii));
    }
    let loose: Vec<&str> =
        layout.loose.iter().map(|part| circuit.part(*part).name.as_str()).collect();
    if !loose.is_empty() {
        text.push_str(&format!("\nNot wired: {}\n", sanitise(&loose.join(", "))));
    }
    text
}

fn width(track: &Track) -> usize {
    track.left.max(LEAST_LEFT) + 1 + BESIDE + track.right + 1
}

/// Tracks that fit beside each other.
fn ranges(layout: &Layout, width_at_most: usize) -> Vec<(usize, usize)> {
    let mut ranges = Vec::new();
    let (mut from, mut wide) = (0, 0);
    for (at, track) in layout.tracks.iter().enumerate() {
        let more = width(track);
        if at > from && wide + more + 2 * GOES_ON > width_at_most {
            ranges.push((from, at));
            (from, wide) = (at, 0);
        }
        wide += more;
    }
    ranges.push((from, layout.tracks.len()));
    ranges
}

fn band(marks: &Marks, layout: &Layout, (from, to): (usize, usize), ascii: bool) -> String {
    let mut x = if from > 0 { GOES_ON } else { 0 };
    let mut lines = Vec::new();
    for track in &layout.tracks[from..to] {
        lines.push(x + track.left.max(LEAST_LEFT));
        x += width(track);
    }
    let x = x + if to < layout.tracks.len() { GOES_ON } else { 0 };
    let mut page = Page { cells: vec![vec![' '; x]; layout.rows + 1], lines, from };
    for bar in &layout.bars {
        page.bar(bar, layout.tracks.len());
    }
    for gap in &layout.gaps {
        page.upright(gap.track, gap.row, gap.rows);
    }
    for item in &layout.items {
        page.item(item, marks.parts.contains(&item.part));
    }
    for (at, line) in page.lines.clone().into_iter().enumerate() {
        page.write(layout.rows, line, &(from + at + 1).to_string());
    }
    page.text(ascii)
}

struct Page {
    cells: Vec<Vec<char>>,
    /// The column of each track's line.
    lines: Vec<usize>,
    /// The first track.
    from: usize,
}

/// What a line does in a cell: goes up, down, left, right.
fn corner([up, down]: [bool; 2], [left, right]: [bool; 2]) -> char {
    match (up, down, left, right) {
        (true, true, true, true) => '┼',
        (true, true, true, false) => '┤',
        (true, true, false, true) => '├',
        (true, false, true, true) => '┴',
        (false, true, true, true) => '┬',
        (true, false, true, false) => '┘',
        (true, false, false, true) => '└',
        (false, true, true, false) => '┐',
        (false, true, false, true) => '┌',
        (_, _, true, true) => '─',
        _ => '│',
    }
}

impl Page {
    fn line(&self, track: usize) -> Option<usize> {
        track.checked_sub(self.from).and_then(|at| self.lines.get(at)).copied()
    }

    fn put(&mut self, row: usize, column: usize, letter: char) {
        if let Some(cell) = self.cells.get_mut(row).and_then(|cells| cells.get_mut(column)) {
            *cell = letter;
        }
    }

    /// Writes words; a wide letter takes the cell behind it too.
    fn write(&mut self, row: usize, column: usize, words: &str) {
        let mut at = column;
        for letter in words.chars() {
            let wide = letter.width().unwrap_or(0);
            if wide == 0 {
                continue;
            }
            self.put(row, at, letter);
            if wide > 1 {
                self.put(row, at + 1, '\0');
            }
            at += wide;
        }
    }

    fn bar(&mut self, bar: &Bar, tracks: usize) {
        let width = self.cells.first().map_or(0, Vec::len);
        if bar.rail != Rail::Node {
            (0..width).for_each(|at| self.put(bar.row, at, '═'));
            let sign = if bar.rail == Rail::Supply { '+' } else { '-' };
            self.put(bar.row, 0, sign);
            let down = bar.rail == Rail::Supply;
            let lines: Vec<usize> =
                bar.joins.iter().filter_map(|join| self.line(join.track)).collect();
            for line in lines {
                self.put(bar.row, line, if down { '╤' } else { '╧' });
            }
            return;
        }
        let (first, last) = bar.span();
        let end = self.from + self.lines.len();
        if first >= end || last < self.from {
            return;
        }
        let left = self.line(first).unwrap_or(GOES_ON - 1);
        let right = self.line(last).unwrap_or(width.saturating_sub(GOES_ON + 1).max(left));
        (left..=right).for_each(|at| self.put(bar.row, at, '─'));
        self.goes_on(bar, (first, last), (end, tracks, width));
        for Join { track, from } in &bar.joins {
            if let Some(line) = self.line(*track) {
                let ways = [from[0].is_some(), from[1].is_some()];
                self.put(bar.row, line, corner(ways, [*track > first, *track < last]));
            }
        }
    }

    /// Says at the edge of a band in which track a bar goes on.
    fn goes_on(
        &mut self,
        bar: &Bar,
        (first, last): (usize, usize),
        (end, tracks, width): (usize, usize, usize),
    ) {
        let beyond = |track: &usize| *track >= end && *track < tracks;
        if last >= end {
            let next = bar.joins.iter().map(|join| join.track).find(beyond).unwrap_or(end);
            self.write(bar.row, width - GOES_ON, &format!("►{}", next + 1));
        }
        if first < self.from {
            let mut tracks = bar.joins.iter().map(|join| join.track);
            let before = tracks.rfind(|track| *track < self.from).unwrap_or(0);
            self.write(bar.row, 0, &format!("{:>3}◄", before + 1));
        }
    }

    fn upright(&mut self, track: usize, first: usize, rows: usize) {
        let Some(line) = self.line(track) else { return };
        for row in first..first + rows {
            // A line crosses the bars that pass.
            let crossed = self.cells.get(row).and_then(|cells| cells.get(line)) == Some(&'─');
            self.put(row, line, if crossed { '┼' } else { '│' });
        }
    }

    fn item(&mut self, item: &Item, marked: bool) {
        let Some(line) = self.line(item.track) else { return };
        self.upright(item.track, item.row, item.rows);
        let centre = item.row + item.rows.saturating_sub(1) / 2;
        self.symbol(item, line, centre);
        if marked {
            self.put(centre, line.saturating_sub(2), '✗');
        }
        for (at, words) in item.label.iter().enumerate() {
            let column = line + if item.shape == Shape::Wire { 2 } else { BESIDE };
            self.write(item.label_row + at, column, &words.words);
        }
        let last = item.row + item.rows.saturating_sub(1);
        for (name, row) in item.terminals.iter().zip([item.row, last]) {
            let start =
                line.saturating_sub(name.width() + usize::from(item.shape != Shape::Open) + 1);
            self.write(row, start, name);
        }
    }

    fn symbol(&mut self, item: &Item, line: usize, centre: usize) {
        let lines: [&str; 3] = match item.shape {
            Shape::Wire | Shape::Body => return,
            Shape::Dot if item.meets != [false, false] => return,
            Shape::Dot => ["", " ● ", ""],
            Shape::Pin => ["", " ╫ ", ""],
            Shape::Ground => ["", "─┴─", ""],
            Shape::Battery => ["", "┷━┷", ""],
            Shape::Open => ["", "╱  ", ""],
            Shape::Closed => ["", " ┃ ", ""],
            Shape::Diode if item.flipped => ["", "─▲─", ""],
            Shape::Diode => ["", "─▼─", ""],
            Shape::Zener if item.flipped => ["", "┌▲┘", ""],
            Shape::Zener => ["", "└▼┐", ""],
            shape => return self.boxed(shape, line, centre),
        };
        self.stamp(lines, line, centre);
    }

    /// A box with a sign in it.
    fn boxed(&mut self, shape: Shape, line: usize, centre: usize) {
        let sign = match shape {
            Shape::Fuse | Shape::FusibleLink => "│││",
            Shape::Coil => "│╱│",
            Shape::CoilDiode => "│▲│",
            Shape::CoilResistor => "│R│",
            Shape::Flasher => "│F│",
            Shape::Breaker | Shape::Lamp => "│╳│",
            Shape::Led => "│▼│",
            Shape::Motor => "│M│",
            Shape::Generator => "│G│",
            Shape::Horn => "│◁│",
            Shape::Heater => "│≡│",
            Shape::Winding => "│ξ│",
            Shape::Gauge => "│↗│",
            Shape::Unit => "│U│",
            Shape::Sender => "│~│",
            Shape::Strap => "│#│",
            _ => "│ │",
        };
        let round = matches!(shape, Shape::Lamp | Shape::Motor | Shape::Generator | Shape::Gauge);
        let (top, bottom) =
            if round { ("╭┴╮", "╰┬╯") } else { ("┌┴┐", "└┬┘") };
        self.stamp([top, sign, bottom], line, centre);
    }

    fn stamp(&mut self, lines: [&str; 3], line: usize, centre: usize) {
        for (at, letters) in lines.iter().enumerate() {
            let row = (centre + at).saturating_sub(1);
            for (right, letter) in letters.chars().enumerate() {
                self.put(row, (line + right).saturating_sub(1), letter);
            }
        }
    }

    fn text(&self, ascii: bool) -> String {
        let mut text = String::new();
        for cells in &self.cells {
            let letters = cells.iter().filter(|letter| **letter != '\0');
            let line: String =
                letters.map(|letter| if ascii { plain(*letter) } else { *letter }).collect();
            text.push_str(line.trim_end());
            text.push('\n');
        }
        text
    }
}

/// The nearest ASCII character of what we draw; letters of names stay.
fn plain(letter: char) -> char {
    match letter {
        '│' | '┃' => '|',
        '─' => '-',
        '═' | '≡' | '┷' | '━' => '=',
        '┼' | '┤' | '├' | '┴' | '┬' | '┘' | '└' | '┐' | '┌' | '╭' | '╮' | '╰' | '╯' | '╤' | '╧' => {
            '+'
        }
        '╱' | '↗' => '/',
        '╳' => 'X',
        '●' => 'o',
        '╫' => 'H',
        '▼' => 'v',
        '▲' => '^',
        '◁' | '◄' => '<',
        '►' => '>',
        'ξ' => 'S',
        '✗' => 'x',
        '…' => '.',
        other => other,
    }
}
