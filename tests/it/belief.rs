//! Belief against published posteriors.
#![expect(clippy::disallowed_methods, reason = "test cases are files")]

use std::collections::BTreeMap;
use std::fs;
use std::path::PathBuf;

use halfsplit::belief::{Belief, Reading};
use halfsplit::tester::likelihood::number;
use halfsplit::tester::scale::{Scale, Shown};
use serde::Deserialize;

const TOLERANCE: f64 = 1e-6;

/// A network of yes-or-no variables; parents come before children.
#[derive(Deserialize)]
struct Network {
    variables: Vec<Variable>,
    cases: Vec<Case>,
}

#[derive(Deserialize)]
struct Variable {
    name: String,
    #[serde(default)]
    parents: Vec<String>,
    yes: Vec<f64>,
}

#[derive(Deserialize)]
struct Case {
    given: BTreeMap<String, bool>,
    expect: BTreeMap<String, f64>,
}

impl Network {
    /// Whether a variable is yes in a combination; every bit of `combination` is a variable.
    fn is_yes(&self, combination: usize, name: &str) -> bool {
        let at = self.variables.iter().position(|variable| variable.name == name);
        combination >> at.expect("a variable of the network") & 1 == 1
    }

    /// Probability of every combination.
    fn priors(&self) -> Vec<f64> {
        let of = |combination: usize| {
            let factor = |variable: &Variable| {
                let row = variable
                    .parents
                    .iter()
                    .fold(0, |row, parent| row * 2 + usize::from(self.is_yes(combination, parent)));
                let yes = variable.yes[row];
                if self.is_yes(combination, &variable.name) { yes } else { 1.0 - yes }
            };
            self.variables.iter().map(factor).product()
        };
        (0..1 << self.variables.len()).map(of).collect()
    }

    fn yes_in(&self, shares: &[f64], name: &str) -> f64 {
        let yes = shares.iter().enumerate().filter(|(at, _)| self.is_yes(*at, name));
        yes.map(|(_, share)| share).sum()
    }
}

fn folder(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/data/belief").join(name)
}

#[test]
fn networks_give_their_published_posteriors() {
    let mut checked = 0;
    for entry in fs::read_dir(folder("networks")).expect("the folder is there") {
        let path = entry.expect("an entry").path();
        let text = fs::read_to_string(&path).expect("text");
        let network: Network = serde_yaml::from_str(&text).expect("a network");
        for case in &network.cases {
            let mut belief = Belief::new(&network.priors()).expect("priors");
            for (name, seen) in &case.given {
                let all = 0..1 << network.variables.len();
                let agrees = |at| f64::from(u8::from(network.is_yes(at, name) == *seen));
                belief.read(Reading::sure(all.map(agrees).collect())).expect("possible");
            }
            for (name, expected) in &case.expect {
                let found = network.yes_in(&belief.shares(), name);
                assert!((found - expected).abs() < TOLERANCE, "{}: {name} {found}", path.display());
                checked += 1;
            }
        }
    }
    assert!(checked >= 12);
}

#[derive(Deserialize)]
struct Numbers {
    system_volts: u8,
    prior: BTreeMap<String, f64>,
    predicted_volts: BTreeMap<String, f64>,
    reading: NumberRead,
    likelihood: BTreeMap<String, f64>,
    posterior: BTreeMap<String, f64>,
}

#[derive(Deserialize)]
struct NumberRead {
    volts: f64,
    sigma: f64,
    gross_error: f64,
}

#[test]
fn a_number_moves_belief_as_worked_out_by_hand() {
    let text = fs::read_to_string(folder("numbers.yaml")).expect("text");
    let case: Numbers = serde_yaml::from_str(&text).expect("a case");
    let NumberRead { volts, sigma, gross_error } = case.reading;
    let scale = Scale::Volts { system: case.system_volts };
    let of = |&level: &f64| {
        // What the meter leaves of the whole deviation is the machine's.
        let blur = scale.blur(level);
        let spread = (sigma * sigma - blur * blur).sqrt();
        number(scale, gross_error, &Shown { level, spread, restless: false }, volts)
    };
    let likelihood: Vec<f64> = case.predicted_volts.values().map(of).collect();
    for (found, expected) in likelihood.iter().zip(case.likelihood.values()) {
        assert!((found / expected - 1.0).abs() < 1e-6, "{found} {expected}");
    }
    let priors: Vec<f64> = case.prior.values().copied().collect();
    let mut belief = Belief::new(&priors).expect("priors");
    let mistaken = gross_error / scale.width();
    belief.read(Reading { likelihood, mistaken }).expect("possible");
    for (found, expected) in belief.shares().iter().zip(case.posterior.values()) {
        assert!((found - expected).abs() < TOLERANCE, "{found} {expected}");
    }
}
