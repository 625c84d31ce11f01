//! Jobs in which two faults are hidden at once.

use std::sync::Arc;

use rand::SeedableRng;
use rand::seq::SliceRandom;
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;

use super::desk::Desk;
use super::play::{Machine, Play, Player};
use super::rival::Way;
use crate::job::course::pairs;
use crate::job::event::Answer;
use crate::job::study::Study;
use crate::plan::Progress;
use crate::suspect::SuspectId;
use crate::suspect::pairs::Pair;
use crate::tester::expectations::Column;

/// What came of all jobs with two faults, as plain means over pairs.
#[derive(Debug, Clone, Copy, PartialEq, Default, serde::Serialize)]
pub struct Doubles {
    /// Pairs that show the complaint.
    pub pairs: usize,
    /// Of those, how many were played.
    pub jobs: usize,
    /// Share that ended cured.
    pub cured_share: f64,
    /// Minutes a job.
    pub mean_minutes: f64,
    /// Minutes of the longest job.
    pub worst_minutes: f64,
    /// Readings a job.
    pub mean_tests: f64,
    /// Repairs of sound parts, a job.
    pub wrong_fixes: f64,
    /// Share of jobs in which two faults were named before both were mended.
    pub named_share: f64,
}

/// One pair, and how its job went.
#[derive(Debug, Clone, PartialEq)]
pub struct Double {
    /// The id of the pair.
    pub id: String,
    /// What happened. Of its fixes in vain, one that mended the first of the two is not counted.
    pub play: Play,
}

/// A machine with two faults.
struct Two<'a> {
    /// The circuit with all pairs.
    truth: &'a Study,
    /// What is wrong now, in its line-up.
    now: SuspectId,
    /// Fixes that mended something sound.
    wrong: usize,
}

impl Two<'_> {
    fn level(&self, column: &Column) -> Option<f64> {
        let truth = self.truth.column(&column.test).ok()?;
        Some(truth.shown[self.now.index()].level)
    }
}

impl Machine for Two<'_> {
    fn read(&mut self, column: &Column) -> usize {
        if column.test.tester.unit().is_some() {
            return self.level(column).map_or(0, |level| column.outcome_at(level));
        }
        self.truth.column(&column.test).map_or(0, |truth| truth.likeliest(self.now.index()))
    }

    fn entered(&self, column: &Column, seen: usize) -> Answer {
        match self.level(column) {
            Some(level) if column.test.tester.unit().is_some() => {
                Answer::Number(rounded(column.test.scale.number_shown(level)))
            }
            _ => Answer::Named(column.outcomes[seen].id.clone()),
        }
    }

    fn mend(&mut self, fix: usize) -> bool {
        let lineup = self.truth.lineup();
        if !lineup.mends(fix, self.now) {
            self.wrong += 1;
            return false;
        }
        let Some((one, other)) = lineup.suspects[self.now.index()].pair() else { return true };
        let first = lineup.mends(fix, one);
        self.now = if first { other } else { one };
        self.truth.fails_check(self.now) < 0.5
    }
}

/// As a meter of four figures shows it.
fn rounded(number: f64) -> f64 {
    let unit = 10f64.powi((number.abs().max(0.01).log10().floor() as i32 - 3).max(-3));
    (number / unit).round() * unit
}

/// Plays pairs that show the complaint: all, or `most` drawn by `seed`. `None` where pairs cannot be reckoned.
pub fn doubles(
    desk: &Desk,
    most: usize,
    seed: u64,
    progress: &Progress,
) -> Option<(Doubles, Vec<Double>)> {
    let study = &desk.study;
    let all: Vec<Pair> = study.lineup().pairs().collect();
    let truth: Arc<Study> = pairs::study(study, all.clone(), false)?;
    let first = study.lineup().suspects.len() - 1;
    let shows = |at: &usize| truth.shows_complaint[*at] >= super::SHOWS;
    let mut cases: Vec<usize> = (first..first + all.len()).filter(shows).collect();
    let pairs = cases.len();
    if most < pairs {
        cases.shuffle(&mut Pcg64Mcg::seed_from_u64(seed));
        cases.truncate(most);
        cases.sort_unstable();
    }
    let player = Player::new(desk, Way::Planned);
    let played: Vec<Double> = cases
        .into_par_iter()
        .filter(|_| progress.step())
        .map(|at| {
            let mut two = Two { truth: &truth, now: SuspectId(at as u32), wrong: 0 };
            let mut play = player.play_with(&mut two, progress);
            play.wrong_fixes = two.wrong;
            Double { id: truth.lineup().suspects[at].id.clone(), play }
        })
        .collect();
    Some((sum_up(pairs, &played), played))
}

fn sum_up(pairs: usize, played: &[Double]) -> Doubles {
    let count = played.len().max(1) as f64;
    let mean =
        |of: &dyn Fn(&Play) -> f64| played.iter().map(|one| of(&one.play)).sum::<f64>() / count;
    let yes = |is: bool| f64::from(u8::from(is));
    Doubles {
        pairs,
        jobs: played.len(),
        cured_share: mean(&|play| yes(play.cured)),
        mean_minutes: mean(&|play| play.minutes),
        worst_minutes: played.iter().map(|one| one.play.minutes).fold(0.0, f64::max),
        mean_tests: mean(&|play| play.tests as f64),
        wrong_fixes: mean(&|play| play.wrong_fixes as f64),
        named_share: mean(&|play| yes(play.two_named)),
    }
}
