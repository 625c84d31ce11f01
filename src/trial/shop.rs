//! A shop whose faults are not as the catalogue has them: what learning from its jobs is worth.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::{SignedDuration, Timestamp};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;

use super::calibration::{Bin, Predicted, calibration};
use super::cases;
use super::desk::Desk;
use super::noise::draw_from;
use super::play::{Honest, Machine, Play, Player};
use super::rival::Way;
use crate::history::family;
use crate::history::ledger::Ledger;
use crate::history::record::Record;
use crate::history::teach::lesson;
use crate::job::event::{Answer, Event};
use crate::job::state::Job;
use crate::job::study::Study;
use crate::job::study::error::StudyError;
use crate::job::study::learned::Learned;
use crate::plan::{Budget, Progress};
use crate::tester::expectations::Column;

/// What to simulate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shop {
    /// Shops, each with true rates of its own.
    pub shops: usize,
    /// Jobs each learns from.
    pub jobs: usize,
    /// Spread of the true rates about the catalogue's, as a standard deviation of their natural logarithm: for
    /// families of parts, for parts, and for the modes of a family, each drawn on its own.
    pub spread: f64,
    /// The same seed gives the same shops.
    pub seed: u64,
}

/// What came of it.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize)]
pub struct Taught {
    /// Each shop.
    pub shops: Vec<OneShop>,
    /// Predicted shares of parts against what came, over all shops.
    pub calibration: Vec<Bin>,
    /// Expected logarithmic loss of the part at fault, in bits, by the catalogue, as learnt, and at best.
    pub loss_bits: [f64; 3],
}

/// One shop: expected minutes a job, over its true rates, readings as they most likely are.
#[derive(Debug, Clone, Copy, PartialEq, Default, serde::Serialize)]
pub struct OneShop {
    /// By the catalogue.
    pub before_minutes: f64,
    /// As learnt.
    pub after_minutes: f64,
    /// Knowing the true rates.
    pub at_best_minutes: f64,
}

/// Plays `shop` on the circuit and complaint of `study`, which is taught nothing.
///
/// # Errors
/// Where the circuit cannot be reckoned with what was learnt.
pub fn taught(
    study: &Arc<Study>,
    shop: &Shop,
    budget: Budget,
    progress: &Progress,
) -> Result<Taught, StudyError> {
    // All shops begin with the catalogue: what it says is reckoned once.
    let desk = Desk::new(study, budget);
    let one = |number: usize| one_shop(&desk, shop, number, (budget, progress));
    let all: Result<Vec<_>, StudyError> = (0..shop.shops).into_par_iter().map(one).collect();
    let all = all?;
    let count = all.len().max(1) as f64;
    let mut taught = Taught::default();
    let mut predicted = Vec::new();
    for (one, parts) in all {
        taught.shops.push(one);
        for part in &parts {
            let bits = |share: f64| -part.truth * share.max(1e-9).log2() / count;
            taught.loss_bits[0] += bits(part.catalogue);
            taught.loss_bits[1] += bits(part.learnt);
            taught.loss_bits[2] += if part.truth > 0.0 { bits(part.truth) } else { 0.0 };
        }
        predicted.extend(parts);
    }
    taught.calibration = calibration(&predicted, shop.jobs);
    Ok(taught)
}

fn one_shop(
    desk: &Desk,
    shop: &Shop,
    number: usize,
    (budget, progress): (Budget, &Progress),
) -> Result<(OneShop, Vec<Predicted>), StudyError> {
    let study = &desk.study;
    let mut dice = Pcg64Mcg::seed_from_u64(shop.seed ^ ((number as u64 + 1) << 32));
    let truth = truth(study, shop.spread, &mut dice);
    let ledger = worked(desk, shop.jobs, &truth, progress, &mut dice);
    let learned = lesson(&ledger, study.circuit()).learned;
    let again = |learned: Learned| -> Result<Arc<Study>, StudyError> {
        let circuit = Arc::clone(&study.bench.circuit);
        let learned = Arc::new(learned);
        Study::taught(&circuit, study.kit(), study.complaint, &learned).map(Arc::new)
    };
    // Clocks and eyes are as reckoned here: what is measured is what the weights are worth.
    let weights = Learned { times_likelier: learned.times_likelier, ..Learned::default() };
    let after = again(weights)?;
    let best = again(Learned { times_likelier: truth.clone(), ..Learned::default() })?;
    let true_shares = shares(&best);
    let minutes = |desk: &Desk| mean_minutes(desk, &true_shares, progress);
    let minutes = OneShop {
        before_minutes: minutes(desk),
        after_minutes: minutes(&Desk::new(&after, budget)),
        at_best_minutes: minutes(&Desk::new(&best, budget)),
    };
    // Jobs that nobody has learnt from: what was foretold is held against them.
    let mut fresh = vec![0; true_shares.len()];
    for _ in 0..shop.jobs {
        fresh[draw_from(&true_shares, &mut dice)] += 1;
    }
    let parts = by_part(study, [&shares(study), &shares(&after), &true_shares], &fresh);
    Ok((minutes, parts))
}

