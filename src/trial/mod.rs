//! The planner played against every suspect in turn, beside simpler ways of working.
//!
//! Each way of working sees what the hidden suspect would show, pays the same minutes for the same
//! moves, and repairs until the check passes. All ways share the same expected readings and belief;
//! they differ in what they do next (`rival`). `play` is one job, `desk` what the program says in it, `noise` and
//! `double` jobs with wrong readings and with two faults, `sequence` printed check sheets, `yardstick` what nothing
//! can beat, `shop` shops that learn, `calibration` what they foretold against what came.

pub mod calibration;
pub mod desk;
pub mod double;
pub mod noise;
pub mod play;
pub mod rival;
pub mod sequence;
pub mod shop;
pub mod yardstick;

use crate::job::study::Study;
use crate::plan::budget::Progress;
use crate::suspect::{Nature, SuspectId};
use desk::Desk;
use play::{Play, Player};
use rival::Way;

/// How one hidden suspect was found by one way of working.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// The hidden suspect.
    pub suspect: SuspectId,
    /// Its probability among those that show the complaint.
    pub weight: f64,
    /// What happened.
    pub play: Play,
}

/// All suspects by one way of working.
#[derive(Debug, Clone, PartialEq)]
pub struct Series {
    /// The way of working.
    pub way: Way,
    /// One entry for each suspect that shows the complaint.
    pub outcomes: Vec<Outcome>,
}

/// Mean over suspects, weighted by how likely each is; 0 where there are none.
pub fn mean(outcomes: &[Outcome], of: impl Fn(&Play) -> f64) -> f64 {
    let total: f64 = outcomes.iter().map(|one| one.weight).sum();
    if total <= 0.0 {
        return 0.0;
    }
    outcomes.iter().map(|one| one.weight * of(&one.play)).sum::<f64>() / total
}

/// The largest over suspects.
pub fn worst(outcomes: &[Outcome], of: impl Fn(&Play) -> f64) -> f64 {
    outcomes.iter().map(|one| of(&one.play)).fold(0.0, f64::max)
}

/// Share of suspects (by weight) that ended cured.
pub fn cured_share(outcomes: &[Outcome]) -> f64 {
    mean(outcomes, |play| f64::from(u8::from(play.cured)))
}

impl Series {
    /// See [`mean`].
    pub fn mean(&self, of: impl Fn(&Play) -> f64) -> f64 {
        mean(&self.outcomes, of)
    }

    /// See [`worst`].
    pub fn worst(&self, of: impl Fn(&Play) -> f64) -> f64 {
        worst(&self.outcomes, of)
    }

    /// See [`cured_share`].
    pub fn cured_share(&self) -> f64 {
        cured_share(&self.outcomes)
    }
}

/// A suspect that shows the complaint less often than this is not a case of it.
const SHOWS: f64 = 0.5;

/// The suspects of a study that are cases of its complaint: single faults which show it every time. An
/// intermittent one shows something else at each look; a play needs it to show the likeliest thing.
pub fn cases(study: &Study) -> Vec<SuspectId> {
    (0..study.lineup().suspects.len())
        .filter(|&at| study.lineup().suspects[at].nature == Nature::Fault)
        .filter(|&at| study.lineup().suspects[at].shows >= 1.0)
        .filter(|&at| study.shows_complaint[at] >= SHOWS)
        .map(|at| SuspectId(at as u32))
        .collect()
}

/// Plays one way of working against every case. Returns what it has when `progress` says stop.
pub fn series(desk: &Desk, way: Way, progress: &Progress) -> Series {
    let study = &*desk.study;
    let cases = cases(study);
    let player = Player::new(desk, way);
    let outcomes = cases
        .into_iter()
        .take_while(|_| progress.step())
        .map(|suspect| Outcome {
            suspect,
            weight: study.prior[suspect.index()],
            play: player.play(suspect, progress),
        })
        .collect();
    Series { way, outcomes }
}
