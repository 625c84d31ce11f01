//! Belief, machine and minutes in the course of a job: what every reading and repair changes.

use std::collections::{BTreeMap, BTreeSet};

use crate::belief::{Belief, Reading};
use crate::circuit::{PartId, PlaceId};
use crate::setup::{Setup, moves};
use crate::suspect::{Lineup, Suspect};
use crate::tester::expectations::Column;
use crate::tester::{Instrument, Test};

use super::study::Study;

/// What is left of a suspect when the repair that cures it did not: the repair may have been
/// done badly (common practice, no source).
const BAD_REPAIR: f64 = 0.01;

/// How likely a part that was replaced lately is the bad one, beside one that was not: new parts fail too,
/// and some are the wrong ones (common practice, no source).
const NEW_PART: f64 = 0.15;
/// How likely what a replaced part is joined to is the bad one: it was pulled about for the work (common
/// practice, no source).
const DISTURBED: f64 = 2.0;

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
    /// Parts that were replaced lately.
    replaced: BTreeSet<PartId>,
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
            replaced: BTreeSet::new(),
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

    /// Something was seen before the job: a reading that took no minutes and moved nothing.
    pub fn told(&mut self, column: &Column, reading: Reading) {
        self.spent.push(column.test.id.clone());
        self.evidence.insert(column.test.id.clone(), reading);
    }

    /// A part was replaced lately.
    pub fn renewed(&mut self, part: PartId) {
        self.replaced.insert(part);
    }

    /// A place can be reached, or cannot.
    pub fn reach(&mut self, place: PlaceId, can: bool) {
        self.unreachable.retain(|one| *one != place);
        if !can {
            self.unreachable.push(place);
        }
    }

    /// A tester is at hand, or is not.
    pub fn equip(&mut self, tester: Instrument, at_hand: bool) {
        self.missing.retain(|one| *one != tester);
        if !at_hand {
            self.missing.push(tester);
        }
    }

    /// How many times likelier the parts replaced lately make a suspect, beside one they do not touch.
    pub fn renewal_of(&self, suspect: usize) -> f64 {
        self.renewal().map_or(1.0, |said| said.likelihood[suspect] * DISTURBED)
    }

    /// What the parts replaced lately say of each suspect.
    fn renewal(&self) -> Option<Reading> {
        if self.replaced.is_empty() {
            return None;
        }
        let circuit = self.study.circuit();
        let touched: BTreeSet<PartId> = self
            .replaced
            .iter()
            .flat_map(|part| &circuit.parts[part.index()].terminals)
            .flat_map(|&at| circuit.links_at(at))
            .map(|(link, _)| circuit.link(link).part)
            .collect();
        let weight = |suspect: &Suspect| match suspect.part {
            Some(part) if self.replaced.contains(&part) => NEW_PART,
            Some(part) if touched.contains(&part) => DISTURBED,
            _ => 1.0,
        };
        let said = self.study.lineup().suspects.iter().map(weight);
        Some(Reading::sure(said.map(|weight| weight / DISTURBED).collect()))
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
        let counted = counted.map(|(_, reading)| reading.clone());
        for reading in counted.chain(in_vain).chain(self.renewal()) {
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
            && self.unreachable.is_empty()
    }
}