/// True weights, as factors on the catalogue's.
fn truth(study: &Study, spread: f64, dice: &mut Pcg64Mcg) -> BTreeMap<String, f64> {
    let circuit = study.circuit();
    let mut factors: BTreeMap<(u8, String), f64> = BTreeMap::new();
    let mut factor = |what: u8, name: String, dice: &mut Pcg64Mcg| {
        *factors.entry((what, name)).or_insert_with(|| (spread * normal(dice)).exp())
    };
    let mut truth = BTreeMap::new();
    for suspect in &study.lineup().suspects {
        let Some(part) = suspect.part else { continue };
        let family = family::of_suspect(circuit, suspect);
        let mode = format!("{family}.{}", family::mode(suspect));
        let times = factor(0, family.to_owned(), dice)
            * factor(1, circuit.parts[part.index()].id.clone(), dice)
            * factor(2, mode, dice);
        truth.insert(suspect.id.clone(), times.clamp(0.002, 500.0));
    }
    truth
}

/// A standard normal number (Box and Muller 1958, from memory).
fn normal(dice: &mut Pcg64Mcg) -> f64 {
    let (radius, turn) = (1.0 - dice.random::<f64>(), dice.random::<f64>());
    (-2.0 * radius.ln()).sqrt() * (std::f64::consts::TAU * turn).cos()
}

/// Probability of each case of the complaint; sums to 1 over cases, if there are any.
fn shares(study: &Study) -> Vec<f64> {
    let mut shares = vec![0.0; study.prior.len()];
    let cases = cases(study);
    let total: f64 = cases.iter().map(|case| study.prior[case.index()]).sum();
    for case in cases {
        shares[case.index()] = study.prior[case.index()] / total;
    }
    shares
}

/// Works through `jobs` jobs by the catalogue and keeps what they say.
fn worked(
    desk: &Desk,
    jobs: usize,
    truth: &BTreeMap<String, f64>,
    progress: &Progress,
    dice: &mut Pcg64Mcg,
) -> Ledger {
    let study = &desk.study;
    let cases = cases(study);
    let mut ledger = Ledger::default();
    if cases.is_empty() {
        return ledger;
    }
    let weights: Vec<f64> = cases
        .iter()
        .map(|case| {
            let id = &study.lineup().suspects[case.index()].id;
            study.prior[case.index()] * truth.get(id).copied().unwrap_or(1.0)
        })
        .collect();
    let player = Player::new(desk, Way::Planned);
    for number in 0..jobs {
        if !progress.step() {
            break;
        }
        let hidden = cases[draw_from(&weights, dice)];
        let honest = Honest { study, hidden };
        let mut person = Person { honest, dice: Pcg64Mcg::seed_from_u64(dice.random()) };
        let play = player.play_with(&mut person, progress);
        if let Some(record) = record(study, &play, number) {
            ledger.add(record);
        }
    }
    ledger
}

/// Somebody who errs as often as is usual.
struct Person<'a> {
    honest: Honest<'a>,
    dice: Pcg64Mcg,
}

impl Machine for Person<'_> {
    fn read(&mut self, column: &Column) -> usize {
        let hidden = self.honest.hidden.index();
        let chances: Vec<f64> = column.likelihood.iter().map(|row| row[hidden]).collect();
        draw_from(&chances, &mut self.dice)
    }

    fn mend(&mut self, fix: usize) -> bool {
        self.honest.mend(fix)
    }
}

/// The job that a play was.
fn record(study: &Arc<Study>, play: &Play, number: usize) -> Option<Record> {
    let mut job = Job::new(Arc::clone(study));
    for (id, seen) in &play.steps {
        let event = if study.lineup().find_fix(id).is_some() {
            Event::Tried { fix: id.clone(), cured: seen == "cured" }
        } else {
            Event::Reading { test: id.clone(), answer: Answer::Named(seen.clone()) }
        };
        job.record(event).ok()?;
    }
    // A day a job, from a Monday on: any day would do.
    let day = SignedDuration::from_hours(24 * i64::try_from(number).ok()?);
    let started = Timestamp::from_second(1_772_409_600).ok()?.checked_add(day).ok()?;
    Record::of(&job, &started.to_string(), &[]).ok()
}

fn mean_minutes(desk: &Desk, truth: &[f64], progress: &Progress) -> f64 {
    let player = Player::new(desk, Way::Planned);
    let cases = cases(&desk.study).into_iter().filter(|case| truth[case.index()] > 0.0);
    cases.map(|case| truth[case.index()] * player.play(case, progress).minutes).sum()
}

/// Shares of each part, by three beliefs, and how often it was at fault in fresh jobs.
fn by_part(study: &Study, beliefs: [&[f64]; 3], fresh: &[usize]) -> Vec<Predicted> {
    let mut parts: BTreeMap<u32, Predicted> = BTreeMap::new();
    for (at, suspect) in study.lineup().suspects.iter().enumerate() {
        let Some(part) = suspect.part else { continue };
        let one = parts.entry(part.0).or_default();
        one.catalogue += beliefs[0][at];
        one.learnt += beliefs[1][at];
        one.truth += beliefs[2][at];
        one.faults += fresh[at];
    }
    parts.into_values().filter(|one| one.catalogue > 0.0).collect()
}
