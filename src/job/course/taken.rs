//! A reading as it counts in a job: what it says of each suspect, and what it says when it is taken once more.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::belief::Reading;
use crate::belief::person::Dependence;
use crate::job::study::Study;
use crate::tester::expectations::{Column, Seen};

/// A reading that counts.
#[derive(Debug, Clone, PartialEq)]
pub struct Taken {
    /// The test's id.
    pub test: String,
    /// What it says of what was wrong at first, whatever the severity.
    pub reading: Reading,
    /// The position of the outcome seen.
    pub outcome: usize,
    /// How often it was taken, with the same outcome.
    pub times: usize,
    /// How many repairs were tried before it.
    pub(in crate::job) stage: usize,
    /// What was left of each suspect then.
    present: Arc<[usize]>,
    /// What was left of each suspect when the same was seen before an earlier repair.
    before: Option<Arc<[usize]>>,
    says: Says,
    /// What the same seen once more, and once more, says beside.
    again: Option<Says>,
}

/// What was seen says of each suspect as it is at the moment, as far as it stands alone.
///
/// Scaled so that what makes it likeliest has 1: what a copy of an earlier look would show is as likely under
/// any suspect as under that one.
#[derive(Debug, Clone, PartialEq)]
struct Says {
    reading: Reading,
    /// The same at each grade of the severities that it tells.
    graded: BTreeMap<usize, Vec<f64>>,
}

impl Says {
    /// What `seen`, one or the other of them, says; nothing if there is none.
    fn new(study: &Study, column: &Column, seen: &[Seen]) -> Says {
        let none = if seen.is_empty() { 1.0 } else { 0.0 };
        let mut likelihood = vec![none; study.lineup().suspects.len()];
        for one in seen {
            let under = column.under_all(study.lineup(), *one);
            likelihood.iter_mut().zip(under).for_each(|(sum, one)| *sum += one);
        }
        let mut graded = BTreeMap::new();
        let told = if seen.is_empty() { Arc::default() } else { study.graded(column) };
        for (&suspect, shown) in &*told {
            let under = |one| seen.iter().map(|seen| column.under(one, *seen)).sum();
            let under: Vec<f64> = shown.iter().map(under).collect();
            let weights = study.severity(suspect);
            likelihood[suspect] =
                under.iter().zip(&weights).map(|(one, weight)| one * weight).sum();
            graded.insert(suspect, under);
        }
        let mistaken = seen.iter().map(|one| column.by_mistake(*one)).sum();
        let mut says = Says { reading: Reading { likelihood, mistaken }, graded };
        let most = says.values().fold(f64::MIN_POSITIVE, |most, one| most.max(*one));
        says.change(|one| one / most);
        says.reading.mistaken /= most;
        says
    }

    fn values(&mut self) -> impl Iterator<Item = &mut f64> {
        self.reading.likelihood.iter_mut().chain(self.graded.values_mut().flatten())
    }

    fn change(&mut self, to: impl Fn(f64) -> f64) {
        for value in self.values() {
            *value = to(*value);
        }
    }

    /// The same where it repeats what was seen before.
    fn repeated(mut self) -> Says {
        self.change(repeated);
        self.reading.mistaken = Dependence::Moderate.repeated_error(self.reading.mistaken);
        self
    }

    /// Both together.
    fn and(mut self, other: &Says) -> Says {
        for (suspect, list) in &mut self.graded {
            let others = other.graded.get(suspect);
            for (grade, value) in list.iter_mut().enumerate() {
                *value *= others.map_or(other.reading.likelihood[*suspect], |list| list[grade]);
            }
        }
        let own = self.reading.likelihood.iter_mut();
        own.zip(&other.reading.likelihood).for_each(|(own, other)| *own *= other);
        self.reading.mistaken *= other.reading.mistaken;
        self
    }

    /// Under a suspect; of one whose severity it tells, at this grade.
    fn at(&self, suspect: usize, grade: Option<usize>) -> f64 {
        let at_grade = grade.and_then(|grade| Some(self.graded.get(&suspect)?[grade]));
        at_grade.unwrap_or(self.reading.likelihood[suspect])
    }
}

/// How likely the same is seen once more by the same person at the same point.
fn repeated(alone: f64) -> f64 {
    Dependence::Moderate.repeated_error(alone)
}

