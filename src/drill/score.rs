//! What a drill is worth: the four things that were found to tell good technicians from others, and the time.
//!
//! Solved, no harm done, the complaint confirmed first, the repair proven after: problems solved 99 v 79,
//! harmful changes 8 v 18, problems verified 97 v 85 %, solutions verified 95 v 77 % in a comparison of
//! tutored novices with technicians (Fletcher 2010, abstract). How many points each has is ours.

use super::judge::{Mark, RULED_OUT, Step};
use super::log::{Entry, What};
use super::par::Par;
use super::play::Drill;

/// Points for the repair of what was wrong.
pub const SOLVED: f64 = 30.0;
/// For looking at the complaint before anything else.
pub const CONFIRMED: f64 = 10.0;
/// For trying everything after the repair.
pub const PROVEN: f64 = 10.0;
/// For doing no harm.
pub const NO_HARM: f64 = 20.0;
/// For the time, beside the planner's on the same machine.
pub const TIME: f64 = 30.0;
/// Each order that had to be stopped costs so many of those for no harm.
pub const PER_DANGER: f64 = 10.0;
/// Each good part mended or renewed on a guess.
pub const PER_VAIN: f64 = 7.0;
/// A part named or mended that what was read had ruled out.
pub const PER_MISREAD: f64 = 5.0;
/// A hint.
pub const PER_HINT: f64 = 4.0;

/// The score of a drill.
#[derive(Debug, Clone, PartialEq)]
pub struct Score {
    /// Nothing is wrong any more.
    pub solved: bool,
    /// The complaint was looked at before anything else was done.
    pub confirmed: bool,
    /// Everything was tried after the last repair, and works.
    pub proven: bool,
    /// Orders that were stopped.
    pub dangers: Vec<String>,
    /// Good parts mended or renewed on a guess.
    pub vain: usize,
    /// Parts named or mended against what was read.
    pub misread: usize,
    /// Hints taken.
    pub hints: usize,
    /// Looks that could tell nothing.
    pub idle: usize,
    /// Looks taken.
    pub tests: usize,
    /// Minutes spent, rests not counted.
    pub minutes: f64,
    /// What the planner took.
    pub par: Par,
    /// Mean share, over looks, of what the best look would have brought for the time.
    pub look_share: Option<f64>,
    /// Foretold rightly, as likely as any, and all.
    pub foretold: (usize, usize, usize),
    /// Mean score of naming what is open.
    pub open_sets: Option<f64>,
    /// Points of each heading, and of all.
    pub points: Points,
}

/// Points.
#[derive(Debug, Clone, Copy, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct Points {
    /// Of [`SOLVED`].
    pub solved: f64,
    /// Of [`CONFIRMED`].
    pub confirmed: f64,
    /// Of [`PROVEN`].
    pub proven: f64,
    /// Of [`NO_HARM`].
    pub no_harm: f64,
    /// Of [`TIME`].
    pub time: f64,
    /// Taken away for hints.
    pub hints: f64,
    /// All together, 0 to 100.
    pub all: f64,
}

/// Adds up a drill whose review is `steps`.
pub fn score(drill: &Drill<'_>, steps: &[Step], par: Par) -> Score {
    let count = |mark: Mark| steps.iter().filter(|step| step.mark == mark).count();
    let dangers: Vec<String> = drill
        .log
        .iter()
        .filter_map(|entry| match entry.what {
            What::Stopped(danger) => Some(danger.id().to_owned()),
            _ => None,
        })
        .collect();
    let shares: Vec<f64> = steps.iter().filter_map(|step| step.share).collect();
    let solved = drill.is_mended();
    let minutes = drill.minutes() - drill.resting_minutes;
    let mut score = Score {
        solved,
        confirmed: confirmed(drill),
        proven: solved && proven(drill),
        dangers,
        vain: count(Mark::Vain) + count(Mark::Misread),
        // One wrong idea is named and then mended: that is one mistake.
        misread: misnamed(drill).max(count(Mark::Misread)),
        hints: count(Mark::Hint),
        idle: count(Mark::Nothing),
        tests: drill.course.tests,
        minutes,
        par,
        look_share: mean(&shares),
        foretold: foretold(drill),
        open_sets: open_sets(drill),
        points: Points::default(),
    };
    score.points = points(&score);
    score
}

