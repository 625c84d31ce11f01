//! What surrounds the panes: the head, the notice, the keys.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};
use unicode_width::UnicodeWidthStr;

use crate::tui::keys;
use crate::tui::model::{Model, Pane};
use crate::tui::theme::Theme;
use crate::tui::words;

use super::text::{self, cap, pad, wrap};

/// Paints the two lines on top: which circuit and how long, and how the machine stands.
pub fn head(model: &Model, theme: &Theme, area: Rect, buffer: &mut Buffer) {
    let width = usize::from(area.width);
    let time = model.standing.as_ref().map_or_else(String::new, |standing| {
        let spent = words::short_minutes(standing.minutes_spent);
        let left = words::short_minutes(standing.minutes_left);
        if standing.minutes_left > 0.0 {
            format!("{spent} in, about {left} to go")
        } else {
            format!("{spent} in all")
        }
    });
    let room = width.saturating_sub(time.width() + 2);
    let name = if model.machine.is_empty() {
        model.circuit.clone()
    } else {
        format!("{}, {}", model.machine, model.circuit)
    };
    let title = Line::from(vec![
        Span::styled(pad(&name, room), theme.label()),
        Span::raw(format!("  {time}")),
    ]);
    let working = if model.working { " working" } else { "" };
    let setup = model.standing.as_ref().map_or("", |standing| standing.setup.as_str());
    let stands = if setup.is_empty() { String::new() } else { format!("Stands now: {setup}") };
    let second = Line::from(vec![
        Span::raw(pad(&stands, width.saturating_sub(working.width()))),
        Span::styled(working, theme.label()),
    ]);
    text::paint(&[title, second], 0, area, buffer);
}

/// The lines of the notice: what was not kept, then what is asked or told.
pub fn notice_lines(model: &Model, theme: &Theme, width: usize) -> Vec<Line<'static>> {
    let mut lines = Vec::new();
    if let Some(alarm) = &model.alarm {
        let rows = wrap(alarm, width.saturating_sub(2));
        lines.extend(rows.into_iter().map(|row| Line::from(format!(" {row}")).style(theme.care())));
    }
    if let Some(notice) = &model.notice {
        let style = if notice.asks { theme.marked() } else { theme.plain() };
        let rows = wrap(&notice.words, width.saturating_sub(2));
        lines.extend(rows.into_iter().map(|row| Line::from(format!(" {row}")).style(style)));
    }
    lines
}

/// Paints the keys of what is in front; those that do not fit are left to the help.
pub fn foot(model: &Model, theme: &Theme, area: Rect, buffer: &mut Buffer) {
    let rows: Vec<_> = keys::rows(model.scene()).filter(|row| !row.short.is_empty()).collect();
    let mut shown = rows.clone();
    let cells = |rows: &[&keys::Row]| -> usize {
        rows.iter().map(|row| row.name.width() + row.short.width() + 5).sum()
    };
    // From the third-last towards the front: help and the way out stay.
    while cells(&shown) > usize::from(area.width) + 2 && shown.len() > 2 {
        shown.remove(shown.len() - 3);
    }
    let mut spans = Vec::new();
    for row in shown {
        spans.push(cap(row.name, theme));
        spans.push(Span::raw(format!(" {}  ", row.short)));
    }
    text::paint(&[Line::from(spans)], 0, area, buffer);
}

/// Paints the names of the panes when only one of them fits.
pub fn tabs(model: &Model, theme: &Theme, area: Rect, buffer: &mut Buffer) {
    let mut spans = Vec::new();
    for pane in Pane::ALL {
        let front = pane == model.pane;
        let style = if front { theme.marked() } else { theme.plain() };
        let name = if front { format!("[{}]", pane.name()) } else { format!(" {} ", pane.name()) };
        spans.push(Span::styled(name, style));
        spans.push(Span::raw(" "));
    }
    spans.push(cap("Tab", theme));
    spans.push(Span::raw(" next"));
    text::paint(&[Line::from(spans)], 0, area, buffer);
}

/// Paints the name of the pane that stands where the step stood, and the way back to it.
pub fn title(model: &Model, theme: &Theme, area: Rect, buffer: &mut Buffer) {
    let words = format!(" {}; Esc goes back to the step", model.pane.name());
    text::paint(&[Line::from(words).style(theme.bar())], 0, area, buffer);
}
