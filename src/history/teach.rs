//! What follows from a shop's history for one circuit, and why.
//!
//! Pooled from this circuit's own jobs to the family of part to all: first the jobs on other circuits move the
//! weights of families and of the modes within them, then the jobs on this circuit move its own parts and
//! modes. Each step is a Dirichlet with what is known so far as its mean (`pool`). What a job was expected to
//! be is conditional on its complaint, so a shop that sees no-crank jobs only does not conclude that horns
//! never fail.

use std::collections::{BTreeMap, BTreeSet};

use super::family;
use super::ledger::Ledger;
use super::pool::{beta_mean, dirichlet_means, duration_ratio, strength};
use super::record::{Record, Took};
use crate::circuit::Circuit;
use crate::job::study::learned::Learned;
use crate::suspect::Lineup;
use crate::tester::slips::FAMILIES;

/// What a history says of one circuit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Lesson {
    /// The numbers.
    pub learned: Learned,
    /// Jobs on this circuit.
    pub jobs_here: usize,
    /// Jobs on other circuits.
    pub jobs_elsewhere: usize,
    /// What was counted, part by part.
    pub parts: Vec<PartCount>,
}

/// Jobs in which a part was bad, beside what was expected.
#[derive(Debug, Clone, PartialEq)]
pub struct PartCount {
    /// The part's id, `sound` or `outside`.
    pub part: String,
    /// Jobs on this circuit in which it was the fault.
    pub found: f64,
    /// Jobs in which the catalogue would have expected it.
    pub expected: f64,
    /// How many times likelier it is now than by the catalogue.
    pub times_likelier: f64,
}

/// Shares by name, and counts beside them.
#[derive(Debug, Default)]
struct Counts {
    names: Vec<String>,
    expected: Vec<f64>,
    found: Vec<f64>,
}

impl Counts {
    /// Sums up what `expected` and `found` say of each name, over jobs.
    fn of<'a>(
        jobs: impl Iterator<Item = (&'a BTreeMap<String, f64>, &'a BTreeMap<String, f64>)>,
    ) -> Counts {
        let mut sums: BTreeMap<&str, (f64, f64)> = BTreeMap::new();
        for (expected, found) in jobs {
            for (name, share) in expected {
                sums.entry(name).or_default().0 += share;
            }
            for (name, share) in found {
                sums.entry(name).or_default().1 += share;
            }
        }
        let mut counts = Counts::default();
        for (name, (expected, found)) in sums {
            counts.names.push(name.to_owned());
            counts.expected.push(expected);
            counts.found.push(found);
        }
        counts
    }

    /// How many times likelier each name became; empty without any expectation.
    fn times(&self, known: impl Fn(&str) -> f64) -> BTreeMap<String, f64> {
        let weighed: Vec<f64> = self
            .names
            .iter()
            .zip(&self.expected)
            .map(|(name, share)| share * known(name))
            .collect();
        let total: f64 = weighed.iter().sum();
        if total <= 0.0 {
            return BTreeMap::new();
        }
        let means: Vec<f64> = weighed.iter().map(|share| share / total).collect();
        let learnt = dirichlet_means(&means, strength(&means, &self.found), &self.found);
        let each = self.names.iter().zip(means.iter().zip(learnt));
        each.filter(|(_, (mean, _))| **mean > 0.0)
            .map(|(name, (mean, learnt))| (name.clone(), learnt / mean))
            .collect()
    }
}

/// By family, then by mode.
type Modes = BTreeMap<String, BTreeMap<String, f64>>;

fn families(records: &[&Record]) -> Counts {
    let sums = |modes: &Modes| -> BTreeMap<String, f64> {
        modes.iter().map(|(family, modes)| (family.clone(), modes.values().sum())).collect()
    };
    let each: Vec<_> =
        records.iter().map(|one| (sums(&one.expected.modes), sums(&one.found.modes))).collect();
    Counts::of(each.iter().map(|(expected, found)| (expected, found)))
}

/// How many times likelier the modes of each family became, where `known` was known before.
fn modes(records: &[&Record], known: &Modes) -> Modes {
    let none = BTreeMap::new();
    let mut all = Modes::new();
    let met: BTreeSet<&String> = records.iter().flat_map(|one| one.found.modes.keys()).collect();
    for family in met {
        let each = records.iter().map(|one| {
            let expected = one.expected.modes.get(family).unwrap_or(&none);
            (expected, one.found.modes.get(family).unwrap_or(&none))
        });
        let counts = Counts::of(each);
        let before = known.get(family).unwrap_or(&none);
        let times = counts.times(|mode| before.get(mode).copied().unwrap_or(1.0));
        all.insert(family.clone(), times);
    }
    all
}

