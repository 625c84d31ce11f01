//! How small a window may be, and what a smaller one says.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::Line;

use super::view::text::{paint, wrap};

/// Columns and lines of the smallest window that shows a step, a question or a page.
const LEAST: (u16, u16) = (40, 12);

/// A window of this size shows one sentence only.
pub fn is_too_small((columns, lines): (u16, u16)) -> bool {
    columns < LEAST.0 || lines < LEAST.1
}

/// In a window that is too small, paints the one sentence that says so, and tells.
pub fn refused(area: Rect, buffer: &mut Buffer) -> bool {
    if !is_too_small((area.width, area.height)) {
        return false;
    }
    let words = format!(
        "Halfsplit needs {} columns and {} lines; this window has {} and {}.",
        LEAST.0, LEAST.1, area.width, area.height
    );
    let lines: Vec<Line<'static>> =
        wrap(&words, usize::from(area.width)).into_iter().map(Line::from).collect();
    let rows = usize::from(area.height);
    // In a sliver the corner marks would hide the words.
    paint(&lines[..rows.min(lines.len())], 0, area, buffer);
    true
}
