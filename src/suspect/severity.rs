//! How bad a fault is: one hidden value of a suspect, the same in every reading of a job.
//!
//! A step of a ladder ('about 10 ohm') stands for all ohms up to halfway to its neighbours. That stretch is
//! cut into [`GRADES`] equal parts on the logarithmic axis, and belief is held over the grades: a suspect and
//! the part of its stretch in which it lies. All other suspects have one grade. Of a pair each combination of
//! its members' grades is one.

use std::borrow::Cow;
use std::ops::Range;

use super::damage::Damage;
use super::{Lineup, SuspectId};

/// Parts of the stretch a step stands for. Odd, so that the middle one is the step's own ohms.
pub const GRADES: usize = 3;

/// Where a suspect stands among the steps of one continuous severity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ladder {
    /// Steps of one severity share a number.
    pub number: u32,
    /// How many times the ohms of the step before these are; `None` where the severity is not ohms in series.
    pub times: Option<f64>,
}

/// The grades of a line-up: those of a suspect stand together, the suspects in their order.
#[derive(Debug, Clone, PartialEq)]
pub struct Grades {
    /// The first grade of each suspect, and one more entry.
    first: Vec<usize>,
    /// The suspect of each grade.
    suspect_of: Vec<usize>,
    /// Of a pair, the grades of its members.
    members: Vec<Option<(usize, usize)>>,
    /// The grades whose network is solved.
    solved: Vec<usize>,
    /// For each grade the position in `solved` of itself, or of its pair.
    case_of: Vec<usize>,
}

impl Grades {
    /// The grades of `lineup`.
    pub fn of(lineup: &Lineup) -> Grades {
        let mut grades = Grades {
            first: vec![0],
            suspect_of: Vec::new(),
            members: Vec::new(),
            solved: Vec::new(),
            case_of: Vec::new(),
        };
        for at in 0..lineup.suspects.len() {
            match lineup.suspects[at].pair() {
                Some((one, other)) => grades.push_pair(at, one.index(), other.index()),
                None => grades.push_single(at, lineup.suspects[at].grades()),
            }
            grades.first.push(grades.suspect_of.len());
        }
        grades
    }

    fn push_single(&mut self, suspect: usize, count: usize) {
        for _ in 0..count {
            self.case_of.push(self.solved.len());
            self.solved.push(self.suspect_of.len());
            self.suspect_of.push(suspect);
            self.members.push(None);
        }
    }

    /// A pair is solved once, with the ohms its members are named by.
    fn push_pair(&mut self, suspect: usize, one: usize, other: usize) {
        let case = self.solved.len();
        self.solved.push(self.suspect_of.len());
        for first in self.of_suspect(one) {
            for second in self.of_suspect(other) {
                self.case_of.push(case);
                self.suspect_of.push(suspect);
                self.members.push(Some((first, second)));
            }
        }
    }

    /// How many grades there are.
    pub fn count(&self) -> usize {
        self.suspect_of.len()
    }

    /// The grades of a suspect.
    pub fn of_suspect(&self, suspect: usize) -> Range<usize> {
        self.first[suspect]..self.first[suspect + 1]
    }

    /// The suspect of a grade.
    pub fn suspect(&self, grade: usize) -> usize {
        self.suspect_of[grade]
    }

    /// The suspect of each grade.
    pub fn suspects(&self) -> &[usize] {
        &self.suspect_of
    }

    /// The grade a suspect is named by: that of its own ohms.
    pub fn middle(&self, suspect: usize) -> usize {
        let Range { start, end } = self.of_suspect(suspect);
        start + (end - start) / 2
    }

    /// Of a grade of a pair, the grades of its members.
    pub fn members(&self, grade: usize) -> Option<(usize, usize)> {
        self.members[grade]
    }

    /// The grades whose network is solved: all but those of pairs, and one of each pair.
    pub fn solved(&self) -> &[usize] {
        &self.solved
    }

    /// The position among [`Grades::solved`] of a grade, or of the pair it belongs to.
    pub fn case(&self, grade: usize) -> usize {
        self.case_of[grade]
    }

