//! The pane of what was found so far.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};
use unicode_width::UnicodeWidthStr;

use crate::job::standing::FoundLine;
use crate::tui::model::{Model, Pane};
use crate::tui::theme::Theme;

use super::text::{self, MARGIN, fit, hanging};

/// Paints what was found, the newest at the bottom and in sight.
pub fn render(model: &Model, theme: &Theme, area: Rect, buffer: &mut Buffer) {
    let lines = lines(model, theme, usize::from(area.width));
    let reach = text::reach(lines.len(), area.height);
    let top = model.scroll[Pane::Found.index()].unwrap_or(reach).min(reach);
    if model.pane == Pane::Found {
        text::paint(&lines, top, area, buffer);
        return;
    }
    // In a sliver of a pane the corner marks would hide the only words there are.
    let shown: Vec<Line<'static>> = lines.into_iter().skip(usize::from(top)).collect();
    text::paint(&shown, 0, area, buffer);
    if !shown.is_empty() && !area.is_empty() {
        buffer.set_stringn(area.x, area.y, "FOUND", usize::from(area.width), theme.label());
    }
}

/// A line for each thing found; in front, they are wrapped instead of cut.
pub fn lines(model: &Model, theme: &Theme, width: usize) -> Vec<Line<'static>> {
    let Some(standing) = &model.standing else {
        return Vec::new();
    };
    if standing.found.is_empty() {
        return text::block(("", theme.label()), "nothing yet", theme.plain(), width);
    }
    let mut lines = Vec::new();
    for found in &standing.found {
        if model.pane == Pane::Found {
            let number = format!("{} ", found.number);
            let words = format!("{}: {}", found.what, found.seen);
            let label = ("", theme.label());
            lines.extend(hanging(label, &number, &words, (theme.plain(), width)));
        } else {
            lines.push(short(found, theme, width));
        }
    }
    lines
}

fn short(found: &FoundLine, theme: &Theme, width: usize) -> Line<'static> {
    let number = format!("{} ", found.number);
    let mut spans = text::margin("", theme.label());
    let room = width.saturating_sub(MARGIN + number.width());
    let seen = fit(&found.seen, room / 2);
    let room = room.saturating_sub(seen.width() + 2);
    let what = if found.what.width() <= room { &found.what } else { &found.brief };
    let what = fit(what, room);
    spans.push(Span::raw(format!("{number}{what}: ")));
    spans.push(Span::styled(seen, theme.label()));
    Line::from(spans)
}
