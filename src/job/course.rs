//! Belief, machine and minutes in the course of a job: what every reading and repair changes.

pub mod believed;
pub mod doubt;
pub mod pairs;
pub mod proposal;
pub mod taken;

use std::collections::BTreeSet;
use std::sync::{Arc, OnceLock};

use crate::belief::Reading;
use crate::circuit::{PartId, PlaceId};
use crate::setup::{Setup, moves};
use crate::suspect::SuspectId;
use crate::tester::expectations::{Column, Likelihood, Seen};
use crate::tester::{Instrument, Test, Tester};

use self::believed::{Believed, Told};
use self::taken::Taken;
use super::study::Study;

/// What is left of a suspect when the repair that cures it did not: the repair may have been
/// done badly (common practice, no source).
const BAD_REPAIR: f64 = 0.01;

/// A repair with more than this share was not a cheap try.
const FOUND: f64 = 0.3;

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
    /// A repair of what seemed found did not cure.
    pub found_in_vain: bool,
    /// The readings that count, oldest first.
    evidence: Vec<Taken>,
    /// What the last look was taken with, while nothing else was done since.
    pub in_hand: Option<Tester>,
    /// What each repair in vain says.
    in_vain: Vec<Reading>,
    /// What is left by now of each suspect: of a pair one fault, once the other was mended.
    present: Arc<[usize]>,
    /// Parts that were replaced lately.
    replaced: BTreeSet<PartId>,
    /// What all this makes one believe, once it was asked for; emptied by all that moves it.
    believed: OnceLock<Believed>,
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
            found_in_vain: false,
            evidence: Vec::new(),
            in_hand: None,
            in_vain: Vec::new(),
            present: (0..study.lineup().suspects.len()).collect(),
            replaced: BTreeSet::new(),
            believed: OnceLock::new(),
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

    /// How the machine stands now: every look and every proof ends with letting go of what springs back.
    pub fn stands(&self) -> Setup {
        self.setup.let_go(self.study.circuit())
    }

    fn go(&mut self, setup: &Setup, places: &[PlaceId]) {
        self.minutes += self.minutes_to(setup, places);
        for place in places {
            self.opened[place.index()] = true;
        }
        self.setup = setup.clone();
    }

    /// A reading was taken: one or the other of these was seen, which stands for the outcome at this position.
    ///
    /// One that is taken once more and shows something else takes the place of the earlier one, as somebody
    /// looked again on purpose; one that shows the same again counts for little, and after a repair for little
    /// beside suspects that the repair left as they were.
    pub fn read(&mut self, column: &Column, seen: &[Seen], outcome: usize) {
        self.believed = OnceLock::new();
        self.minutes += column.test.minutes;
        let (setup, places) = (column.test.setup.clone(), column.test.places.clone());
        self.go(&setup, &places);
        self.tests += 1;
        self.in_hand = Some(column.test.tester);
        self.spent.push(column.test.id.clone());
        let now = (self.fixes.len(), Arc::clone(&self.present));
        let mut taken = Taken::new(self.study, (column, seen, outcome), now);
        let same = |one: &&mut Taken| one.test == taken.test;
        let all = self.evidence.iter_mut().filter(same);
        match all.max_by_key(|one| one.stage) {
            Some(before) if before.stage == taken.stage && before.outcome == outcome => {
                before.once_more(taken);
            }
            Some(before) if before.stage == taken.stage => *before = taken,
            Some(before) if before.outcome == outcome => {
                taken.after_a_repair(before);
                self.evidence.push(taken);
            }
            _ => self.evidence.push(taken),
        }
    }

    /// Something was seen before the job: a reading that took no minutes and moved nothing.
    ///
    /// It is of the machine as it was at first, whatever was mended since.
    pub fn told(&mut self, column: &Column, seen: &[Seen], outcome: usize) {
        self.believed = OnceLock::new();
        let test = column.test.id.clone();
        self.spent.push(test.clone());
        self.evidence.retain(|one| one.test != test || one.stage > 0);
        let at_first = (0, (0..self.present.len()).collect());
        self.evidence.push(Taken::new(self.study, (column, seen, outcome), at_first));
    }

    /// A part was replaced lately.
    pub fn renewed(&mut self, part: PartId) {
        self.believed = OnceLock::new();
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
        let of_part = |part: PartId| match part {
            part if self.replaced.contains(&part) => NEW_PART,
            part if touched.contains(&part) => DISTURBED,
            _ => 1.0,
        };
        let lineup = self.study.lineup();
        let ids = (0..lineup.suspects.len() as u32).map(SuspectId);
        let said = ids.map(|at| lineup.parts_of(at).map(of_part).product::<f64>());
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
        self.in_hand = None;
        if cured {
            self.fixes.push((fix, true));
            // The proof went on to all else that should work.
            self.setup = study.proven_setup();
        } else {
            self.failed_check(fix);
        }
    }

    /// The check after a fix has failed: it goes on the list of those tried, and counts.
    pub fn failed_check(&mut self, fix: usize) {
        self.fixes.push((fix, false));
        self.failed(fix);
    }

    /// The check after a fix has failed: what that says, and what is left now.
    fn failed(&mut self, fix: usize) {
        let lineup = self.study.lineup();
        self.found_in_vain = self.found_in_vain || self.fix_shares(&self.belief())[fix] > FOUND;
        let id = |at: usize| SuspectId(at as u32);
        let mut left = self.present.to_vec();
        for now in &mut left {
            if let Some((one, other)) = lineup.suspects[*now].pair()
                && lineup.mends(fix, id(*now))
            {
                let mended = lineup.suspects[one.index()].fix.index() == fix;
                *now = if mended { other } else { one }.index();
            }
        }
        let fails = |(&before, &now): (&usize, &usize)| {
            if before != now {
                self.study.fails_check(id(now)).max(BAD_REPAIR)
            } else if lineup.mends(fix, id(now)) {
                BAD_REPAIR
            } else {
                1.0
            }
        };
        self.believed = OnceLock::new();
        self.in_vain.push(Reading::sure(self.present.iter().zip(&left).map(fails).collect()));
        if left[..] != self.present[..] {
            // The machine is another one now: what was read may be read anew.
            let read = |test: &String| self.evidence.iter().any(|one| one.test == *test);
            let spent = std::mem::take(&mut self.spent);
            self.spent = spent.into_iter().filter(|test| !read(test)).collect();
            self.present = left.into();
        }
    }

    /// Probability of each suspect as the machine is now; sums to 1.
    pub fn belief(&self) -> Vec<f64> {
        self.as_of_now(&self.believed().shares)
    }

    /// The same, as if one test had not been read.
    pub fn belief_without(&self, test: &str) -> Vec<f64> {
        self.as_of_now(&self.believed_without(test).shares)
    }

    fn as_of_now(&self, at_first: &[f64]) -> Vec<f64> {
        let mut shares = vec![0.0; self.present.len()];
        for (share, &now) in at_first.iter().zip(&*self.present) {
            shares[now] += share;
        }
        shares
    }

    /// The same once `fix` has passed its check: only what it mends can have been there.
    pub fn settled(&self, fix: usize) -> Vec<f64> {
        let lineup = self.study.lineup();
        let mut shares = self.belief();
        for (at, share) in shares.iter_mut().enumerate() {
            if !lineup.mends(fix, SuspectId(at as u32)) {
                *share = 0.0;
            }
        }
        let total: f64 = shares.iter().sum();
        if total <= 0.0 {
            return self.belief();
        }
        shares.iter().map(|share| share / total).collect()
    }

    /// Belief in what was wrong at first: prior, readings, then the repairs that did not cure.
    pub fn believed(&self) -> &Believed {
        self.believed.get_or_init(|| Believed::of(&self.told_so_far(), None))
    }

    /// The same, as if one test had not been read.
    pub fn believed_without(&self, test: &str) -> Believed {
        Believed::of(&self.told_so_far(), Some(test))
    }

    fn told_so_far(&self) -> Told<'_> {
        Told {
            study: self.study,
            evidence: &self.evidence,
            present: &self.present,
            renewal: self.renewal(),
            in_vain: &self.in_vain,
        }
    }

    /// How likely each grade of the severity of a suspect is by now; `None` where no reading has told.
    pub(super) fn grades(&self, suspect: usize) -> Option<Vec<f64>> {
        self.believed().grades(&self.present, suspect)
    }

    /// How likely each outcome of a test is by now, `[outcome][suspect]`.
    pub fn foretold(&self, column: &Column) -> Likelihood {
        let study = self.study;
        let now = |suspect| self.grades(suspect).unwrap_or_else(|| study.severity(suspect));
        study.over_grades(column, &study.graded(column), now)
    }

    /// The readings that count, oldest first.
    pub fn evidence(&self) -> &[Taken] {
        &self.evidence
    }

    /// Probability that each fix is needed.
    pub fn fix_shares(&self, belief: &[f64]) -> Vec<f64> {
        self.study.lineup().fix_shares(belief)
    }

    /// Probability that a fix alone does not do: another fault is there beside what it mends.
    pub fn half_cured(&self, belief: &[f64], fix: usize) -> f64 {
        let lineup = self.study.lineup();
        let of_two = |at: usize| {
            lineup.suspects[at].pair().is_some() && lineup.mends(fix, SuspectId(at as u32))
        };
        (0..belief.len()).filter(|&at| of_two(at)).map(|at| belief[at]).sum()
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
