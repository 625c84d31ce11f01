//! Belief against an independent Bayesian-network library, on every built-in circuit.
//!
//! `tests/data/belief/reference.py` makes a network of what `expect --json` prints and asks the library for
//! posteriors. It runs in the virtual environment that `.ci/run` makes; where there is none, this is skipped
//! in words, save in CI.
#![allow(clippy::print_stderr, reason = "a skipped comparison and its figures are to be seen")]

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Arc;

use halfsplit::circuit::{builtin, read};
use halfsplit::job::course::Course;
use halfsplit::job::study::Study;
use halfsplit::tester::Instrument;
use halfsplit::tester::enumerate::tests;
use halfsplit::tester::expectations::{Column, Seen};
use halfsplit::tester::scope::Scope;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;
use serde_json::{Map, Value, json};

/// Evidence sets on each circuit.
const SETS: usize = 1_000;
/// Tests of each circuit, drawn from all it has.
const TESTS: usize = 60;
/// Readings in a set, at most.
const MOST_READINGS: usize = 10;
/// How far two posteriors may differ.
const TOLERANCE: f64 = 1e-9;

/// Positions of a test and of the outcome seen.
type Evidence = Vec<(usize, usize)>;

#[test]
fn belief_is_what_a_bayesian_network_says() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let python = root.join("target/reference/bin/python");
    if !python.is_file() {
        assert!(std::env::var_os("CI").is_none(), "{} is missing in CI", python.display());
        eprintln!("skipped: no {}; `.ci/run` makes it", python.display());
        return;
    }
    for circuit in builtin::names() {
        let worst = compare(&python, root, circuit);
        eprintln!("{circuit}: {SETS} sets of readings, worst difference {worst:.1e}");
        assert!(worst <= TOLERANCE, "{circuit}: {worst:e}");
    }
}

/// The largest difference of any suspect's probability after any set of readings.
fn compare(python: &Path, root: &Path, circuit: &str) -> f64 {
    let study = study(circuit);
    let mut dice = Pcg64Mcg::seed_from_u64(1);
    let columns = columns(&study, &mut dice);
    let sets: Vec<Evidence> = (0..SETS).map(|_| evidence(&study, &columns, &mut dice)).collect();
    let theirs = posteriors(python, root, circuit, &in_json(&study, &columns, &sets));
    assert_eq!(theirs.len(), SETS);
    let worst = |(set, theirs): (&Evidence, &Vec<f64>)| {
        let ours = believed(&study, &columns, set);
        assert_eq!(ours.len(), theirs.len());
        ours.iter().zip(theirs).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
    };
    sets.par_iter().zip(&theirs).map(worst).reduce(|| 0.0, f64::max)
}

fn study(circuit: &str) -> Study {
    let text = builtin::text(circuit).unwrap();
    let circuit = Arc::new(read::read_text(circuit, text).0.unwrap());
    Study::new(&circuit, &[Instrument::Lamp, Instrument::Meter], 0).unwrap()
}

/// Some of all tests, with what they show.
fn columns(study: &Study, dice: &mut Pcg64Mcg) -> Vec<Column> {
    let mut all = tests(study.circuit(), &Scope::whole(), study.kit());
    let mut some = Vec::new();
    while some.len() < TESTS && !all.is_empty() {
        some.push(all.swap_remove(dice.random_range(0..all.len())));
    }
    let columns = study.bench.columns(&some).unwrap();
    columns.into_iter().filter(|column| column.outcomes.len() > 1).collect()
}

/// Some readings: of every second one what a suspect drawn at random would show, else anything.
fn evidence(study: &Study, columns: &[Column], dice: &mut Pcg64Mcg) -> Evidence {
    let hidden = dice.random_range(0..study.lineup().suspects.len());
    let count = dice.random_range(1..=MOST_READINGS);
    let mut left: Vec<usize> = (0..columns.len()).collect();
    let mut list = Vec::new();
    while list.len() < count && !left.is_empty() {
        let test = left.swap_remove(dice.random_range(0..left.len()));
        let outcome = if dice.random_range(0..2) == 0 {
            columns[test].likeliest(hidden)
        } else {
            dice.random_range(0..columns[test].outcomes.len())
        };
        list.push((test, outcome));
    }
    list
}

fn believed(study: &Study, columns: &[Column], set: &Evidence) -> Vec<f64> {
    let mut course = Course::new(study);
    for &(test, outcome) in set {
        course.read(&columns[test], &[Seen::Outcome(outcome)], outcome);
    }
    course.belief()
}

fn in_json(study: &Study, columns: &[Column], sets: &[Evidence]) -> Value {
    let suspects = study.lineup().suspects.iter().zip(&study.prior);
    let suspects: Vec<Value> =
        suspects.map(|(suspect, prior)| json!({ "id": suspect.id, "prior": prior })).collect();
    let severities: Vec<Vec<f64>> = (0..suspects.len()).map(|at| study.severity(at)).collect();
    let named = |column: &Column, of: &dyn Fn(usize) -> f64| {
        let each = column.outcomes.iter().enumerate();
        let named: Map<String, Value> =
            each.map(|(at, outcome)| (outcome.id.clone(), json!(of(at)))).collect();
        json!({ "outcomes": named })
    };
    let row = |column: &Column, suspect: usize| match study.graded(column).get(&suspect) {
        Some(shown) => {
            let each = shown.iter();
            let grade = |one| named(column, &|at| column.under(one, Seen::Outcome(at)));
            json!({ "grades": each.map(grade).collect::<Vec<_>>() })
        }
        None => named(column, &|at| column.likelihood[at][suspect]),
    };
    let rows = |column: &Column| -> Vec<Value> {
        (0..suspects.len()).map(|suspect| row(column, suspect)).collect()
    };
    let readings: Vec<Vec<Value>> = columns.iter().map(rows).collect();
    let pair =
        |&(test, outcome): &(usize, usize)| json!([test, columns[test].outcomes[outcome].id]);
    let evidence: Vec<Vec<Value>> = sets.iter().map(|set| set.iter().map(pair).collect()).collect();
    json!({ "suspects": suspects, "severities": severities, "readings": readings, "evidence": evidence })
}

fn posteriors(python: &Path, root: &Path, circuit: &str, case: &Value) -> Vec<Vec<f64>> {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR"));
    let source = folder.join(format!("belief-{circuit}.json"));
    let target = folder.join(format!("belief-{circuit}-posteriors.json"));
    std::fs::write(&source, case.to_string()).unwrap();
    let script = root.join("tests/data/belief/reference.py");
    let output = Command::new(python).arg(script).args([&source, &target]).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_str(&std::fs::read_to_string(target).unwrap()).unwrap()
}
