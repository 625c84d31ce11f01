//! One test at every grade of the severities it tells.

use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

use rayon::prelude::*;

use super::{Bench as Steps, BenchError, Row};
use crate::suspect::severity::GRADES;
use crate::suspect::{Lineup, Suspect};
use crate::tester::likelihood;
use crate::tester::observe::observe;
use crate::tester::scale::Shown;
use crate::tester::{Target, Test, Tester};

/// Steps of a severity whose levels differ by less than this part of a reading's spread show the same at every
/// grade between them.
const SAME: f64 = 0.1;

/// What a test shows at each grade of a suspect's severity, from the least bad; suspects whose severity it does
/// not tell are left out.
pub type Graded = BTreeMap<usize, Vec<Shown>>;

/// A circuit with the grades of its severities for suspects.
#[derive(Debug)]
pub(super) struct Bench {
    bench: Steps,
    /// The grades of each suspect that has some.
    of: BTreeMap<usize, Range<usize>>,
}

impl Bench {
    /// Suspect 0 stays the sound circuit. What trying the circuit has left is taken to be the same at every
    /// grade of a step.
    fn new(steps: &Steps) -> Bench {
        let (mut suspects, mut of) = (vec![steps.lineup.suspects[0].clone()], BTreeMap::new());
        let mut step_of = vec![0];
        for (at, suspect) in steps.lineup.suspects.iter().enumerate() {
            let Some(damage) = steps.lineup.graded_damage(at) else { continue };
            of.insert(at, suspects.len()..suspects.len() + GRADES);
            for one in damage {
                suspects.push(Suspect { damage: vec![one], ..suspect.clone() });
                step_of.push(at);
            }
        }
        let lineup = Arc::new(Lineup { suspects, fixes: Vec::new() });
        let mut bench = Steps::untried(&steps.circuit, lineup);
        bench.kept = Arc::clone(&steps.kept);
        bench.blown = step_of.iter().map(|&at| steps.blown[at].clone()).collect();
        bench.pulled_at_rest = step_of.iter().map(|&at| steps.pulled_at_rest[at].clone()).collect();
        Bench { bench, of }
    }
}

impl Steps {
    /// What each of `tests`, which share a setup, shows at each grade of the severities it tells.
    ///
    /// # Errors
    /// Where the setup has no operating point under some grade.
    pub fn graded(&self, tests: &[Test]) -> Result<Vec<Graded>, BenchError> {
        let by_step = self.rows(tests, None)?;
        let grades = self.grades.get_or_init(|| Bench::new(self));
        let told = |(test, at): (usize, &Test)| -> Vec<usize> {
            let steps: Vec<Shown> = by_step.iter().map(|row| row[test]).collect();
            grades.of.keys().copied().filter(|&step| self.tells(at, &steps, step)).collect()
        };
        let told: Vec<Vec<usize>> = tests.iter().enumerate().map(told).collect();
        let mut asked = vec![false; grades.bench.lineup.suspects.len()];
        for step in told.iter().flatten() {
            asked[grades.of[step].clone()].fill(true);
        }
        if !asked.contains(&true) {
            return Ok(vec![Graded::new(); tests.len()]);
        }
        let not_asked = |at: usize| (!asked[at]).then(|| Row::from([]));
        let setup = &tests[0].setup;
        let rows = grades.bench.each_case(setup, tests, None, not_asked, |scene| {
            tests.iter().map(|test| observe(scene, test)).collect()
        })?;
        let of = |test: usize, step: usize| -> Vec<Shown> {
            let shown: Vec<Shown> =
                rows[grades.of[&step].clone()].iter().map(|row| row[test]).collect();
            widened(&shown)
        };
        let each = told.iter().enumerate();
        Ok(each.map(|(test, told)| told.iter().map(|&at| (at, of(test, at))).collect()).collect())
    }

    /// What each of `tests` shows at each grade of a suspect's severity, as a plan needs it; `None` where the
    /// suspect has no grades.
    ///
    /// # Errors
    /// Where a setup has no operating point under some grade.
    pub fn sketch_grades(
        &self,
        tests: &[Test],
        step: usize,
    ) -> Result<Option<Vec<Vec<Shown>>>, BenchError> {
        let grades = self.grades.get_or_init(|| Bench::new(self));
        let Some(of) = grades.of.get(&step) else { return Ok(None) };
        let mut live = vec![false; grades.bench.lineup.suspects.len()];
        live[of.clone()].fill(true);
        let of_group = |tests: &&[Test]| -> Result<Vec<Vec<Shown>>, BenchError> {
            let setup = &tests[0].setup;
            let rows: Vec<Row> = grades.bench.each_case(
                setup,
                tests,
                Some(&live),
                |_| None,
                |scene| tests.iter().map(|test| observe(scene, test)).collect(),
            )?;
            let shown = |test: usize| -> Vec<Shown> {
                rows[of.clone()].iter().map(|row| row[test]).collect()
            };
            Ok((0..tests.len()).map(|test| widened(&shown(test))).collect())
        };
        let groups: Vec<&[Test]> = tests.chunk_by(|one, next| one.setup == next.setup).collect();
        let shown: Result<Vec<_>, BenchError> = groups.par_iter().map(of_group).collect();
        Ok(Some(shown?.into_iter().flatten().collect()))
    }

    /// Probability of each outcome of a test with these edges between them, where its grades show this and are
    /// as likely as `weights`.
    pub fn over_grades(
        &self,
        (test, edges): (&Test, &[f64]),
        shown: &[Shown],
        weights: &[f64],
    ) -> Vec<f64> {
        let slip = self.slips.of(test.scale);
        let mut mean = vec![0.0; edges.len() + 1];
        let mut own = mean.clone();
        for (one, weight) in shown.iter().zip(weights).filter(|(_, weight)| **weight > 0.0) {
            likelihood::outcomes(test.scale, slip, edges, one, &mut own);
            mean.iter_mut().zip(&own).for_each(|(sum, chance)| *sum += weight * chance);
        }
        mean
    }

    /// Whether a test tells the severity of which this suspect is a step, where all suspects show this.
    fn tells(&self, test: &Test, steps: &[Shown], step: usize) -> bool {
        if test.tester == Tester::Wiggle || matches!(test.target, Target::Connector(_)) {
            return false;
        }
        let off = |next: usize| {
            let apart = (steps[next].level - steps[step].level).abs();
            if steps[next].restless == steps[step].restless { apart } else { f64::INFINITY }
        };
        self.reach(step, off) > likelihood::spread(test.scale, &steps[step]) * SAME
    }
}

/// A grade stands for all up to halfway to the next, evenly spread.
fn widened(grades: &[Shown]) -> Vec<Shown> {
    let step = |a: usize, b: usize| (grades[a].level - grades[b].level).abs();
    let width = |at: usize| match at {
        0 => step(1, 0),
        at if at + 1 == grades.len() => step(at, at - 1),
        at => 0.5 * (step(at, at - 1) + step(at + 1, at)),
    };
    let wide = |(at, one): (usize, &Shown)| Shown {
        spread: one.spread.hypot(width(at) / 12f64.sqrt()),
        ..*one
    };
    grades.iter().enumerate().map(wide).collect()
}
