//! Why a circuit cannot be studied.

use crate::belief::BeliefError;
use crate::plan::problem;
use crate::tester::expectations::BenchError;

/// Why a circuit cannot be studied.
#[derive(Debug, thiserror::Error)]
pub enum StudyError {
    /// No operating point.
    #[error(transparent)]
    Bench(#[from] BenchError),
    /// The file names nothing that should work, so there is nothing to complain of.
    #[error("the circuit names nothing that should work; add a `works` entry")]
    NoWork,
    /// Battery volts for a circuit without a battery.
    #[error("this circuit has no battery whose volts could be measured")]
    NoBattery,
    /// No suspect gives rise to the complaint.
    #[error("nothing known here would make this fail: {0}")]
    Belief(#[from] BeliefError),
    /// The planner's problem does not hold together.
    #[error("the plan cannot be made: {0}")]
    Problem(#[from] problem::ProblemError),
}
