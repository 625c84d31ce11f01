//! What lies on the grid of a drawing: tracks, symbols and wires, bars and where they meet.

use super::label::Line;
use super::shape::Shape;
use crate::circuit::PartId;

/// The room a track needs beside its line, in letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Track {
    /// To the left: names of terminals.
    pub left: usize,
    /// To the right: labels.
    pub right: usize,
}

/// A symbol or a wire.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// Whose.
    pub part: PartId,
    /// What it looks like.
    pub shape: Shape,
    /// The wire whose colours its line has; none where the line belongs to no wire.
    pub colour_of: Option<PartId>,
    /// Drawn upside down.
    pub flipped: bool,
    /// Its column.
    pub track: usize,
    /// Its first row.
    pub row: usize,
    /// Its rows; a wire's are as many as it is long.
    pub rows: usize,
    /// The row its label begins in.
    pub label_row: usize,
    /// What is written to its right.
    pub label: Vec<Line>,
    /// Names of its upper and its lower terminal.
    pub terminals: [String; 2],
    /// Its line goes on up to a bar, and down to one.
    pub meets: [bool; 2],
}

/// An upright line that belongs to no wire.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Gap {
    /// Its column.
    pub track: usize,
    /// Its first row.
    pub row: usize,
    /// Its rows.
    pub rows: usize,
    /// It goes on up to a bar, and down to one.
    pub meets: [bool; 2],
}

/// A horizontal line: wires joined in one terminal.
#[derive(Debug, Clone, PartialEq)]
pub struct Bar {
    /// What it is.
    pub rail: Rail,
    /// Its row.
    pub row: usize,
    /// Tracks that end on it, in order; with whether they come from above and from below.
    pub joins: Vec<Join>,
}

/// Which of the bars.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rail {
    /// The battery's positive terminal.
    Supply,
    /// The frame, or the battery's negative terminal.
    Ground,
    /// Anything between.
    Node,
}

/// Where a track meets a bar.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Join {
    /// The track.
    pub track: usize,
    /// Part whose colour its line has, coming from above and from below.
    pub from: [Option<PartId>; 2],
}

impl Bar {
    /// The first and the last track.
    pub fn span(&self) -> (usize, usize) {
        let first = self.joins.first().map_or(0, |join| join.track);
        (first, self.joins.last().map_or(first, |join| join.track))
    }
}
