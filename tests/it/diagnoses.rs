//! Minimal diagnoses of the classic circuits: sets of faulty parts that explain what was seen, none of which
//! holds another.
#![expect(clippy::disallowed_methods, reason = "test cases are files")]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use halfsplit::belief::{Belief, Reading};
use halfsplit::circuit::{Circuit, read};
use halfsplit::electric::Solver;
use halfsplit::setup::Setup;
use halfsplit::setup::wiring::Wiring;
use halfsplit::suspect::damage::{Damage, changes};
use halfsplit::suspect::{Lineup, Suspect};
use serde::Deserialize;

/// Sets of more parts are not looked at: no published one has more than three.
const MOST_PARTS: usize = 3;
/// Probability that a part is faulty; which is no matter to what is possible.
const FAULTY: f64 = 0.01;

type Signals = BTreeMap<String, u32>;
type Set = BTreeSet<String>;

/// Parts that give a signal from signals; a faulty one gives anything.
#[derive(Deserialize)]
struct Case {
    values: u32,
    given: Signals,
    parts: Vec<Part>,
    seen: Signals,
    #[serde(default)]
    minimal: Option<BTreeSet<Set>>,
    /// How many minimal ones have one part, two, three.
    #[serde(default)]
    sizes: Option<Vec<usize>>,
}

#[derive(Deserialize)]
struct Part {
    name: String,
    does: String,
    of: Vec<String>,
    gives: String,
}

impl Part {
    fn output(&self, signals: &Signals) -> u32 {
        let mut of = self.of.iter().map(|name| signals[name]);
        let first = of.next().expect("an input");
        match self.does.as_str() {
            "same" => first,
            "times" => of.fold(first, |a, b| a * b),
            "plus" => of.fold(first, |a, b| a + b),
            "and" => of.fold(first, |a, b| a & b),
            "or" => of.fold(first, |a, b| a | b),
            "xor" => of.fold(first, |a, b| a ^ b),
            other => panic!("no part does `{other}`"),
        }
    }
}

impl Case {
    /// Probability of what was seen when these parts are faulty, each giving any value alike.
    fn likelihood(&self, faulty: &[usize]) -> f64 {
        self.below(0, &mut self.given.clone(), faulty)
    }

    fn below(&self, at: usize, signals: &mut Signals, faulty: &[usize]) -> f64 {
        let Some(part) = self.parts.get(at) else {
            let agrees = self.seen.iter().all(|(name, value)| signals[name] == *value);
            return f64::from(u8::from(agrees));
        };
        if !faulty.contains(&at) {
            let output = part.output(signals);
            signals.insert(part.gives.clone(), output);
            return self.below(at + 1, signals, faulty);
        }
        let each = (0..self.values).map(|value| {
            signals.insert(part.gives.clone(), value);
            self.below(at + 1, signals, faulty)
        });
        each.sum::<f64>() / f64::from(self.values)
    }
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/belief")
}

/// All sets of at most so many of `count` things, the smaller first.
fn sets(count: usize, most: usize) -> Vec<Vec<usize>> {
    let mut all = vec![vec![]];
    let mut from = 0;
    for _ in 0..most {
        let until = all.len();
        for at in from..until {
            let next = all[at].last().map_or(0, |last| last + 1);
            for member in next..count {
                let mut set: Vec<usize> = all[at].clone();
                set.push(member);
                all.push(set);
            }
        }
        from = until;
    }
    all
}

/// Those of the possible sets that hold no other one.
fn minimal(possible: impl Iterator<Item = Set>) -> BTreeSet<Set> {
    let mut kept: Vec<Set> = Vec::new();
    for set in possible {
        if !kept.iter().any(|smaller| smaller.is_subset(&set)) {
            kept.push(set);
        }
    }
    kept.into_iter().collect()
}

