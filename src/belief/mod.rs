//! Shares of suspicion, and how a reading moves them.
//!
//! `shares` is Bayes' rule over exclusive hypotheses in logarithms, `doubt` finds out whether readings
//! contradict each other and which is likeliest wrong, `person` is how far a repeated reading is new, and
//! `density` the likelihood of a number.

pub mod density;
pub mod doubt;
pub mod person;
pub mod shares;

pub use shares::{Belief, BeliefError, Reading};
