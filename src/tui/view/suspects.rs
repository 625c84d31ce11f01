//! The pane of the suspects and their shares.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

use crate::job::standing::SuspectLine;
use crate::tui::model::{Model, Pane};
use crate::tui::theme::Theme;
use crate::tui::words;

use super::text::{self, MARGIN, fit, meter};

/// Cells of a suspect's meter.
const CELLS: usize = 5;

/// Paints the suspects.
pub fn render(model: &Model, theme: &Theme, area: Rect, buffer: &mut Buffer) {
    let lines = lines(model, theme, usize::from(area.width), model.pane == Pane::Suspects);
    let reach = text::reach(lines.len(), area.height);
    let top = model.scroll[Pane::Suspects.index()].unwrap_or(0).min(reach);
    text::paint(&lines, top, area, buffer);
}

/// A line for each suspect; `full` adds the fix of each.
pub fn lines(model: &Model, theme: &Theme, width: usize, full: bool) -> Vec<Line<'static>> {
    let Some(standing) = &model.standing else {
        return Vec::new();
    };
    let front = model.pane == Pane::Suspects;
    let label_style = if front { theme.marked() } else { theme.label() };
    let mut lines = Vec::new();
    for (position, suspect) in standing.suspects.iter().enumerate() {
        let label = if position == 0 { "MAYBE" } else { "" };
        let mut spans = text::margin(label, label_style);
        spans.extend(suspect_spans(suspect, theme, width.saturating_sub(MARGIN)));
        lines.push(Line::from(spans));
        if full && !suspect.fix.is_empty() {
            let indent = MARGIN + CELLS + 7;
            let fix = fit(&format!("mend: {}", suspect.fix), width.saturating_sub(indent));
            lines.push(Line::from(format!("{}{fix}", " ".repeat(indent))));
        }
    }
    if lines.is_empty() {
        lines.extend(text::block(("MAYBE", label_style), "nobody", theme.plain(), width));
    }
    lines
}

/// One suspect in `width` cells.
pub fn suspect_spans(suspect: &SuspectLine, theme: &Theme, width: usize) -> Vec<Span<'static>> {
    let share = words::share(suspect.probability);
    let who = format!("{}: {}", suspect.part, suspect.fault);
    let bar = meter(suspect.probability, CELLS);
    vec![
        Span::raw(format!("{share:>5} ")),
        Span::styled(bar, theme.suspicion(suspect.probability)),
        Span::raw(format!(" {}", fit(&who, width.saturating_sub(CELLS + 7)))),
    ]
}
