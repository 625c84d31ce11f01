//! The pane of the suspects and their shares.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

use crate::job::standing::SuspectLine;
use crate::tui::model::{Model, Pane};
use crate::tui::theme::Theme;
use crate::tui::words;

use super::text::{self, MARGIN, fit, meter, wrap};

/// Cells of a suspect's meter.
const CELLS: usize = 5;

/// Paints the suspects.
pub fn render(model: &Model, theme: &Theme, area: Rect, buffer: &mut Buffer) {
    let lines = lines(model, theme, usize::from(area.width));
    let reach = text::reach(lines.len(), area.height);
    let top = model.scroll[Pane::Suspects.index()].unwrap_or(0).min(reach);
    text::paint(&lines, top, area, buffer);
}

/// A line for each suspect; in front, all of its words and what mends it.
pub fn lines(model: &Model, theme: &Theme, width: usize) -> Vec<Line<'static>> {
    let Some(standing) = &model.standing else {
        return Vec::new();
    };
    if standing.suspects.is_empty() {
        return text::block(("MAYBE", theme.label()), "nobody", theme.plain(), width);
    }
    if model.pane == Pane::Suspects {
        let all = standing.suspects.iter();
        return all.flat_map(|suspect| full(suspect, theme, width)).collect();
    }
    let mut lines = Vec::new();
    for (position, suspect) in standing.suspects.iter().enumerate() {
        let label = if position == 0 { "MAYBE" } else { "" };
        let mut spans = text::margin(label, theme.label());
        spans.extend(suspect_spans(suspect, theme, width.saturating_sub(MARGIN)));
        lines.push(Line::from(spans));
    }
    lines
}

/// One suspect with all its words.
fn full(suspect: &SuspectLine, theme: &Theme, width: usize) -> Vec<Line<'static>> {
    const INDENT: usize = CELLS + 7;
    let mut words = format!("{}: {}", suspect.part, suspect.fault);
    if !suspect.fix.is_empty() {
        words = format!("{words}; mend: {}", suspect.fix);
    }
    let share = words::share(suspect.probability);
    let bar = meter(suspect.probability, CELLS);
    let rows = wrap(&words, width.saturating_sub(INDENT)).into_iter().enumerate();
    rows.map(|(row, words)| match row {
        0 => Line::from(vec![
            Span::raw(format!("{share:>5} ")),
            Span::styled(bar.clone(), theme.suspicion(suspect.probability)),
            Span::raw(format!(" {words}")),
        ]),
        _ => Line::from(format!("{}{words}", " ".repeat(INDENT))),
    })
    .collect()
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
