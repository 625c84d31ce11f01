//! Many jobs in which some readings are wrong at random.

use std::collections::HashMap;

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;

use super::cases;
use super::desk::Desk;
use super::play::{Honest, Machine, Play, Player};
use super::rival::Way;
use crate::plan::Progress;
use crate::suspect::SuspectId;
use crate::tester::expectations::Column;

/// What to simulate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Noise {
    /// Jobs to play.
    pub jobs: usize,
    /// Share of readings that are wrong: another outcome, all others alike.
    pub wrong: f64,
    /// The same seed gives the same jobs.
    pub seed: u64,
}

/// What came of it, as means over jobs.
#[derive(Debug, Clone, Copy, PartialEq, Default, serde::Serialize)]
pub struct Noisy {
    /// Jobs played.
    pub jobs: usize,
    /// Share that ended cured.
    pub cured_share: f64,
    /// Minutes a job.
    pub mean_minutes: f64,
    /// Of those, what the same jobs take less where every reading is right.
    pub minutes_added: f64,
    /// Readings a job.
    pub mean_tests: f64,
    /// Fixes in vain, a job.
    pub wrong_fixes: f64,
    /// Share of jobs with at least one wrong reading.
    pub lied_to_share: f64,
    /// Of those, the share in which a wrong reading was named.
    pub lie_named_share: f64,
    /// Of the jobs without a wrong reading, the share in which a right one was doubted.
    pub false_alarm_share: f64,
}

/// One job, and whether it was lied to.
struct Job {
    play: Play,
    added: f64,
    lied: bool,
    named: bool,
}

/// Plays jobs with hidden faults drawn by their prior and readings that lie; none where no fault is a case of the
/// complaint.
pub fn noisy(desk: &Desk, noise: &Noise, progress: &Progress) -> Noisy {
    let study = &*desk.study;
    let cases = cases(study);
    if cases.is_empty() {
        return Noisy::default();
    }
    let weights: Vec<f64> = cases.iter().map(|case| study.prior[case.index()]).collect();
    let player = Player::new(desk, Way::Planned);
    let right: HashMap<SuspectId, f64> =
        cases.par_iter().map(|&case| (case, player.play(case, progress).minutes)).collect();
    let jobs: Vec<Job> = (0..noise.jobs)
        .into_par_iter()
        .filter(|_| progress.step())
        .map(|job| {
            let mut dice = Pcg64Mcg::seed_from_u64(noise.seed ^ ((job as u64) << 20));
            let hidden = cases[draw_from(&weights, &mut dice)];
            let honest = Honest { study, hidden };
            let mut liar = Liar { honest, wrong: noise.wrong, dice, lies: Vec::new() };
            let play = player.play_with(&mut liar, progress);
            let named = liar.lies.iter().any(|lie| play.doubted.contains(lie));
            Job { added: play.minutes - right[&hidden], play, lied: !liar.lies.is_empty(), named }
        })
        .collect();
    sum_up(&jobs)
}

/// A position, drawn with these weights.
pub fn draw_from(weights: &[f64], dice: &mut Pcg64Mcg) -> usize {
    let mut mark = dice.random::<f64>() * weights.iter().sum::<f64>();
    for (at, weight) in weights.iter().enumerate() {
        mark -= weight;
        if mark <= 0.0 {
            return at;
        }
    }
    weights.len().saturating_sub(1)
}

/// Reads what the hidden suspect shows, but not always.
struct Liar<'a> {
    honest: Honest<'a>,
    wrong: f64,
    dice: Pcg64Mcg,
    /// Every test that was ever read wrong, also where it was read right later.
    lies: Vec<String>,
}

impl Machine for Liar<'_> {
    fn read(&mut self, column: &Column) -> usize {
        let right = self.honest.read(column);
        let others = column.outcomes.len() - 1;
        if others == 0 || self.dice.random::<f64>() >= self.wrong {
            return right;
        }
        self.lies.push(column.test.id.clone());
        let other = self.dice.random_range(0..others);
        if other >= right { other + 1 } else { other }
    }

    fn mend(&mut self, fix: usize) -> bool {
        self.honest.mend(fix)
    }
}

fn sum_up(jobs: &[Job]) -> Noisy {
    let count = jobs.len().max(1) as f64;
    let mean =
        |of: &dyn Fn(&Play) -> f64| jobs.iter().map(|job| of(&job.play)).sum::<f64>() / count;
    let share = |part: usize, whole: usize| part as f64 / whole.max(1) as f64;
    let lied = jobs.iter().filter(|job| job.lied).count();
    let named = jobs.iter().filter(|job| job.named).count();
    let honest = jobs.len() - lied;
    let alarms = jobs.iter().filter(|job| !job.lied && !job.play.doubted.is_empty()).count();
    Noisy {
        jobs: jobs.len(),
        cured_share: mean(&|play| f64::from(u8::from(play.cured))),
        mean_minutes: mean(&|play| play.minutes),
        minutes_added: jobs.iter().map(|job| job.added).sum::<f64>() / count,
        mean_tests: mean(&|play| play.tests as f64),
        wrong_fixes: mean(&|play| play.wrong_fixes as f64),
        lied_to_share: share(lied, jobs.len()),
        lie_named_share: share(named, lied),
        false_alarm_share: share(alarms, honest),
    }
}
