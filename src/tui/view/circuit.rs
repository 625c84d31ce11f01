//! The pane of the circuit: its current paths from the supply above to ground below, with the
//! suspicion on each part and the points the step touches.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::text::{Line, Span};
use unicode_width::UnicodeWidthStr;

use crate::circuit::PartId;
use crate::job::standing::{Charge, Held, Path, PathRow};
use crate::tui::model::{Model, Pane, Sheet, StepRef};
use crate::tui::theme::Theme;
use crate::tui::words;

use super::text::{self, fit, meter, pad};

/// The narrowest column a path is drawn in.
pub const COLUMN: u16 = 27;
/// From this width on, a path has room for the places.
const WITH_PLACES: usize = 46;
/// Cells of a part's meter.
const CELLS: usize = 3;
/// A share from here on is shown.
const SUSPECTED: f64 = 0.005;
/// A wire beside the main path needs this share to be drawn when there is little room.
const WORTH_A_ROW: f64 = 0.04;
/// Cells of meter and share together.
const SHARE: usize = CELLS + 7;
/// The detail that shows wires and joints.
const WIRES: u8 = 1;
/// The detail that shows places and volts.
const CLOSE: u8 = 2;
/// The narrowest column with places and volts.
const WITH_VOLTS: usize = 56;
/// Cells of the volts.
const VOLTS: usize = 7;

/// The drawing, ready to be painted: a list of lines for each column.
pub struct Drawing {
    /// Columns of lines.
    pub columns: Vec<Vec<Line<'static>>>,
    /// The row with the first point the step touches, or with the part it mends.
    pub probe_row: Option<usize>,
}

impl Drawing {
    /// Rows of the longest column.
    pub fn height(&self) -> usize {
        self.columns.iter().map(Vec::len).max().unwrap_or(0)
    }

    /// The first row shown when the drawing follows the step.
    pub fn follow(&self, height: u16) -> u16 {
        let reach = text::reach(self.height(), height);
        let Some(probe) = self.probe_row.and_then(|row| u16::try_from(row).ok()) else {
            return 0;
        };
        if probe + 2 < height { 0 } else { probe.saturating_sub(height / 2).min(reach) }
    }
}

/// Paints the circuit.
pub fn render(model: &Model, theme: &Theme, area: Rect, buffer: &mut Buffer) {
    let drawing = drawing(model, theme, area);
    let reach = text::reach(drawing.height(), area.height);
    let followed = drawing.follow(area.height);
    let top = model.scroll[Pane::Circuit.index()].unwrap_or(followed).min(reach);
    paint(&drawing, top, area, buffer);
}

/// The lines of the circuit for a pane of this size.
pub fn drawing(model: &Model, theme: &Theme, area: Rect) -> Drawing {
    let paths = model.standing.as_ref().map_or(&[][..], |standing| &standing.paths);
    let front = model.pane == Pane::Circuit;
    let (width, most) = (usize::from(area.width), most(paths));
    let mended = mended(model);
    let pen = Pen { theme, width, front, brief: false, most, detail: WIRES, mended };
    let one = gather(paths, 1, pen);
    let columns = (area.width / COLUMN).min(u16::try_from(paths.len()).unwrap_or(1));
    if one.height() <= usize::from(area.height) {
        return one;
    }
    if columns < 2 {
        return gather(paths, 1, Pen { brief: true, ..pen });
    }
    let width = usize::from(area.width / columns) - 1;
    gather(paths, usize::from(columns), Pen { width, ..pen })
}

/// The lines of the circuit for the whole window, with as much `detail` as asked for.
pub fn whole(model: &Model, theme: &Theme, area: Rect, detail: u8) -> Drawing {
    let paths = model.standing.as_ref().map_or(&[][..], |standing| &standing.paths);
    let least = if detail < CLOSE { COLUMN } else { WITH_VOLTS as u16 };
    let columns = (area.width / least).clamp(1, u16::try_from(paths.len()).unwrap_or(1).max(1));
    let width = usize::from(area.width / columns).saturating_sub(usize::from(columns > 1));
    let (most, mended) = (most(paths), mended(model));
    let pen = Pen { theme, width, front: false, brief: false, most, detail, mended };
    gather(paths, usize::from(columns), pen)
}

