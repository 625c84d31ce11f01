//! Why an event cannot be.

use super::study::error::StudyError;
use crate::tester::expectations::BenchError;
use crate::tester::name::NameError;

/// Why an event cannot be.
#[derive(Debug, thiserror::Error)]
pub enum JobError {
    /// The test's id names nothing.
    #[error(transparent)]
    Name(#[from] NameError),
    /// The test cannot be reckoned.
    #[error(transparent)]
    Bench(#[from] BenchError),
    /// The outcome is none of the test's.
    #[error("`{answer}` is no outcome of this test; there are {known}")]
    Outcome {
        /// As given.
        answer: String,
        /// The test's outcomes.
        known: String,
    },
    /// A number where the test shows none, or one that is none.
    #[error("this test shows no numbers; its outcomes are {known}")]
    NoNumber {
        /// The test's outcomes.
        known: String,
    },
    /// A number outside what can be.
    #[error("{typed} cannot be read here: {least} to {most} can")]
    Range {
        /// As typed.
        typed: f64,
        /// Least.
        least: f64,
        /// Most.
        most: f64,
    },
    /// The circuit cannot be reckoned with the battery as measured.
    #[error(transparent)]
    Study(#[from] StudyError),
    /// No such part, place or tester.
    #[error("`{id}` is no {what} of this circuit")]
    Unknown {
        /// `part`, `place` or `tester`.
        what: &'static str,
        /// As given.
        id: String,
    },
    /// No such fix.
    #[error("`{id}` is no fix of this circuit")]
    Fix {
        /// As given.
        id: String,
    },
}