/// What the jobs in `ledger` say of `circuit`.
pub fn lesson(ledger: &Ledger, circuit: &Circuit) -> Lesson {
    let (here, elsewhere): (Vec<&Record>, Vec<&Record>) =
        ledger.records().iter().partition(|record| record.circuit == circuit.id);
    let by_family = families(&elsewhere).times(|_| 1.0);
    let by_mode = modes(&elsewhere, &Modes::new());
    let own_modes = modes(&here, &by_mode);
    let lineup = Lineup::of(circuit);
    let family_of: BTreeMap<&str, &str> = lineup
        .suspects
        .iter()
        .map(|one| {
            let family = family::of_suspect(circuit, one);
            (one.part.map_or(family, |part| circuit.parts[part.index()].id.as_str()), family)
        })
        .collect();
    let of_family = |family: &str| by_family.get(family).copied().unwrap_or(1.0);
    let known = |part: &str| family_of.get(part).map_or(1.0, |family| of_family(family));
    let own = Counts::of(here.iter().map(|one| (&one.expected.parts, &one.found.parts)));
    let own_parts = own.times(known);
    let in_modes = |all: &Modes, family: &str, mode: &str| {
        all.get(family).and_then(|modes| modes.get(mode)).copied().unwrap_or(1.0)
    };
    let mut learned = Learned::default();
    for suspect in &lineup.suspects {
        let family = family::of_suspect(circuit, suspect);
        let mode = family::mode(suspect);
        let part = suspect.part.map_or(family, |part| circuit.parts[part.index()].id.as_str());
        let times = of_family(family)
            * in_modes(&by_mode, family, mode)
            * own_parts.get(part).copied().unwrap_or(1.0)
            * in_modes(&own_modes, family, mode);
        if (times - 1.0).abs() > 1e-9 {
            learned.times_likelier.insert(suspect.id.clone(), times);
        }
    }
    place_minutes(&mut learned, circuit, &here);
    fix_minutes(&mut learned, circuit, &lineup, (&here, &elsewhere));
    learned.slips = slips(ledger);
    let parts = own.names.iter().enumerate().map(|(at, part)| PartCount {
        part: part.clone(),
        found: own.found[at],
        expected: own.expected[at],
        times_likelier: known(part) * own_parts.get(part).copied().unwrap_or(1.0),
    });
    Lesson {
        parts: parts.collect(),
        learned,
        jobs_here: here.len(),
        jobs_elsewhere: elsewhere.len(),
    }
}

/// Ratios measured for what `wanted` picks.
fn ratios<'a>(all: impl Iterator<Item = &'a Took>, wanted: impl Fn(&Took) -> bool) -> Vec<f64> {
    all.filter(|took| wanted(took)).map(|took| took.times).collect()
}

fn place_minutes(learned: &mut Learned, circuit: &Circuit, here: &[&Record]) {
    for place in &circuit.places {
        let took = here.iter().flat_map(|record| &record.places);
        let ratio = duration_ratio(&ratios(took, |took| took.id == place.id));
        if (ratio - 1.0).abs() > 1e-9 && place.open_minutes > 0.0 {
            learned.place_minutes.insert(place.id.clone(), place.open_minutes * ratio);
        }
    }
}

/// From the same repair here, drawn towards that of the family elsewhere.
fn fix_minutes(
    learned: &mut Learned,
    circuit: &Circuit,
    lineup: &Lineup,
    (here, elsewhere): (&[&Record], &[&Record]),
) {
    for fix in &lineup.fixes {
        let Some(part) = fix.part else { continue };
        let family = family::of_part(circuit, part);
        let others = elsewhere.iter().flat_map(|record| &record.fixes);
        let usual = duration_ratio(&ratios(others, |took| took.family == family));
        let own = here.iter().flat_map(|record| &record.fixes);
        let own: Vec<f64> =
            ratios(own, |took| took.id == fix.id).iter().map(|times| times / usual).collect();
        let ratio = usual * duration_ratio(&own);
        if (ratio - 1.0).abs() > 1e-9 {
            learned.fix_minutes.insert(fix.id.clone(), fix.minutes * ratio);
        }
    }
}

/// Readings that the usual share of wrong ones stands for (common practice, no source): some ten jobs.
const SLIP_STRENGTH: f64 = 100.0;

/// Wrong readings of each family of scales, over all circuits: the same eyes and testers were at work.
pub fn slips(ledger: &Ledger) -> BTreeMap<String, f64> {
    let mut learned = BTreeMap::new();
    for family in FAMILIES {
        let (mut taken, mut wrong) = (0.0, 0.0);
        let readings = ledger.records().iter().filter_map(|record| record.readings.get(family));
        for readings in readings {
            taken += readings.taken;
            wrong += readings.wrong;
        }
        if taken > 0.0 {
            let mean = crate::tester::slips::usual(family);
            learned.insert(family.to_owned(), beta_mean(mean, SLIP_STRENGTH, wrong, taken));
        }
    }
    learned
}
