//! Tests, fixes and batches as steps of one kind.

use super::action::Action;
use super::bit_set::BitSet;

/// What a step is, by position in the problem.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// A test.
    Test(usize),
    /// A fix with its check.
    Fix(usize),
    /// Several fixes with one check.
    Batch(usize),
}

impl Source {
    /// The action that takes it.
    pub fn action(self) -> Action {
        match self {
            Self::Test(index) => Action::Test(index),
            Self::Fix(index) => Action::Fix(index),
            Self::Batch(index) => Action::Batch(index),
        }
    }
}

/// A test, a fix or a batch: something that costs minutes and shows one of several outcomes.
///
/// `rows` has a row for each outcome and in it the probability under each group. Fixes have the
/// outcomes `cured` (0) and `not cured` (1).
#[derive(Debug, Clone)]
pub struct Step {
    /// Where it comes from.
    pub source: Source,
    /// Minutes without switches and places.
    pub minutes: f64,
    /// Mode it needs.
    pub enter_mode: usize,
    /// Mode it leaves behind.
    pub leave_mode: usize,
    /// Places to be open, those before them included.
    pub places: BitSet,
    /// Probability of each outcome (first index) under each group (second index).
    pub rows: Vec<Vec<f64>>,
    /// The outcome that ends the job.
    pub ending: Option<usize>,
    /// The groups under which it may end the job, with the probability that it does.
    pub ends: Vec<(usize, f64)>,
    /// Steps it uses up: itself, and those which share a fix with it.
    pub uses: BitSet,
}

impl Step {
    /// The same step over other groups.
    pub(super) fn with_rows(&self, rows: Vec<Vec<f64>>) -> Self {
        let (places, uses) = (self.places.clone(), self.uses.clone());
        Self { rows, places, uses, ends: vec![], ..*self }.with_ends()
    }

    /// Fills `ends` from `rows`.
    #[must_use]
    pub(super) fn with_ends(mut self) -> Self {
        let row = self.ending.map_or(&[] as &[f64], |outcome| &self.rows[outcome]);
        self.ends = row.iter().copied().enumerate().filter(|(_, ends)| *ends > 0.0).collect();
        self
    }
}
