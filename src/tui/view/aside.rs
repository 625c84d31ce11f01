//! A step that was done, as it was then.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};
use unicode_width::UnicodeWidthStr;

use crate::job::shown::past::Past;
use crate::job::standing::SuspectLine;
use crate::tui::model::{Model, Sheet};
use crate::tui::theme::Theme;
use crate::tui::words;

use super::suspects::suspect_spans;
use super::text::{self, MARGIN, block, numbered, pad};

/// Paints the step in front.
pub fn render(model: &Model, theme: &Theme, area: Rect, buffer: &mut Buffer) {
    let lines = back(model, theme, usize::from(area.width));
    let Sheet::Back { top, .. } = model.sheet else { return };
    text::paint(&lines, top.min(text::reach(lines.len(), area.height)), area, buffer);
}

/// The lines of the step that was done.
pub fn back(model: &Model, theme: &Theme, width: usize) -> Vec<Line<'static>> {
    let Sheet::Back { number, past, .. } = &model.sheet else {
        return Vec::new();
    };
    let last = model.standing.as_ref().map_or(0, |standing| standing.found.len());
    let title = format!(" Looking back: step {number} of {last}");
    let mut lines = vec![Line::from(pad(&title, width)).style(theme.bar())];
    let Some(past) = past else {
        lines.push(Line::from("Looking it up"));
        return lines;
    };
    lines.extend(block(("DID", theme.label()), &past.what, theme.plain(), width));
    lines.extend(numbered(("", theme.label()), &past.doing, theme.plain(), width));
    lines.extend(block(("SAW", theme.label()), &past.seen, theme.label(), width));
    if past.minutes > 0.0 {
        let words = words::minutes(past.minutes);
        lines.extend(block(("TOOK", theme.label()), &words, theme.plain(), width));
    }
    lines.extend(chances(past, theme, width));
    lines.extend(suspects("BEFORE", &past.before, theme, width));
    lines.extend(suspects("AFTER", &past.after, theme, width));
    lines
}

/// What could have been seen, and how likely it was.
fn chances(past: &Past, theme: &Theme, width: usize) -> Vec<Line<'static>> {
    let row = |(position, (what, chance, seen)): (usize, &(String, f64, bool))| {
        let mut spans = text::margin(if position == 0 { "CHANCE" } else { "" }, theme.label());
        let mark = if *seen { "►" } else { " " };
        let style = if *seen { theme.label() } else { theme.plain() };
        let share = words::share(*chance);
        spans.push(Span::raw(format!(" {share:>5} {mark} ")));
        let room = width.saturating_sub(MARGIN + 5 + 4);
        spans.push(Span::styled(text::fit(what, room), style));
        Line::from(spans)
    };
    past.chances.iter().enumerate().map(row).collect()
}

fn suspects(label: &str, list: &[SuspectLine], theme: &Theme, width: usize) -> Vec<Line<'static>> {
    let row = |(position, suspect): (usize, &SuspectLine)| {
        let word = if position == 0 { label } else { "" };
        let mut spans = text::margin(word, theme.label());
        spans.push(Span::raw(" "));
        let room = width.saturating_sub(MARGIN.max(label.width()) + 1);
        spans.extend(suspect_spans(suspect, theme, room));
        Line::from(spans)
    };
    list.iter().enumerate().map(row).collect()
}
