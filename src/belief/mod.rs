//! Shares of suspicion, and how a reading moves them.
//!
//! `shares` is Bayes' rule over exclusive hypotheses in logarithms, `doubt` how likely a reading is a mistake,
//! and `person` how far a repeated reading is new.

pub mod doubt;
pub mod person;
pub mod shares;

pub use shares::{Belief, BeliefError, Reading};
