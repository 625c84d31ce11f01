//! What a person did or saw: the only input of a job, and the lines of its journal.

use serde::{Deserialize, Serialize};

/// One line of a job's journal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", tag = "event")]
pub enum Event {
    /// A reading was taken.
    Reading {
        /// The test's id.
        test: String,
        /// What was seen.
        answer: Answer,
    },
    /// A proposed test cannot or shall not be done.
    Skipped {
        /// The test's id.
        test: String,
        /// Why, so that others like it are not proposed either.
        because: SkipReason,
    },
    /// A fix was done, and its check after it.
    Tried {
        /// The fix's id.
        fix: String,
        /// The circuit worked afterwards.
        cured: bool,
    },
    /// A proposed fix shall not be done now.
    FixSkipped {
        /// The fix's id.
        fix: String,
    },
    /// The person chose another test than the proposed one.
    Chose {
        /// The test's id.
        test: String,
    },
    /// The battery's volts were measured, at rest.
    Battery {
        /// As the meter read them.
        volts: f64,
    },
    /// Words of the person.
    Note {
        /// The words.
        text: String,
    },
    /// The last event that counts was taken back.
    Undone,
}

/// What was seen.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Answer {
    /// A number in the test's unit.
    Number(f64),
    /// The id of a named outcome: `lit`, `dark`, `click`.
    Named(String),
    /// One of several named outcomes: `dim` or `lit`.
    AnyOf {
        /// Their ids.
        any_of: Vec<String>,
    },
    /// A number in the test's unit, vaguely: no less and no more than this.
    Between {
        /// Least; open where it is left out.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        least: Option<f64>,
        /// Most; open where it is left out.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        most: Option<f64>,
    },
}

/// Why a test was passed over.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SkipReason {
    /// Its place cannot be reached: nothing more is proposed there.
    CannotReach,
    /// The tester is not at hand: nothing more is proposed with it.
    NoTester,
    /// Just not this one.
    NotThis,
}