#[test]
fn what_stays_possible_holds_the_published_minimal_diagnoses() {
    let mut checked = 0;
    for entry in fs::read_dir(folder().join("diagnoses")).expect("the folder is there") {
        let path = entry.expect("an entry").path();
        let text = fs::read_to_string(&path).expect("text");
        let case: Case = serde_yaml::from_str(&text).expect("a case");
        let sets = sets(case.parts.len(), MOST_PARTS);
        let priors: Vec<f64> =
            sets.iter().map(|set| set.iter().map(|_| FAULTY).product()).collect();
        let mut belief = Belief::new(&priors).expect("priors");
        let seen = sets.iter().map(|set| case.likelihood(set)).collect();
        belief.read(Reading::sure(seen)).expect("possible");
        let possible = sets.iter().zip(belief.shares()).filter(|(_, share)| *share > 0.0);
        let named = |set: &Vec<usize>| set.iter().map(|&at| case.parts[at].name.clone()).collect();
        let found = minimal(possible.map(|(set, _)| named(set)));
        if let Some(expected) = &case.minimal {
            assert_eq!(found, *expected, "{}", path.display());
        }
        if let Some(sizes) = &case.sizes {
            let of_size = |size| found.iter().filter(|set| set.len() == size).count();
            let counts: Vec<usize> = (1..=MOST_PARTS).map(of_size).collect();
            assert_eq!(counts, *sizes, "{}", path.display());
        }
        assert!(case.minimal.is_some() || case.sizes.is_some());
        checked += 1;
    }
    assert!(checked >= 3);
}

/// Volts across a part.
fn volts_across(circuit: &Circuit, part: &str, damage: &[Damage]) -> f64 {
    let setup = Setup::for_work(circuit, &circuit.works[0]);
    let wiring = Wiring::new(circuit, &setup);
    let solver = Solver::new(&wiring.network).expect("a sound network");
    let case = solver.case(&changes(circuit, &setup, &wiring, damage)).expect("a solution");
    let volts = |terminal: &str| {
        let id = format!("{part}.{terminal}");
        let mut all = circuit.graph.node_indices();
        let at = all.find(|&at| circuit.graph[at].id == id).expect("a terminal");
        case.node_volts(wiring.node(at))
    };
    volts("plus") - volts("minus")
}

#[test]
fn with_physical_fault_modes_one_diagnosis_of_the_three_lamps_is_left() {
    let text = fs::read_to_string(folder().join("three-lamps-circuit.yaml")).expect("text");
    let circuit = Arc::new(read::read_text("three-lamps", &text).0.expect("a sound circuit"));
    let lineup = Lineup::of(&circuit);
    let modes = [
        "supply.dead",
        "w1.open",
        "w2.open",
        "w3.open",
        "w4.open",
        "w5.open",
        "w6.open",
        "b1.open",
        "b2.open",
        "b3.open",
    ];
    let suspect = |id: &str| -> &Suspect {
        let ids = || lineup.suspects.iter().map(|one| one.id.as_str()).collect::<Vec<_>>();
        lineup
            .suspects
            .iter()
            .find(|one| one.id == id)
            .unwrap_or_else(|| panic!("{id}: {:?}", ids()))
    };
    let explains = |set: &Vec<usize>| {
        let damage: Vec<Damage> =
            set.iter().flat_map(|&at| suspect(modes[at]).damage.clone()).collect();
        let is_lit = |lamp: &str| {
            let broken = set.iter().any(|&at| modes[at] == format!("{lamp}.open"));
            volts_across(&circuit, lamp, &damage) > 6.0 && !broken
        };
        !is_lit("b1") && !is_lit("b2") && is_lit("b3")
    };
    let possible = sets(modes.len(), MOST_PARTS).into_iter().filter(|set| explains(set));
    let named = |set: Vec<usize>| set.into_iter().map(|at| modes[at].to_owned()).collect();
    let found = minimal(possible.map(named));
    let expected: Set = ["b1.open", "b2.open"].map(str::to_owned).into();
    assert_eq!(found, BTreeSet::from([expected]));
}