/// Paints the circuit alone.
pub fn render_whole(model: &Model, theme: &Theme, area: Rect, buffer: &mut Buffer) {
    let Sheet::Whole { detail, top } = model.sheet else { return };
    let drawing = whole(model, theme, area, detail);
    let top = top.unwrap_or_else(|| drawing.follow(area.height));
    paint(&drawing, top.min(text::reach(drawing.height(), area.height)), area, buffer);
}

fn paint(drawing: &Drawing, top: u16, area: Rect, buffer: &mut Buffer) {
    let count = u16::try_from(drawing.columns.len()).unwrap_or(1).max(1);
    let width = area.width / count;
    for (x, lines) in (area.x..).step_by(usize::from(width.max(1))).zip(&drawing.columns) {
        let column = Rect { x, width: width.saturating_sub(u16::from(count > 1)), ..area };
        text::paint(lines, top.min(text::reach(lines.len(), 1)), column, buffer);
    }
}

/// How paths are drawn.
#[derive(Clone, Copy)]
struct Pen<'a> {
    theme: &'a Theme,
    /// Cells of a column.
    width: usize,
    /// The pane is in front.
    front: bool,
    /// Paths beside the main one lose their wires that are hardly suspected.
    brief: bool,
    /// The greatest suspicion on any part: a full meter.
    most: f64,
    /// 0 devices, 1 wires and joints too, 2 places and volts too.
    detail: u8,
    /// The part that the step mends.
    mended: Option<PartId>,
}

impl Pen<'_> {
    /// The step is about this path.
    fn is_about(&self, path: &Path) -> bool {
        touched(path) || path.rows.iter().any(|row| Some(row.part) == self.mended)
    }
}

/// The part that the step mends.
fn mended(model: &Model) -> Option<PartId> {
    match model.step() {
        Some(StepRef::Fix(step)) => Some(step.part),
        _ => None,
    }
}

/// Draws each path and stacks the drawings in `count` columns.
fn gather(paths: &[Path], count: usize, pen: Pen<'_>) -> Drawing {
    let mut drawing = Drawing { columns: vec![Vec::new(); count], probe_row: None };
    let main = main_path(paths, &pen);
    for (position, path) in paths.iter().enumerate() {
        let brief = pen.brief && position != main;
        let (lines, probe) = path_lines(path, Pen { brief, ..pen });
        let shortest = (0..count).min_by_key(|at| drawing.columns[*at].len()).unwrap_or(0);
        let column = &mut drawing.columns[shortest];
        if !column.is_empty() && !pen.brief {
            column.push(Line::default());
        }
        let start = column.len();
        column.extend(lines);
        drawing.probe_row = drawing.probe_row.or(probe.map(|row| start + row));
    }
    drawing
}

/// The greatest suspicion on any part, never zero.
fn most(paths: &[Path]) -> f64 {
    let rows = paths.iter().flat_map(|path| &path.rows);
    rows.map(|row| row.suspicion).fold(f64::MIN_POSITIVE, f64::max)
}

fn touched(path: &Path) -> bool {
    path.rows.iter().any(|row| row.before == Held::Probe || row.probe_behind)
}

/// The path that is drawn in full in any case: that of the step, or else the most suspected.
fn main_path(paths: &[Path], pen: &Pen<'_>) -> usize {
    let share = |path: &Path| path.rows.iter().map(|row| row.suspicion).sum::<f64>();
    let most = |a: &usize, b: &usize| share(&paths[*a]).total_cmp(&share(&paths[*b]));
    let of_step = paths.iter().position(|path| pen.is_about(path));
    of_step.or_else(|| (0..paths.len()).rev().max_by(most)).unwrap_or(0)
}

