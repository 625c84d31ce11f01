//! How much room the lines of a step take.

use ratatui::text::Line;

/// Ranges of a number named where there is room.
pub(super) const RANGES: usize = 5;

/// How much room the lines of a step take.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Density {
    /// What an outcome would mean is cut to one line.
    Tight {
        /// But for so many lines more in all.
        spare: usize,
        /// So many ranges of a number are named.
        ranges: usize,
    },
    /// Everything, without a blank line.
    Normal,
    /// Blank lines between the blocks and the outcomes: easier to read from afar.
    Airy,
}

/// A blank line where there is room for it.
pub(super) fn gap(lines: &mut Vec<Line<'static>>, density: Density) {
    if density == Density::Airy {
        lines.push(Line::default());
    }
}
