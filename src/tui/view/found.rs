//! The pane of what was found so far.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::text::{Line, Span};
use unicode_width::UnicodeWidthStr;

use crate::job::standing::FoundLine;
use crate::tui::model::{Model, Pane};
use crate::tui::theme::Theme;

use super::text::{self, MARGIN, fit, hanging};

/// Paints what was found, the newest at the bottom and in sight.
pub fn render(model: &Model, theme: &Theme, area: Rect, buffer: &mut Buffer) {
    let full = model.pane == Pane::Found && area.height > 3;
    let lines = lines(model, theme, usize::from(area.width), full);
    let reach = text::reach(lines.len(), area.height);
    let top = model.scroll[Pane::Found.index()].unwrap_or(reach).min(reach);
    // In a sliver of a pane the corner marks would hide the only words there are.
    if area.height <= 3 {
        let end = (usize::from(top) + usize::from(area.height)).min(lines.len());
        text::paint(&lines[..end], top, area, buffer);
    } else {
        text::paint(&lines, top, area, buffer);
    }
}

/// A line for each thing found; `full` wraps them instead of cutting.
pub fn lines(model: &Model, theme: &Theme, width: usize, full: bool) -> Vec<Line<'static>> {
    let Some(standing) = &model.standing else {
        return Vec::new();
    };
    let front = model.pane == Pane::Found;
    let label_style = if front { theme.marked() } else { theme.label() };
    if standing.found.is_empty() {
        return text::block(("FOUND", label_style), "nothing yet", theme.plain(), width);
    }
    let mut lines = Vec::new();
    for (position, found) in standing.found.iter().enumerate() {
        let label = if position == 0 || !full { "FOUND" } else { "" };
        let number = format!("{} ", found.number);
        if full {
            let words = format!("{}: {}", found.what, found.seen);
            lines.extend(hanging((label, label_style), &number, &words, (theme.plain(), width)));
        } else {
            lines.push(short(found, (label, label_style), theme, width));
        }
    }
    lines
}

fn short(found: &FoundLine, label: (&str, Style), theme: &Theme, width: usize) -> Line<'static> {
    let number = format!("{} ", found.number);
    let mut spans = text::margin(label.0, label.1);
    let room = width.saturating_sub(MARGIN + number.width());
    let seen = fit(&found.seen, room / 2);
    let what = fit(&found.what, room.saturating_sub(seen.width() + 2));
    spans.push(Span::raw(format!("{number}{what}: ")));
    spans.push(Span::styled(seen, theme.label()));
    Line::from(spans)
}
