//! How bad a fault is, as one hidden value of all readings of a job.

use std::sync::{Arc, LazyLock};

use halfsplit::circuit::{builtin, read};
use halfsplit::job::course::Course;
use halfsplit::job::course::doubt::doubted;
use halfsplit::job::study::Study;
use halfsplit::suspect::Lineup;
use halfsplit::suspect::damage::Damage;
use halfsplit::suspect::severity::GRADES;
use halfsplit::tester::enumerate::tests;
use halfsplit::tester::expectations::{Bench, Column, Seen};
use halfsplit::tester::scope::Scope;
use halfsplit::tester::{Instrument, Tester};
use proptest::prelude::*;

fn study(name: &str) -> Study {
    let circuit = Arc::new(read::read_text(name, builtin::text(name).unwrap()).0.unwrap());
    Study::new(&circuit, &[Instrument::Lamp, Instrument::Meter], 0).unwrap()
}

static STUDY: LazyLock<(Study, Vec<Column>)> = LazyLock::new(|| {
    let study = study("start-button");
    let all = tests(study.circuit(), &Scope::whole(), study.kit());
    let some: Vec<_> = all.into_iter().step_by(11).collect();
    let columns = study.bench.columns(&some).unwrap();
    (study, columns)
});

/// The circuit with this suspect's severity at other ohms.
fn machine(study: &Study, suspect: usize, ohms: f64) -> Bench {
    let mut lineup: Lineup = study.lineup().clone();
    let damage = &mut lineup.suspects[suspect].damage;
    assert!(matches!(damage[..], [Damage::Series(..)]));
    if let [Damage::Series(_, own)] = &mut damage[..] {
        *own = ohms;
    }
    Bench::new(&study.bench.circuit, Arc::new(lineup)).unwrap()
}

/// Every volt of the machine is read; the part is named, and no reading doubted.
#[track_caller]
fn is_named(name: &str, suspect: &str, all_ohms: &[f64]) {
    let study = study(name);
    let at = study.lineup().find(suspect).unwrap().index();
    let mut volts = tests(study.circuit(), &Scope::whole(), study.kit());
    volts.retain(|test| test.setup == study.check_setup() && test.tester == Tester::Volts);
    for &ohms in all_ohms {
        let machine = machine(&study, at, ohms);
        let mut course = Course::new(&study);
        for test in &volts {
            let column = study.column(test).unwrap();
            let level = machine.column_of(test).unwrap().shown[at].level;
            let number = test.scale.number_shown(level);
            course.read(&column, &[Seen::Number(number)], column.outcome_of(number));
        }
        let belief = course.belief().into_iter().zip(&study.lineup().suspects);
        let part = study.lineup().suspects[at].part;
        let share: f64 = belief.filter(|(_, one)| one.part == part).map(|(share, _)| share).sum();
        assert!(share > 0.9, "{ohms} ohm: {share}");
        assert_eq!(doubted(&course), None, "{ohms} ohm");
    }
}

#[test]
fn what_lies_between_two_steps_is_named_and_no_reading_of_it_doubted() {
    is_named("start-button", "start-button.high-10", &[8.0, 10.0, 14.0, 21.0, 31.0]);
    is_named("start-button", "start-button.high-100", &[33.0, 50.0, 66.0, 100.0, 150.0, 300.0]);
    is_named("horn-relay", "horn-contacts.high-100", &[40.0, 66.0, 100.0, 180.0]);
}

#[test]
fn a_severity_with_which_the_work_would_come_about_is_no_cause() {
    let study = study("start-button");
    let at = study.lineup().find("start-button.high-1").unwrap().index();
    let weights = study.severity(at);
    assert!((weights.iter().sum::<f64>() - 1.0).abs() < 1e-12);
    // With 1 ohm the solenoid pulls, with 3 it does not.
    assert!(weights[GRADES / 2] < 0.5 * weights[GRADES - 1], "{weights:?}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// The shares of suspects are those of a plain enumeration of all grades.
    #[test]
    fn shares_are_sums_over_all_severities(
        picks in proptest::collection::vec((0..1000_usize, 0..8_usize), 1..7),
    ) {
        let (study, columns) = &*STUDY;
        let count = study.lineup().suspects.len();
        let mut weights: Vec<Vec<f64>> = (0..count)
            .map(|at| study.severity(at).iter().map(|one| one * study.prior[at]).collect())
            .collect();
        let mut course = Course::new(study);
        let mut taken = Vec::new();
        for (test, outcome) in picks {
            let column = &columns[test % columns.len()];
            if taken.contains(&column.test.id) {
                continue;
            }
            taken.push(column.test.id.clone());
            let outcome = outcome % column.outcomes.len();
            let graded = study.graded(column);
            for (at, weights) in weights.iter_mut().enumerate() {
                for (grade, weight) in weights.iter_mut().enumerate() {
                    *weight *= graded.get(&at).map_or(column.likelihood[outcome][at], |shown| {
                        column.under(&shown[grade], Seen::Outcome(outcome))
                    });
                }
            }
            course.read(column, &[Seen::Outcome(outcome)], outcome);
        }
        let total: f64 = weights.iter().flatten().sum();
        for (at, share) in course.belief().iter().enumerate() {
            let expected = weights[at].iter().sum::<f64>() / total;
            prop_assert!((share - expected).abs() < 1e-9, "{at}: {share} {expected}");
        }
    }
}
