//! A reading as it counts in a job: what it says of each suspect, and what it says when it is taken once more.

use crate::belief::Reading;
use crate::belief::person::Dependence;
use crate::suspect::Lineup;
use crate::tester::expectations::Column;
use crate::tester::likelihood;

/// A reading that counts.
#[derive(Debug, Clone, PartialEq)]
pub struct Taken {
    /// The test's id.
    pub test: String,
    /// What it says.
    pub reading: Reading,
    /// The position of the outcome seen.
    pub outcome: usize,
    /// How often it was taken, with the same outcome.
    pub times: usize,
    /// How many repairs were tried before it.
    pub(super) stage: usize,
}

impl Taken {
    /// The same person at the same point sees the same once more.
    ///
    /// What a copy of the first look would show is as likely under any suspect as under that which makes it
    /// likeliest.
    pub(super) fn once_more(&mut self, again: &Reading) {
        let most = again.likelihood.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
        let alone: Vec<f64> = again.likelihood.iter().map(|one| one / most).collect();
        let repeated = Dependence::Moderate.repeated_likelihood(&alone, true);
        for (likelihood, repeated) in self.reading.likelihood.iter_mut().zip(repeated) {
            *likelihood *= repeated;
        }
        self.reading.mistaken *= Dependence::Moderate.repeated_error(again.mistaken / most);
        self.times += 1;
    }
}

/// What it says when `column` shows the outcome at this position.
pub fn named(column: &Column, outcome: usize) -> Reading {
    let mistaken = column.slip / column.outcomes.len() as f64;
    Reading { likelihood: column.likelihood[outcome].clone(), mistaken }
}

/// What it says when `column` shows this number, in the test's unit.
pub fn numbered(column: &Column, lineup: &Lineup, typed: f64) -> Reading {
    let scale = column.test.scale;
    Reading { likelihood: column.number(lineup, typed), mistaken: column.slip / scale.width() }
}

/// What it says when `column` shows a number between two levels of its scale's axis.
pub fn between(column: &Column, lineup: &Lineup, levels: (f64, f64)) -> Reading {
    let scale = column.test.scale;
    let mistaken = column.slip * likelihood::share_of_axis(scale, levels);
    Reading { likelihood: column.between(lineup, levels), mistaken }
}
