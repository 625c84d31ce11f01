//! Which test or repair comes next: expected minutes to a proven repair.
//!
//! The room knows no circuit. `problem` states what is uncertain and what each action costs and shows,
//! `prepared` is the same problem laid out for counting, `score` holds the one-step rules, `base` the
//! policy made of them, `decide` the choice of the next action.

pub mod base;
pub mod bit_set;
pub mod decide;
pub mod node;
pub mod prepared;
pub mod problem;
pub mod score;

pub use decide::{Action, Budget, Ended, Plan, Progress, Ranked, Report, plan};
pub use prepared::Prepared;
pub use problem::{Fix, Goal, Problem, ProblemError, State, Test};