fn path_lines(path: &Path, pen: Pen<'_>) -> (Vec<Line<'static>>, Option<usize>) {
    let Pen { theme, width, .. } = pen;
    let supply = fit(&format!("═╤═ supply, {}", path.name), width);
    let style = if pen.front { theme.marked() } else { theme.label() };
    let mut lines = vec![Line::from(Span::styled(supply, style))];
    let aside = pen.brief && !pen.is_about(path);
    let coarse = pen.detail < WIRES;
    let mut probe = None;
    let mut marked = false;
    for (at, row) in path.rows.iter().enumerate() {
        // Two links of one part, one behind the other, are one row.
        let before = at.checked_sub(1).and_then(|at| path.rows.get(at));
        if before.is_some_and(|before| before.part == row.part) && !marked && !row.probe_behind {
            continue;
        }
        let mended = Some(row.part) == pen.mended;
        let wanted =
            row.before == Held::Probe || row.probe_behind || mended || row.suspicion >= WORTH_A_ROW;
        if row.thin && (aside && row.suspicion < WORTH_A_ROW && !mended || coarse && !wanted) {
            continue;
        }
        if row.before == Held::Clip {
            let words = fit("◄─ clip ", width.saturating_sub(2));
            let rail = Span::styled(format!(" {}", rail(row)), charge_style(row, theme));
            lines.push(Line::from(vec![rail, Span::styled(words, theme.probe())]));
        }
        if row.before == Held::Probe && !marked {
            probe = probe.or(Some(lines.len()));
            lines.push(probe_line(row, pen));
        }
        if mended {
            probe = probe.or(Some(lines.len()));
        }
        lines.push(row_line(row, pen));
        marked = row.probe_behind;
        if row.probe_behind {
            probe = probe.or(Some(lines.len()));
            lines.push(probe_line(path.rows.get(at + 1).unwrap_or(row), pen));
        }
    }
    lines.push(Line::styled("═╧═ ground", theme.label()));
    (lines, probe)
}

/// The sign of what a conductor has on it: thick, thin, broken, so that it needs no colour.
fn rail(row: &PathRow) -> &'static str {
    match row.charge {
        Charge::Live => "┃",
        Charge::Ground => "│",
        Charge::Afloat => "╎",
    }
}

fn charge_style(row: &PathRow, theme: &Theme) -> Style {
    if row.charge == Charge::Live { theme.live() } else { theme.plain() }
}

/// What is on a conductor, in words.
fn on_it(row: &PathRow) -> String {
    match row.charge {
        Charge::Live => format!("{:.1} V", row.volts),
        other => other.word().to_owned(),
    }
}

/// The mark of a point the step touches; `row` is the part behind it.
fn probe_line(row: &PathRow, pen: Pen<'_>) -> Line<'static> {
    let Pen { theme, width, .. } = pen;
    let words = format!("◄─ touch, sound: {} ", on_it(row));
    Line::from(vec![
        Span::styled(format!(" {}", rail(row)), charge_style(row, theme)),
        Span::styled(fit(&words, width.saturating_sub(2)), theme.probe()),
    ])
}

fn row_line(row: &PathRow, pen: Pen<'_>) -> Line<'static> {
    let Pen { theme, width, .. } = pen;
    let live = charge_style(row, theme);
    let rail = if row.thin { format!(" {}  ", rail(row)) } else { format!("[{}] ", rail(row)) };
    let share = words::share(row.suspicion);
    let suspected = row.suspicion >= SUSPECTED;
    let room = width.saturating_sub(4 + if suspected { SHARE } else { 0 });
    let mut spans = vec![Span::styled(rail, live)];
    let style = if row.thin { theme.plain() } else { theme.label() };
    if pen.detail >= CLOSE && width >= WITH_VOLTS - 1 {
        // The columns stand below each other whether a row is suspected or not.
        let room = width.saturating_sub(4 + SHARE);
        let name = (room.saturating_sub(VOLTS + 2)) * 3 / 5;
        spans.push(Span::styled(pad(&row.name, name), style));
        let place = room.saturating_sub(name + 1 + VOLTS);
        spans.push(Span::raw(format!(" {}", pad(&row.place, place))));
        spans.push(Span::styled(format!("{:>VOLTS$}", on_it(row)), live));
    } else if width >= WITH_PLACES && !row.place.is_empty() {
        let name = width / 2 - 4;
        spans.push(Span::styled(pad(&row.name, name), style));
        let place = room.saturating_sub(name + 1);
        spans.push(Span::raw(format!(" {}", pad(&row.place, place))));
    } else {
        spans.push(Span::styled(pad(&row.name, room), style));
    }
    if suspected {
        let bar = meter(row.suspicion / pen.most, CELLS);
        spans.push(Span::styled(format!(" {bar}"), theme.suspicion(row.suspicion)));
        let blanks = SHARE.saturating_sub(CELLS + 1 + share.width());
        spans.push(Span::raw(format!("{}{share}", " ".repeat(blanks))));
    }
    Line::from(spans)
}