    /// What a grade changes in the network; of a pair what its members do by their own ohms.
    pub fn damage<'a>(&self, lineup: &'a Lineup, grade: usize) -> Cow<'a, [Damage]> {
        let at = self.suspect(grade);
        let suspect = &lineup.suspects[at];
        let times = suspect.times(grade - self.first[at]);
        if suspect.pair().is_some() || (times - 1.0).abs() < f64::EPSILON {
            return Cow::Borrowed(&suspect.damage);
        }
        let worse = |damage: &Damage| match *damage {
            Damage::Series(link, ohms) => Damage::Series(link, ohms * times),
            ref other => other.clone(),
        };
        Cow::Owned(suspect.damage.iter().map(worse).collect())
    }

    /// Weights of suspects, shared evenly by their grades.
    pub fn share_out(&self, weights: &[f64]) -> Vec<f64> {
        let of = |&at: &usize| weights[at] / self.of_suspect(at).len() as f64;
        self.suspect_of.iter().map(of).collect()
    }

    /// What each suspect has in all its grades together.
    pub fn together(&self, shares: &[f64]) -> Vec<f64> {
        self.first.windows(2).map(|ends| shares[ends[0]..ends[1]].iter().sum()).collect()
    }

    /// The mean over the grades of each suspect, by their `shares`; a plain one where it has none.
    pub fn mean(&self, values: &[f64], shares: &[f64]) -> Vec<f64> {
        let of = |ends: &[usize]| {
            let range = ends[0]..ends[1];
            if range.len() == 1 {
                return values[range.start];
            }
            let (values, shares) = (&values[range.clone()], &shares[range]);
            let total: f64 = shares.iter().sum();
            if total > 0.0 {
                values.iter().zip(shares).map(|(value, share)| value * (share / total)).sum()
            } else {
                values.iter().sum::<f64>() / values.len() as f64
            }
        };
        self.first.windows(2).map(of).collect()
    }

    /// The grade's own step within its suspect, from the least bad.
    pub fn step(&self, grade: usize) -> usize {
        grade - self.first[self.suspect_of[grade]]
    }
}

impl super::Suspect {
    /// Into how many grades its severity is cut.
    fn grades(&self) -> usize {
        if self.ladder.and_then(|ladder| ladder.times).is_some() { GRADES } else { 1 }
    }

    /// Its ohms at a grade, beside those it is named by.
    fn times(&self, step: usize) -> f64 {
        let times = self.ladder.and_then(|ladder| ladder.times).unwrap_or(1.0);
        let middle = (GRADES / 2) as f64;
        times.powf((step as f64 - middle) / GRADES as f64)
    }
}

impl Lineup {
    /// The grades of its suspects.
    pub fn grades(&self) -> Grades {
        Grades::of(self)
    }

    /// The suspect of a grade, as its number.
    pub fn graded(&self, grades: &Grades, grade: usize) -> SuspectId {
        SuspectId(grades.suspect(grade) as u32)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::read;
    use crate::suspect::Nature;

    fn lineup() -> Lineup {
        let text = include_str!("../../circuits/start-button.yaml");
        Lineup::of(&read::read_text("start-button", text).0.unwrap())
    }

    fn ohms(damage: &[Damage]) -> f64 {
        match damage {
            [Damage::Series(_, ohms)] => *ohms,
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn the_grades_of_a_ladder_are_evenly_spaced() {
        let lineup = lineup();
        let grades = Grades::of(&lineup);
        let at = |id: &str| lineup.find(id).unwrap().index();
        let (ten, hundred) = (at("start-button.high-10"), at("start-button.high-100"));
        let all = grades.of_suspect(ten).start..grades.of_suspect(hundred).end;
        let list: Vec<f64> = all.map(|grade| ohms(&grades.damage(&lineup, grade))).collect();
        assert_eq!(list.len(), 2 * GRADES);
        for next in list.windows(2) {
            assert!((next[1] / next[0] - 10f64.powf(1.0 / GRADES as f64)).abs() < 1e-9, "{list:?}");
        }
        assert!((ohms(&grades.damage(&lineup, grades.middle(ten))) - 10.0).abs() < 1e-12);
        assert_eq!(grades.of_suspect(at("start-button.open")).len(), 1);
    }

    #[test]
    fn a_pair_has_a_grade_for_each_combination() {
        let lineup = lineup();
        let weights: Vec<f64> = lineup.suspects.iter().map(|one| one.weight).collect();
        let pairs: Vec<_> = lineup.pairs().step_by(31).collect();
        let paired = lineup.paired(&pairs, &weights);
        let grades = Grades::of(&paired);
        for (at, suspect) in paired.suspects.iter().enumerate() {
            let range = grades.of_suspect(at);
            let solved = grades.solved().iter().filter(|grade| range.contains(grade)).count();
            let Nature::Pair(one, other) = suspect.nature else {
                assert_eq!(solved, range.len());
                continue;
            };
            let count = |at: SuspectId| grades.of_suspect(at.index()).len();
            assert_eq!((solved, range.len()), (1, count(one) * count(other)));
            for grade in range {
                let (first, second) = grades.members(grade).unwrap();
                assert_eq!(
                    (grades.suspect(first), grades.suspect(second)),
                    (one.index(), other.index())
                );
            }
        }
    }

    #[test]
    fn what_is_shared_out_comes_together_again() {
        let lineup = lineup();
        let grades = Grades::of(&lineup);
        let weights: Vec<f64> = lineup.suspects.iter().map(|one| one.weight).collect();
        let shared = grades.share_out(&weights);
        for (a, b) in grades.together(&shared).iter().zip(&weights) {
            assert!((a - b).abs() < 1e-12);
        }
        let same = grades.mean(&vec![0.25; grades.count()], &shared);
        assert!(same.iter().all(|mean| (mean - 0.25).abs() < 1e-12));
    }
}
