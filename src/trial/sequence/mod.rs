//! A printed order of checks, played as it stands, to measure the planner against.
//!
//! A sequence is what a manual or a shop has on paper: check this; if it is good go there, if it is bad
//! mend that. `read` takes it from a file, `play` does with one hidden suspect what the sheet says: the
//! readings are the solver's, the minutes those of the planner's own model (places, setups, repairs, the
//! check after each repair). What the sheet leads nobody to is not found, at the minutes of all it had done.

pub mod play;
pub mod read;

use std::sync::Arc;

use super::{Outcome, cases};
use crate::circuit::PlaceId;
use crate::job::study::Study;
use crate::tester::expectations::Column;

/// A printed order of checks, for one circuit.
#[derive(Debug, Clone, PartialEq)]
pub struct Sequence {
    /// What it is called.
    pub name: String,
    /// Where it was printed; empty where nobody said.
    pub source: String,
    /// The steps; the first one is where it begins.
    pub steps: Vec<Step>,
}

/// One step of a sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// As it is numbered on paper.
    pub label: String,
    /// What is looked at.
    pub look: Look,
    /// What follows when it is as it should be.
    pub if_good: Then,
    /// What follows when it is not.
    pub if_bad: Then,
}

/// What a step looks at.
#[derive(Debug, Clone, PartialEq)]
pub enum Look {
    /// A reading.
    Reading {
        /// What it shows under each suspect.
        column: Arc<Column>,
        /// What counts as good.
        good: Good,
    },
    /// Parts gone over by eye and hand. Taken for perfect: it finds what is listed, always, and nothing else.
    Parts {
        /// Of each suspect, whether it is found.
        finds: Vec<bool>,
        /// Minutes of it, opening places not counted.
        minutes: f64,
        /// Places to be open.
        places: Vec<PlaceId>,
    },
}

/// What of a reading counts as good.
#[derive(Debug, Clone, PartialEq)]
pub enum Good {
    /// A number in this range, ends included, in the test's unit.
    Between {
        /// The least.
        least: f64,
        /// The most.
        most: f64,
    },
    /// One of these outcomes, by position.
    Outcomes(Vec<usize>),
}

/// What follows an answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Then {
    /// Repairs, each with its check, until one cures.
    pub fixes: Vec<Repair>,
    /// The step after that, by position; `None` where the sheet ends.
    pub next: Option<usize>,
}

/// A repair that a sheet asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Repair {
    /// This one, by its number in the line-up.
    Fix(usize),
    /// Whatever mends what was found by eye and hand.
    Found,
}

/// Plays a sequence against every suspect that shows the complaint.
pub fn outcomes(study: &Study, sequence: &Sequence) -> Vec<Outcome> {
    cases(study)
        .into_iter()
        .map(|suspect| Outcome {
            suspect,
            weight: study.prior[suspect.index()],
            play: play::play(study, sequence, suspect),
        })
        .collect()
}
