//! Belief, machine and minutes in the course of a job: what every reading and repair changes.

use std::collections::BTreeMap;

use crate::belief::{Belief, Reading};
use crate::circuit::PlaceId;
use crate::setup::{Setup, moves};
use crate::suspect::{Lineup, Suspect};
use crate::tester::expectations::Column;
use crate::tester::{Instrument, Test};

use super::study::Study;

/// What is left of a suspect when the repair that cures it did not: the repair may have been
/// done badly (common practice, no source).
const BAD_REPAIR: f64 = 0.01;

/// How far a job has come: what is believed, how the machine stands, what was spent.
#[derive(Debug, Clone)]
pub struct Course<'a> {
    /// The circuit, reckoned through.
    pub study: &'a Study,
    /// How the machine stands.
    pub setup: Setup,
    /// Which places are open.
    pub opened: Vec<bool>,
    /// Minutes reckoned so far.
    pub minutes: f64,
    /// Readings taken.
    pub tests: usize,
    /// Fixes tried, in order, and whether they cured.
    pub fixes: Vec<(usize, bool)>,
    /// Tests that are not to be proposed again.
    pub spent: Vec<String>,
    /// Places that cannot be reached.
    pub unreachable: Vec<PlaceId>,
    /// Testers that are not at hand.
    pub missing: Vec<Instrument>,
    /// Fixes that are not to be proposed now.
    pub put_off: Vec<usize>,
    /// The latest reading of each test.
    evidence: BTreeMap<String, Reading>,
}

/// What it says when `column` shows the outcome at this position.
pub fn named(column: &Column, outcome: usize) -> Reading {
    let mistaken = column.slip / column.outcomes.len() as f64;
    Reading { likelihood: column.likelihood[outcome].clone(), mistaken }
}

/// What it says when `column` shows this number, in the test's unit.
pub fn numbered(column: &Column, lineup: &Lineup, typed: f64) -> Reading {
    let scale = column.test.scale;
    Reading { likelihood: column.number(lineup, typed), mistaken: column.slip / scale.width() }
}

impl<'a> Course<'a> {
    /// Before anything was done.
    pub fn new(study: &'a Study) -> Course<'a> {
        Course {
            study,
            setup: Setup::rest(study.circuit()),
            opened: vec![false; study.circuit().places.len()],
            minutes: 0.0,
            tests: 0,
            fixes: Vec::new(),
            spent: Vec::new(),
            unreachable: Vec::new(),
            missing: Vec::new(),
            put_off: Vec::new(),
            evidence: BTreeMap::new(),
        }
    }

    /// Minutes that going to `setup` with these places open adds now.
    pub fn minutes_to(&self, setup: &Setup, places: &[PlaceId]) -> f64 {
        let opening: f64 = places
            .iter()
            .filter(|place| !self.opened[place.index()])
            .map(|place| self.study.circuit().places[place.index()].open_minutes)
            .sum();
        opening + moves::minutes(self.study.circuit(), &self.setup, setup)
    }

    /// Minutes that a test adds now.
    pub fn test_minutes(&self, test: &Test) -> f64 {
        test.minutes + self.minutes_to(&test.setup, &test.places)
    }

    /// Minutes that a fix and its check add now.
    pub fn fix_minutes(&self, fix: usize) -> f64 {
        let study = self.study;
        let fix = &study.lineup().fixes[fix];
        let stand = study.fix_setup(fix);
        let back = moves::minutes(study.circuit(), &stand, &study.check_setup());
        self.minutes_to(&stand, &study.fix_places(fix)) + fix.minutes + back + study.check_minutes()
    }

    fn go(&mut self, setup: &Setup, places: &[PlaceId]) {
        self.minutes += self.minutes_to(setup, places);
        for place in places {
            self.opened[place.index()] = true;
        }
        self.setup = setup.clone();
    }

    /// A reading was taken. A later reading of the same test takes the place of the earlier one.
    pub fn read(&mut self, column: &Column, reading: Reading) {
        self.minutes += column.test.minutes;
        let (setup, places) = (column.test.setup.clone(), column.test.places.clone());
        self.go(&setup, &places);
        self.tests += 1;
        self.spent.push(column.test.id.clone());
        self.evidence.insert(column.test.id.clone(), reading);
    }

    /// A fix was done and its check run.
    pub fn tried(&mut self, fix: usize, cured: bool) {
        let study = self.study;
        let repair = &study.lineup().fixes[fix];
        self.go(&study.fix_setup(repair), &study.fix_places(repair));
        self.minutes += repair.minutes;
        self.go(&study.check_setup(), &[]);
        self.minutes += study.check_minutes();
        self.fixes.push((fix, cured));
    }

    /// Probability of each suspect; sums to 1.
    pub fn belief(&self) -> Vec<f64> {
        self.believed(None).shares()
    }

    /// The same, as if one test had not been read.
    pub fn belief_without(&self, test: &str) -> Vec<f64> {
        self.believed(Some(test)).shares()
    }

    /// Prior, readings in the order of their tests' ids, then the repairs that did not cure.
    pub fn believed(&self, left_out: Option<&str>) -> Belief {
        let study = self.study;
        let mut belief = study.start.clone();
        let counted = self.evidence.iter().filter(|(test, _)| left_out != Some(test.as_str()));
        let in_vain = self.fixes.iter().filter(|(_, cured)| !cured).map(|&(fix, _)| {
            let left =
                |suspect: &Suspect| if suspect.fix.index() == fix { BAD_REPAIR } else { 1.0 };
            Reading::sure(study.lineup().suspects.iter().map(left).collect())
        });
        for reading in counted.map(|(_, reading)| reading.clone()).chain(in_vain) {
            // Every reading leaves `outside` possible, so none is refused.
            let _ = belief.read(reading);
        }
        belief
    }

    /// The readings that count, by test id.
    pub fn evidence(&self) -> &BTreeMap<String, Reading> {
        &self.evidence
    }

    /// Probability of each fix: the suspicion on all it cures.
    pub fn fix_shares(&self, belief: &[f64]) -> Vec<f64> {
        let mut shares = vec![0.0; self.study.lineup().fixes.len()];
        for (share, suspect) in belief.iter().zip(&self.study.lineup().suspects) {
            shares[suspect.fix.index()] += share;
        }
        shares
    }

    /// A test may be proposed: not done, reachable, its tester at hand.
    pub fn allows(&self, test: &Test) -> bool {
        !self.spent.contains(&test.id)
            && !test.instruments().any(|one| self.missing.contains(&one))
            && !test.places.iter().any(|place| self.unreachable.contains(place))
    }

    /// A fix may be proposed: not tried in vain, not put off.
    pub fn allows_fix(&self, fix: usize) -> bool {
        !self.put_off.contains(&fix) && !self.fixes.iter().any(|&(tried, _)| tried == fix)
    }

    /// Nothing was done, seen or left out yet.
    pub fn is_fresh(&self) -> bool {
        self.tests == 0
            && self.fixes.is_empty()
            && self.spent.is_empty()
            && self.put_off.is_empty()
            && self.missing.is_empty()
    }
}
