//! Practice on a hidden fault: the program plays the machine, the learner finds what is wrong with it.
//!
//! `fault` hides a fault, `draw` makes one machine of its kind of the circuit, [`machine`] answers what is
//! done to it; [`play`] is the drill itself with its clock and its `safety`, `tutor` what a learner is told
//! who asks. Afterwards `judge` goes through what was done beside what would have been better (`weigh`: what a
//! step was worth by what was known), `par` plays the planner on the same machine, `score` adds it up and `record` is the line that is kept of it. `sheet`
//! makes questions on paper.

pub mod draw;
pub mod fault;
pub mod judge;
pub mod kind;
pub mod log;
pub mod machine;
pub mod open_set;
pub mod par;
pub mod play;
pub mod record;
pub mod safety;
pub mod score;
pub mod sheet;
pub mod tutor;
pub mod weigh;

/// Why a drill cannot be.
#[derive(Debug, thiserror::Error)]
pub enum DrillError {
    /// The circuit cannot be reckoned.
    #[error(transparent)]
    Bench(#[from] crate::tester::expectations::BenchError),
    /// No fault gives this complaint.
    #[error("no fault of this circuit gives rise to the complaint: there is nothing to find")]
    NoFault,
    /// None of that kind does.
    #[error("no fault of this kind gives rise to the complaint; there are: {known}")]
    NoSuchFault {
        /// Kinds that there are.
        known: String,
    },
    /// The trainer's fault is none of this circuit's.
    #[error("`{id}` is no suspect of this circuit; `halfsplit expect CIRCUIT --json` lists them")]
    Unknown {
        /// As given.
        id: String,
    },
    /// The trainer's fault does not give the complaint.
    #[error(
        "the trainer's fault does not give rise to this complaint; choose another fault or --complaint"
    )]
    NoComplaint,
    /// The trainer hides a steady fault together with one that comes and goes.
    #[error(
        "`{steady}` is always there and `{other}` comes and goes; hide steady faults together, or one that comes and goes alone"
    )]
    Mixed {
        /// Id of a steady one.
        steady: String,
        /// Id of one that comes and goes.
        other: String,
    },
}
