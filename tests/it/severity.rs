//! How bad a fault is, as one hidden value of all readings of a job.

use std::sync::Arc;

use halfsplit::circuit::{builtin, read};
use halfsplit::job::course::{Course, named};
use halfsplit::job::study::Study;
use halfsplit::tester::enumerate::tests;
use halfsplit::tester::expectations::Column;
use halfsplit::tester::scope::Scope;
use halfsplit::tester::{Instrument, Test, Tester};
use proptest::prelude::*;

fn study(name: &str) -> Study {
    let circuit = Arc::new(read::read_text(name, builtin::text(name).unwrap()).0.unwrap());
    Study::new(&circuit, &[Instrument::Lamp, Instrument::Meter], 0).unwrap()
}

fn columns(study: &Study) -> Vec<Column> {
    let all = tests(study.circuit(), &Scope::whole(), study.kit());
    let some: Vec<Test> = all.into_iter().step_by(11).collect();
    study.bench.columns(&some).unwrap()
}

/// Volts at each point as the complaint has the machine stand.
fn volts(study: &Study) -> Vec<Column> {
    let mut all = tests(study.circuit(), &Scope::whole(), study.kit());
    all.retain(|test| test.setup == study.check_setup() && test.tester == Tester::Volts);
    study.bench.columns(&all).unwrap()
}

/// The grades of a suspect show the same in both, and only half of them, by what the complaint leaves of them,
/// the outcome its middle one does.
fn is_told_twice(study: &Study, suspect: usize, both: [&Column; 2], seen: usize) -> bool {
    let grades = study.grades().of_suspect(suspect);
    let chance = |grade: usize| both[0].graded[seen][grade];
    let shares = &study.graded_prior[grades.clone()];
    let mean = grades.clone().zip(shares).map(|(grade, share)| share * chance(grade)).sum::<f64>()
        / shares.iter().sum::<f64>();
    let level = |column: &Column, grade: usize| column.graded_shown[grade].level;
    both[0].outcomes == both[1].outcomes
        && both[1].likeliest(suspect) == seen
        && chance(study.grades().middle(suspect)) > 0.6
        && mean < 0.5
        && grades.into_iter().all(|at| (level(both[0], at) - level(both[1], at)).abs() < 0.05)
}

/// Suspects which show an outcome in both, however bad they are.
fn rivals(study: &Study, both: [&Column; 2], seen: usize) -> Vec<usize> {
    let sure = |suspect: &usize| {
        let mut grades = study.grades().of_suspect(*suspect);
        grades.all(|grade| both.iter().all(|column| column.graded[seen][grade] > 0.85))
    };
    (0..study.lineup().suspects.len()).filter(sure).collect()
}

/// Bits by which each of two readings moves the odds of a suspect against another.
fn bits(study: &Study, both: [&Column; 2], seen: usize, (one, other): (usize, usize)) -> [f64; 2] {
    let mut course = Course::new(study);
    let odds = |course: &Course<'_>| course.belief()[one] / course.belief()[other];
    let mut before = odds(&course);
    both.map(|column| {
        course.read(column, named(column, seen), seen);
        let moved = (odds(&course) / before).log2();
        before = odds(&course);
        moved
    })
}

/// The first reading tells how bad the fault is, if it is that one; the second shows no more than what follows
/// from it. Were they taken as independent, the second would weigh as much as the first.
#[test]
fn the_same_volts_a_second_time_say_little_against_a_severity() {
    let mut sums = [0.0, 0.0];
    for name in ["start-button", "brake-lamps"] {
        let study = study(name);
        let columns = volts(&study);
        for suspect in 0..study.lineup().suspects.len() {
            for (at, first) in columns.iter().enumerate() {
                let seen = first.likeliest(suspect);
                for second in &columns[at + 1..] {
                    let both = [first, second];
                    if !is_told_twice(&study, suspect, both, seen) {
                        continue;
                    }
                    for rival in rivals(&study, both, seen) {
                        let moved = bits(&study, both, seen, (suspect, rival));
                        sums = [sums[0] + moved[0], sums[1] + moved[1]];
                    }
                }
            }
        }
    }
    assert!(sums[0] < -1.0 && sums[1] > 0.5 * sums[0], "{sums:?}");
}

static STUDY: std::sync::LazyLock<(Study, Vec<Column>)> = std::sync::LazyLock::new(|| {
    let study = study("start-button");
    let columns = columns(&study);
    (study, columns)
});

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// The shares of suspects are those of a plain enumeration of all grades.
    #[test]
    fn shares_are_sums_over_all_severities(
        picks in proptest::collection::vec((0..1000_usize, 0..8_usize), 1..7),
    ) {
        let study = &*STUDY;
        let mut course = Course::new(&study.0);
        let mut weights = study.0.graded_prior.clone();
        let mut taken = Vec::new();
        for (test, outcome) in picks {
            let column = &study.1[test % study.1.len()];
            if taken.contains(&column.test.id) {
                continue;
            }
            taken.push(column.test.id.clone());
            let outcome = outcome % column.outcomes.len();
            // The probability of what is seen next is that of the enumeration as well.
            let total: f64 = weights.iter().sum();
            let joint = weights.iter().zip(&column.graded[outcome]);
            let expected: f64 = joint.map(|(weight, chance)| weight * chance).sum::<f64>() / total;
            let now = course.foretold(column);
            let foretold: f64 =
                course.belief().iter().zip(&now.likelihood[outcome]).map(|(a, b)| a * b).sum();
            prop_assert!((foretold - expected).abs() < 1e-9, "{foretold} {expected}");
            for (weight, chance) in weights.iter_mut().zip(&column.graded[outcome]) {
                *weight *= chance;
            }
            course.read(column, named(column, outcome), outcome);
        }
        let total: f64 = weights.iter().sum();
        let grades = study.0.grades();
        for (at, share) in course.belief().iter().enumerate() {
            let expected: f64 = weights[grades.of_suspect(at)].iter().sum::<f64>() / total;
            prop_assert!((share - expected).abs() < 1e-9, "{at}: {share} {expected}");
        }
    }
}
