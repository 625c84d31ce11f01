//! Many jobs in which some readings are wrong at random.

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;

use super::cases;
use super::play::{Play, Player, Reader};
use super::rival::Way;
use crate::job::study::Study;
use crate::plan::{Budget, Progress};
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

/// Jobs are played in so many blocks, whatever the number of processors, so that results repeat.
const BLOCKS: usize = 16;

/// Plays jobs with hidden faults drawn by their prior and readings that lie.
pub fn noisy(study: &Study, noise: &Noise, budget: Budget, progress: &Progress) -> Noisy {
    let cases = cases(study);
    let total: f64 = cases.iter().map(|case| study.prior[case.index()]).sum();
    let plays: Vec<Vec<(Play, usize)>> = (0..BLOCKS)
        .into_par_iter()
        .map(|block| {
            let mut player = Player::new(study, Way::Planned, budget);
            let jobs = (block..noise.jobs).step_by(BLOCKS);
            jobs.take_while(|_| progress.step())
                .map(|job| {
                    let mut dice = Pcg64Mcg::seed_from_u64(noise.seed ^ ((job as u64) << 20));
                    let hidden = draw(study, &cases, dice.random::<f64>() * total);
                    let mut liar = Liar { hidden, wrong: noise.wrong, dice, lies: Vec::new() };
                    let play = player.play_with(hidden, &mut liar, progress);
                    let named = liar.lies.iter().any(|lie| play.doubted.contains(lie));
                    let lies = if liar.lies.is_empty() { 0 } else { 1 + usize::from(named) };
                    (play, lies)
                })
                .collect()
        })
        .collect();
    sum_up(&plays.into_iter().flatten().collect::<Vec<_>>())
}

fn draw(study: &Study, cases: &[SuspectId], mut mark: f64) -> SuspectId {
    for case in cases {
        mark -= study.prior[case.index()];
        if mark <= 0.0 {
            return *case;
        }
    }
    cases[cases.len() - 1]
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
struct Liar {
    hidden: SuspectId,
    wrong: f64,
    dice: Pcg64Mcg,
    lies: Vec<String>,
}

impl Reader for Liar {
    fn read(&mut self, column: &Column) -> usize {
        let right = column.likeliest(self.hidden.index());
        let others = column.outcomes.len() - 1;
        if others == 0 || self.dice.random::<f64>() >= self.wrong {
            self.lies.retain(|lie| *lie != column.test.id);
            return right;
        }
        self.lies.push(column.test.id.clone());
        let other = self.dice.random_range(0..others);
        if other >= right { other + 1 } else { other }
    }
}

fn sum_up(plays: &[(Play, usize)]) -> Noisy {
    let count = plays.len().max(1) as f64;
    let mean =
        |of: &dyn Fn(&Play) -> f64| plays.iter().map(|(play, _)| of(play)).sum::<f64>() / count;
    let share = |part: usize, whole: usize| part as f64 / whole.max(1) as f64;
    let lied = plays.iter().filter(|(_, lies)| *lies > 0).count();
    let named = plays.iter().filter(|(_, lies)| *lies == 2).count();
    let honest = plays.len() - lied;
    let alarms = plays.iter().filter(|(play, lies)| *lies == 0 && !play.doubted.is_empty()).count();
    Noisy {
        jobs: plays.len(),
        cured_share: mean(&|play| f64::from(u8::from(play.cured))),
        mean_minutes: mean(&|play| play.minutes),
        mean_tests: mean(&|play| play.tests as f64),
        wrong_fixes: mean(&|play| play.wrong_fixes as f64),
        lied_to_share: share(lied, plays.len()),
        lie_named_share: share(named, lied),
        false_alarm_share: share(alarms, honest),
    }
}
