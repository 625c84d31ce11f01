//! How bad a fault is, as a job asks for it: what each test shows at each grade, and how likely each grade is.

use std::collections::BTreeMap;
use std::sync::{Arc, PoisonError};

use super::Study;
use super::complaint::sights;
use crate::suspect::severity::GRADES;
use crate::tester::Test;
use crate::tester::expectations::{Column, Graded, Likelihood, Seen};

impl Study {
    /// What a test shows at each grade of the severities it tells.
    pub fn graded(&self, column: &Column) -> Arc<Graded> {
        // A thread that panicked while it held the lock left whole entries behind it.
        let known = || self.severities.graded.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(graded) = known().get(&column.test.id) {
            return Arc::clone(graded);
        }
        // Where some grade has no operating point, the steps must do.
        let graded = self.bench.graded(std::slice::from_ref(&column.test));
        let graded = Arc::new(graded.ok().and_then(|mut all| all.pop()).unwrap_or_default());
        Arc::clone(known().entry(column.test.id.clone()).or_insert(graded))
    }

    /// Probability of each grade of a suspect that is there, from the least bad; sums to 1.
    ///
    /// A severity is as likely in one decade as in the next, but one with which the work would come about is no
    /// cause of the complaint.
    pub fn severity(&self, suspect: usize) -> Vec<f64> {
        let weights = self.severities.weights.get_or_init(|| self.severity_weights());
        weights.get(&suspect).cloned().unwrap_or_else(|| vec![1.0 / GRADES as f64; GRADES])
    }

    /// Makes the chances of columns, setup by setup, those over all grades of each severity, as belief weighs a
    /// reading that stands alone.
    pub fn over_severities(&self, columns: &mut [Column]) {
        for group in columns.chunk_by_mut(|one, next| one.test.setup == next.test.setup) {
            let tests: Vec<Test> = group.iter().map(|column| column.test.clone()).collect();
            // Where some grade has no operating point, the steps must do.
            let graded = self.bench.graded(&tests).unwrap_or_default();
            for (column, graded) in group.iter_mut().zip(graded) {
                column.likelihood = self.over_grades(column, &graded, |at| self.severity(at));
            }
        }
    }

    /// How likely each outcome of a test is, where the grades of each severity it tells are as likely as
    /// `severity` says.
    pub(in crate::job) fn over_grades(
        &self,
        column: &Column,
        graded: &Graded,
        severity: impl Fn(usize) -> Vec<f64>,
    ) -> Likelihood {
        let mut likelihood = column.likelihood.clone();
        for (&suspect, shown) in graded {
            let of = (&column.test, &column.edges[..]);
            let chances = self.bench.over_grades(of, shown, &severity(suspect));
            for (row, chance) in likelihood.iter_mut().zip(chances) {
                row[suspect] = chance;
            }
        }
        likelihood
    }

    fn severity_weights(&self) -> BTreeMap<usize, Vec<f64>> {
        let sights = sights(self.circuit(), self.work());
        let columns = sights.iter().filter_map(|(test, should)| {
            let column = self.column(test).ok()?;
            Some((self.graded(&column), column, *should))
        });
        let columns: Vec<(Arc<Graded>, Arc<Column>, usize)> = columns.collect();
        let told = columns.iter().flat_map(|(graded, ..)| graded.keys().copied());
        let fails = |suspect: usize| -> Vec<f64> {
            let comes_about = |grade: usize| -> f64 {
                let each = columns.iter().map(|(graded, column, should)| {
                    let shown = graded.get(&suspect).map(|shown| &shown[grade]);
                    shown.map_or(column.likelihood[*should][suspect], |shown| {
                        column.under(shown, Seen::Outcome(*should))
                    })
                });
                each.product()
            };
            (0..GRADES).map(|grade| 1.0 - comes_about(grade)).collect()
        };
        let weights = told.map(|suspect| {
            let fails = fails(suspect);
            let total: f64 = fails.iter().sum();
            let even = 1.0 / GRADES as f64;
            let share = |one: &f64| if total > 0.0 { one / total } else { even };
            (suspect, fails.iter().map(share).collect())
        });
        weights.collect()
    }
}
