//! How much of a drive leaves things as they are.

/// From the least to the most.
pub(in crate::electric) type Span = (f64, f64);

/// Anything.
pub(in crate::electric) const EVERYTHING: Span = (f64::NEG_INFINITY, f64::INFINITY);

/// What a drive on a place does there, and how much of it leaves a level as it is.
#[derive(Debug, Clone, Copy)]
pub(in crate::electric) struct Limits {
    /// Volts and amperes of the place for each unit of drive.
    pub unit: (f64, f64),
    /// The same without a drive.
    pub rest: (f64, f64),
    /// The place is on an island that floats.
    pub floats: bool,
    /// The branch bends or moves, and rests.
    pub rests: bool,
    /// Of drives that leave all within its bounds.
    pub all: Span,
    /// Of drives that leave all but the branch itself within its bounds.
    pub others: Span,
}
