//! What can be done next, and a plan: what is best, and how it compares.

use super::budget::Ended;

/// What to do next.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Action {
    /// The test at this position in [`super::Problem::tests`].
    Test(usize),
    /// The fix at this position in [`super::Problem::fixes`], and its check.
    Fix(usize),
    /// The fixes of the set at this position in [`super::Problem::batches`], and one check.
    Batch(usize),
    /// Nothing more: hand the job on, or name the likeliest class.
    Stop,
}

/// What is best now, and how it compares.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// What to do next.
    pub action: Action,
    /// Minutes expected from here to the goal.
    pub expected_minutes: f64,
    /// No plan can need fewer minutes on average.
    pub bound_minutes: f64,
    /// The actions looked at, best first; the first one is `action`.
    pub ranking: Vec<Ranked>,
    /// How the plan came about.
    pub report: Report,
}

/// An action that was looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ranked {
    /// The action.
    pub action: Action,
    /// Bits about the class per added minute; of a fix, per minute lost if it does not cure.
    pub score: f64,
    /// Minutes it adds from the present mode and open places.
    pub added_minutes: f64,
    /// Minutes expected to the goal when it comes first.
    pub expected_minutes: f64,
}

/// How a plan came about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Report {
    /// States examined.
    pub nodes: u64,
    /// Why the search ended.
    pub ended: Ended,
}

impl Ranked {
    pub(super) fn stop(minutes: f64) -> Self {
        Self { action: Action::Stop, score: 0.0, added_minutes: 0.0, expected_minutes: minutes }
    }
}

impl Plan {
    /// The plan where nothing is left to be done.
    pub(super) fn ended(minutes: f64) -> Self {
        Self {
            action: Action::Stop,
            expected_minutes: minutes,
            bound_minutes: minutes,
            ranking: vec![Ranked::stop(minutes)],
            report: Report { nodes: 0, ended: Ended::Exact },
        }
    }
}