/// What one or the other of these, `seen` of `column`'s test, says of each suspect as it stands alone.
pub fn reading(study: &Study, column: &Column, seen: &[Seen]) -> Reading {
    Says::new(study, column, seen).reading
}

impl Taken {
    /// One or the other of these was `seen` of `column`'s test, when this was left of each suspect.
    pub(super) fn new(
        study: &Study,
        (column, seen, outcome): (&Column, &[Seen], usize),
        (stage, present): (usize, Arc<[usize]>),
    ) -> Taken {
        let mut taken = Taken {
            test: column.test.id.clone(),
            reading: Reading::sure(Vec::new()),
            outcome,
            times: 1,
            stage,
            present,
            before: None,
            says: Says::new(study, column, seen),
            again: None,
        };
        taken.sum_up();
        taken
    }

    /// The same person at the same point sees the same once more.
    pub(super) fn once_more(&mut self, again: Taken) {
        let more = again.says.repeated();
        self.again = Some(match self.again.take() {
            Some(before) => before.and(&more),
            None => more,
        });
        self.times += 1;
        self.sum_up();
    }

    /// The same was seen before a repair which did not cure: this is news of what the repair has changed, and of
    /// all else what it says once more.
    pub(super) fn after_a_repair(&mut self, before: &Taken) {
        self.before = Some(Arc::clone(&before.present));
        self.sum_up();
    }

    fn sum_up(&mut self) {
        let again = self.again.as_ref().map_or(1.0, |again| again.reading.mistaken);
        let mistaken = self.says.reading.mistaken * again;
        let likelihood = (0..self.present.len()).map(|at| self.likelihood(at, None)).collect();
        self.reading = Reading { likelihood, mistaken };
    }

    /// Whether it tells the grades of a suspect's severity.
    pub(super) fn tells_grades(&self, suspect: usize) -> bool {
        self.says.graded.contains_key(&suspect)
    }

    /// How likely it is if this was wrong at first, and of a severity of this grade.
    pub(super) fn likelihood(&self, at_first: usize, grade: Option<usize>) -> f64 {
        let now = self.present[at_first];
        let alone = self.says.at(now, grade);
        let is_same = self.before.as_ref().is_some_and(|before| before[at_first] == now);
        let first = if is_same { repeated(alone) } else { alone };
        first * self.again.as_ref().map_or(1.0, |again| again.at(now, grade))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn taken(present: [usize; 3]) -> Taken {
        let reading = Reading { likelihood: vec![1.0, 0.01, 0.01], mistaken: 0.001 };
        let graded = BTreeMap::from([(0, vec![1.0, 0.1])]);
        let mut taken = Taken {
            test: "a-test".to_owned(),
            reading: reading.clone(),
            outcome: 0,
            times: 1,
            stage: 0,
            present: present.into(),
            before: None,
            says: Says { reading, graded },
            again: None,
        };
        taken.sum_up();
        taken
    }

    #[track_caller]
    fn check(found: f64, expected: f64) {
        assert!((found - expected).abs() < 1e-12, "{found}");
    }

    #[test]
    fn what_shows_the_same_after_a_repair_is_news_only_of_what_the_repair_changed() {
        // Of the third, a pair, one fault was mended: it is as the second by now.
        let mut again = taken([0, 1, 1]);
        again.after_a_repair(&taken([0, 1, 2]));
        let likelihood = &again.reading.likelihood;
        check(likelihood[0], 1.0);
        check(likelihood[1], (1.0 + 6.0 * 0.01) / 7.0);
        check(likelihood[2], 0.01);
        check(again.reading.mistaken, 0.001);
    }

    #[test]
    fn what_is_seen_once_more_counts_for_little_at_each_grade() {
        let mut twice = taken([0, 1, 2]);
        twice.once_more(taken([0, 1, 2]));
        check(twice.likelihood(0, Some(0)), 1.0);
        check(twice.likelihood(0, Some(1)), 0.1 * (1.0 + 6.0 * 0.1) / 7.0);
        check(twice.likelihood(1, None), 0.01 * (1.0 + 6.0 * 0.01) / 7.0);
        check(twice.reading.mistaken, 0.001 * (1.0 + 6.0 * 0.001) / 7.0);
    }
}
