//! What the readings and repairs of a job make one believe.
//!
//! A suspect of a continuous severity has one hidden value in all readings of a job: belief is held over its
//! grades, as far as some reading tells them, and summed up for the suspect. A pair of suspects stands for its
//! named steps until one of them is mended.

use super::taken::Taken;
use crate::belief::doubt::mistake_probability;
use crate::belief::{Belief, Reading};
use crate::job::study::Study;
use crate::suspect::severity::GRADES;

/// Belief in what was wrong at first.
#[derive(Debug, Clone)]
pub struct Believed {
    /// Over suspects, and grades where they count.
    belief: Belief,
    /// What each of its hypotheses is.
    cells: Vec<Cell>,
    /// Their probabilities.
    of_cells: Vec<f64>,
    /// Probability of each suspect; sums to 1.
    pub shares: Vec<f64>,
}

/// One thing belief is held over: what was wrong at first, and the grade of its severity where that counts.
type Cell = (usize, Option<usize>);

/// What belief is made of.
#[derive(Debug)]
pub(super) struct Told<'a> {
    /// The circuit, reckoned through.
    pub study: &'a Study,
    /// The readings that count, oldest first.
    pub evidence: &'a [Taken],
    /// What is left by now of each suspect.
    pub present: &'a [usize],
    /// What the parts replaced lately say.
    pub renewal: Option<Reading>,
    /// What each repair in vain says.
    pub in_vain: &'a [Reading],
}

impl Believed {
    /// Prior, readings, then the repairs that did not cure; as if the test `left_out` had not been read.
    pub(super) fn of(told: &Told<'_>, left_out: Option<&str>) -> Believed {
        let Told { study, present, .. } = *told;
        let counted = told.evidence.iter().filter(|one| left_out != Some(one.test.as_str()));
        let counted: Vec<_> = counted.collect();
        let (mut cells, mut prior): (Vec<Cell>, Vec<f64>) = (Vec::new(), Vec::new());
        for (at, &share) in study.prior.iter().enumerate() {
            let now = present[at];
            if counted.iter().any(|taken| taken.tells_grades(now)) {
                cells.extend((0..GRADES).map(|grade| (at, Some(grade))));
                prior.extend(study.severity(now).iter().map(|weight| weight * share));
            } else {
                cells.push((at, None));
                prior.push(share);
            }
        }
        let readings = counted.iter().map(|taken| Reading {
            likelihood: cells.iter().map(|&(at, grade)| taken.likelihood(at, grade)).collect(),
            mistaken: taken.reading.mistaken,
        });
        let broadcast = |reading: &Reading| Reading {
            likelihood: cells.iter().map(|&(at, _)| reading.likelihood[at]).collect(),
            mistaken: reading.mistaken,
        };
        let rest = told.in_vain.iter().chain(&told.renewal).map(broadcast);
        let rest: Vec<Reading> = rest.collect();
        let mut belief = Belief::new(&prior).unwrap_or_else(|_| study.start.clone());
        for reading in readings.chain(rest) {
            // Every reading leaves `outside` possible, so none is refused.
            let _ = belief.read(reading);
        }
        let of_cells = belief.shares();
        let mut shares = vec![0.0; present.len()];
        for ((at, _), share) in cells.iter().zip(&of_cells) {
            shares[*at] += share;
        }
        Believed { belief, cells, of_cells, shares }
    }

    /// How likely each grade of the severity of a suspect is, if it is what is left by now; sums to 1. `None`
    /// where no reading has told.
    pub(super) fn grades(&self, present: &[usize], suspect: usize) -> Option<Vec<f64>> {
        let mut grades = [0.0; GRADES];
        for (&(at, grade), share) in self.cells.iter().zip(&self.of_cells) {
            if present[at] == suspect {
                grades[grade?] += share;
            }
        }
        let total: f64 = grades.iter().sum();
        (total > 0.0).then(|| grades.iter().map(|share| share / total).collect())
    }

    /// Probability that each reading that counts is a mistake, in their order; then those of what else counts.
    pub fn mistakes(&self) -> Vec<f64> {
        let readings = self.belief.readings().iter();
        readings.map(|reading| mistake_probability(&self.of_cells, reading)).collect()
    }
}