fn points(score: &Score) -> Points {
    let yes = |is: bool, points: f64| if is { points } else { 0.0 };
    let harm = PER_DANGER * score.dangers.len() as f64
        + PER_VAIN * score.vain as f64
        + PER_MISREAD * score.misread as f64;
    let ratio = match score.par.solved {
        true if score.minutes > 0.0 => (score.par.minutes / score.minutes).min(1.0),
        true => 0.0,
        // The planner gave up: its minutes are no yardstick.
        false => 1.0,
    };
    let care = match score.solved {
        true => NO_HARM,
        // Who does nothing does no harm either; that is no skill.
        false if score.tests == 0 => 0.0,
        // To leave it as it was takes little care.
        false => NO_HARM / 2.0,
    };
    let mut points = Points {
        solved: yes(score.solved, SOLVED),
        confirmed: yes(score.confirmed, CONFIRMED),
        proven: yes(score.proven, PROVEN),
        no_harm: (care - harm).max(0.0),
        // Minutes of a job that is not proven are not all of its minutes.
        time: yes(score.proven, TIME * ratio),
        hints: -PER_HINT * score.hints as f64,
        all: 0.0,
    };
    let sum = points.solved + points.confirmed + points.proven + points.no_harm + points.time;
    points.all = (sum + points.hints).clamp(0.0, 100.0);
    points
}

/// Parts named wrongly that the looks before had ruled out.
fn misnamed(drill: &Drill<'_>) -> usize {
    let is_look = |entry: &Entry<'_>| matches!(entry.what, What::Look(_));
    let after_looks = drill.log.iter().skip_while(|entry| !is_look(entry));
    let ruled_out = |entry: &&Entry<'_>| match entry.what {
        What::Claim { right: false, share, .. } => share < RULED_OUT,
        _ => false,
    };
    after_looks.filter(ruled_out).count()
}

/// The first thing looked at, and before any repair, is the complaint.
fn confirmed(drill: &Drill<'_>) -> bool {
    let senses = crate::tester::Instrument::Senses;
    let first = drill.log.iter().find_map(|entry| match &entry.what {
        What::Look(look) if look.confirms => Some(true),
        // To look and listen on the way to it is no measurement.
        What::Look(look) if look.column.test.tester.instrument() == senses => None,
        What::Look(_) | What::Mend(_) => Some(false),
        _ => None,
    });
    first == Some(true)
}

/// After the last repair everything was tried, and worked.
fn proven(drill: &Drill<'_>) -> bool {
    let last = drill.log.iter().rev().find_map(|entry| match entry.what {
        What::Proof { passed } => Some(passed),
        What::Mend(_) => Some(false),
        _ => None,
    });
    last == Some(true)
}

fn foretold(drill: &Drill<'_>) -> (usize, usize, usize) {
    let mut count = (0, 0, 0);
    for entry in &drill.log {
        if let What::Foretold { right, likeliest } = entry.what {
            count.0 += usize::from(right);
            count.1 += usize::from(likeliest);
            count.2 += 1;
        }
    }
    count
}

fn open_sets(drill: &Drill<'_>) -> Option<f64> {
    let scores: Vec<f64> = drill
        .log
        .iter()
        .filter_map(|entry| match &entry.what {
            What::Named(set) => Some(set.score()),
            _ => None,
        })
        .collect();
    mean(&scores)
}

fn mean(numbers: &[f64]) -> Option<f64> {
    (!numbers.is_empty()).then(|| numbers.iter().sum::<f64>() / numbers.len() as f64)
}
