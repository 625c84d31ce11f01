//! Which of the many possible tests the planner is shown.

use std::collections::HashMap;

use crate::circuit::Circuit;
use crate::setup::{Setup, moves};
use crate::suspect::Lineup;
use crate::tester::Test;
use crate::tester::expectations::Likelihood;

/// Tests which tell less than this about the fix, in bits, are left out.
const LEAST_BITS: f64 = 0.002;
/// Likelihoods closer than this count as the same.
const GRAIN: f64 = 0.02;
/// Of tests which tell the same, so many are kept: the cheapest in different setups.
const KEEP_ALIKE: usize = 2;

/// Positions of the tests worth planning with: those that tell something, and of those which tell
/// the same only the cheapest few, each in a setup of its own.
pub fn worth_planning(
    circuit: &Circuit,
    (tests, columns): (&[Test], &[Likelihood]),
    lineup: &Lineup,
    prior: &[f64],
) -> Vec<usize> {
    let classes: Vec<usize> = lineup.suspects.iter().map(|suspect| suspect.fix.index()).collect();
    let mut alike: HashMap<Vec<u8>, Vec<(f64, usize)>> = HashMap::new();
    let rest = Setup::rest(circuit);
    let mut bits = ClassBits::new(&classes, lineup.fixes.len(), prior);
    for (at, (test, column)) in tests.iter().zip(columns).enumerate() {
        if bits.of(column) < LEAST_BITS {
            continue;
        }
        let minutes = price_from_rest(circuit, &rest, test);
        alike.entry(signature(column, prior)).or_default().push((minutes, at));
    }
    let mut kept: Vec<usize> = Vec::new();
    for mut group in alike.into_values() {
        group.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let mut setups: Vec<&Setup> = Vec::new();
        for (_, at) in group {
            let setup = &tests[at].setup;
            if setups.len() < KEEP_ALIKE && !setups.contains(&setup) {
                setups.push(setup);
                kept.push(at);
            }
        }
    }
    kept.sort_unstable();
    kept
}

fn price_from_rest(circuit: &Circuit, rest: &Setup, test: &Test) -> f64 {
    let places: f64 = test.places.iter().map(|at| circuit.places[at.index()].open_minutes).sum();
    test.minutes + places + moves::minutes(circuit, rest, &test.setup)
}

/// Likelihoods of all outcomes but the last, coarse, for suspects that matter.
fn signature(likelihood: &Likelihood, prior: &[f64]) -> Vec<u8> {
    let rows = likelihood.iter().take(likelihood.len().saturating_sub(1));
    rows.flat_map(|row| {
        row.iter()
            .zip(prior)
            .filter(|(_, prior)| **prior > 1e-5)
            .map(|(chance, _)| (chance / GRAIN).round() as u8)
    })
    .collect()
}

/// Information of a test about which fix cures, in bits.
pub fn class_bits(column: &Likelihood, classes: &[usize], count: usize, belief: &[f64]) -> f64 {
    ClassBits::new(classes, count, belief).of(column)
}

/// The same of many tests at one belief.
struct ClassBits<'a> {
    classes: &'a [usize],
    belief: &'a [f64],
    /// Share of each class.
    of_class: Vec<f64>,
    /// Room for the share of each class together with one outcome.
    joint: Vec<f64>,
}

impl ClassBits<'_> {
    fn new<'a>(classes: &'a [usize], count: usize, belief: &'a [f64]) -> ClassBits<'a> {
        let mut of_class = vec![0.0; count];
        for (share, class) in belief.iter().zip(classes) {
            of_class[*class] += share;
        }
        ClassBits { classes, belief, joint: vec![0.0; count], of_class }
    }

    fn of(&mut self, column: &Likelihood) -> f64 {
        let mut bits = 0.0;
        for row in column {
            self.joint.fill(0.0);
            for ((share, class), chance) in self.belief.iter().zip(self.classes).zip(row) {
                self.joint[*class] += share * chance;
            }
            let outcome: f64 = self.joint.iter().sum();
            for (both, class) in self.joint.iter().zip(&self.of_class) {
                if *both > 0.0 {
                    bits += both * (both / (class * outcome)).log2();
                }
            }
        }
        bits
    }
}
