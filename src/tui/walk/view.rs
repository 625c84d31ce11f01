//! The walk on the screen: the step in front and its branches, beside the suspects as they stand.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use unicode_width::UnicodeWidthStr;

use super::Screen;
use super::model::CLOSED;
use crate::report::plain;
use crate::report::tree::{Kind, meaning};
use crate::tui::page::put;
use crate::tui::view::text::{fit, pad, wrap};
use crate::tui::window;

/// Columns of the suspects' pane, where there is room for it.
const PANE: u16 = 34;
/// Windows narrower than this have no pane beside the step.
const WIDE: u16 = 72;
/// Cells of a suspect's bar.
const BAR: usize = 10;

/// Draws the whole screen.
pub fn draw(screen: &Screen<'_>, area: Rect, buffer: &mut Buffer) {
    if window::refused(area, buffer) {
        return;
    }
    let theme = &screen.theme;
    let subject = &screen.walk.tree.subject;
    let step_said = format!(": {} fails. Step {} ", subject.complaint, screen.walk.depth() + 1);
    let room = usize::from(area.width).saturating_sub(step_said.width());
    let title = format!("{}{step_said}", fit(&format!(" {}", subject.circuit), room));
    put(buffer, area, 0, &pad(&title, area.width.into()), theme.bar());
    let foot = " up down: choose   right: take it   left: back   home: begin   q: leave ";
    put(buffer, area, area.height - 1, &pad(foot, area.width.into()), theme.bar());
    let inner = Rect { y: area.y + 1, height: area.height - 2, ..area };
    if area.width >= WIDE {
        let pane = PANE.min(area.width / 3 + 4);
        let left = Rect { width: inner.width - pane - 1, ..inner };
        let right = Rect { x: inner.x + inner.width - pane, width: pane, ..inner };
        step(screen, left, buffer);
        for row in 0..inner.height {
            let bar = Rect { x: right.x - 1, width: 1, ..inner };
            put(buffer, bar, row, "│", Style::new());
        }
        suspects(screen, right, buffer);
    } else {
        let some = (inner.height / 3).max(3);
        let above = Rect { height: inner.height - some, ..inner };
        let below = Rect { y: inner.y + inner.height - some, height: some, ..inner };
        step(screen, above, buffer);
        suspects(screen, below, buffer);
    }
}

/// The step in front: what was seen before it, what to do, its branches; what is marked stays in sight.
fn step(screen: &Screen<'_>, area: Rect, buffer: &mut Buffer) {
    let width = usize::from(area.width).saturating_sub(2);
    let mut lines = doing(screen, width);
    let first = lines.len();
    let marked_row = first + branches(screen, width, &mut lines);
    let room = usize::from(area.height);
    let most = lines.len().saturating_sub(room);
    let top = if screen.moved {
        screen.top.get().min(most)
    } else if marked_row + 2 < room {
        0
    } else {
        (marked_row + 3).saturating_sub(room).min(most)
    };
    screen.top.set(top);
    let inner = Rect { x: area.x + 1, width: area.width.saturating_sub(1), ..area };
    for (row, (line, style)) in lines.iter().skip(top).take(room).enumerate() {
        put(buffer, inner, row as u16, line, *style);
    }
    // A sign takes the place of a line, which is one more that is not shown.
    let sign = |row: u16, words: &str, buffer: &mut Buffer| {
        put(buffer, area, row, &format!("{words:>width$}"), screen.theme.label());
    };
    if top > 0 {
        sign(0, &format!("↑ {} more (PgUp)", top + 1), buffer);
    }
    if top < most {
        sign(area.height - 1, &format!("↓ {} more (PgDn)", most - top + 1), buffer);
    }
}

/// Lines with their styles: what was seen last, and the step.
fn doing(screen: &Screen<'_>, width: usize) -> Vec<(String, Style)> {
    let (walk, theme) = (&screen.walk, &screen.theme);
    let mut lines: Vec<(String, Style)> = Vec::new();
    let mut add = |text: &str, style: Style| {
        lines.extend(wrap(text, width).into_iter().map(|line| (line, style)));
    };
    if let Some((done, seen)) = walk.trail().last() {
        add(&format!("Seen: {done}: {seen}"), Style::new());
        add("", Style::new());
    }
    let Some(node) = walk.node() else { return lines };
    let kind = match node.kind {
        Kind::Test => "LOOK",
        Kind::Fix => "MEND",
        Kind::Cured => "PROVEN",
        Kind::HandOn => "HAND ON",
        Kind::Cut => "TOO RARE TO FOLLOW",
    };
    add(&format!("{kind}  {} ({})", node.title, plain::minutes(node.minutes)), theme.bar());
    for caution in &node.cautions {
        add(&format!("CARE  {caution}"), theme.care());
    }
    for doing in &node.doing {
        add(&format!("- {doing}"), Style::new());
    }
    add("", Style::new());
    lines
}

/// Adds the branches; gives the row of the one that is marked, from the first.
fn branches(screen: &Screen<'_>, width: usize, lines: &mut Vec<(String, Style)>) -> usize {
    let (walk, theme) = (&screen.walk, &screen.theme);
    let first = lines.len();
    let mut marked_row = 0;
    for (at, outcome) in walk.outcomes().into_iter().enumerate() {
        let is_marked = at == walk.marked();
        if is_marked {
            marked_row = lines.len() - first;
        }
        let share = plain::share(outcome.probability);
        let head = format!("{}  {}  {share}", at + 1, outcome.words);
        let style = if is_marked { theme.marked() } else { theme.label() };
        for (row, line) in wrap(&head, width.saturating_sub(2)).into_iter().enumerate() {
            let mark = if is_marked && row == 0 { "►" } else { " " };
            lines.push((format!("{mark} {line}"), style));
        }
        let leaves = meaning(&outcome.leaves);
        if !leaves.is_empty() {
            let wrapped = wrap(&leaves, width.saturating_sub(6));
            lines.extend(wrapped.into_iter().map(|line| (format!("      {line}"), Style::new())));
        }
    }
    marked_row
}

/// All suspects with bars; those that are closed fade to dots and stand last.
fn suspects(screen: &Screen<'_>, area: Rect, buffer: &mut Buffer) {
    let theme = &screen.theme;
    let list = screen.walk.suspects();
    let (mut open, closed): (Vec<_>, Vec<_>) =
        list.into_iter().partition(|(_, share)| *share >= CLOSED);
    open.sort_by(|a, b| b.1.total_cmp(&a.1));
    let width = usize::from(area.width).saturating_sub(1);
    put(
        buffer,
        area,
        0,
        &format!(" SUSPECTS  {} open, {} closed", open.len(), closed.len()),
        theme.label(),
    );
    let mut row = 1;
    for (part, share) in open {
        let filled = ((share * BAR as f64).round() as usize).clamp(1, BAR);
        let bar = pad(&"█".repeat(filled), BAR);
        let name = pad(part, width.saturating_sub(BAR + 7));
        put(
            buffer,
            area,
            row,
            &format!(" {name} {bar} {:>3.0}%", share * 100.0),
            theme.suspicion(share),
        );
        row += 1;
    }
    for (part, _) in closed {
        let name = fit(part, width.saturating_sub(12));
        put(buffer, area, row, &format!(" · {name} · closed"), Style::new());
        row += 1;
    }
}
