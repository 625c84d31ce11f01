//! Everything reckoned of a circuit before the first reading, and what is reckoned later, when asked for.
//!
//! `complaint` is what the work is seen by and who would have it fail, `agenda` what the planner is shown (`choice` of
//! the tests worth it). What is asked for later is `kept`: `columns` are the expected readings, `severity` what they
//! are at each grade of a fault, `drops` the volts a sound circuit loses. `battery` is its volts at rest, `learned`
//! what the shop knew before, `paths` the ways of the current, `turns` the motors that may turn.

pub mod agenda;
pub mod battery;
pub mod choice;
pub mod columns;
pub mod complaint;
pub mod drops;
pub mod error;
pub mod kept;
pub mod learned;
pub mod paths;
pub mod severity;
pub mod turns;

use std::collections::HashMap;
use std::sync::{Arc, OnceLock};

use self::agenda::{Agenda, Facts};
use self::complaint::{fails, live};
use self::error::StudyError;
use self::kept::{Columns, Drop, Severities, WithPairs};
use self::learned::Learned;
use crate::belief::Belief;
use crate::circuit::{Circuit, PlaceId, Work};
use crate::setup::Setup;
use crate::suspect::fix::Fix;
use crate::suspect::pairs::Pair;
use crate::suspect::{Lineup, Suspect, SuspectId};
use crate::tester::enumerate::{first_setups, tests, tests_in};
use crate::tester::expectations::Bench;
use crate::tester::scope::Scope;
use crate::tester::{Instrument, Test};

/// Of a circuit with more suspects, only those that can give rise to the complaint by themselves are looked at
/// at all; what trying something else may have left behind is not.
const MOST_SUSPECTS: usize = 1_000;

/// A circuit, reckoned through as far as was asked.
///
/// Suspects and fixes keep their order for the same circuit file. `prior` is what is believed once the
/// complaint is known: the work does not come about.
///
/// The first step is planned among tests with the machine whole, as it stands for the complaint or with one
/// control let go: that takes milliseconds. What can be seen with something taken apart is reckoned when the
/// first reading is in, or before by [`Study::get_ready`]; the table of all expected readings only for those
/// who want it.
#[derive(Debug)]
pub struct Study {
    /// Circuit, suspects, and the solver's side of them.
    pub bench: Bench,
    /// Which of the circuit's works fails.
    pub complaint: usize,
    /// Probability of each suspect, given the complaint; sums to 1.
    pub prior: Vec<f64>,
    /// The same as a belief that has read nothing.
    pub start: Belief,
    /// Probability that each suspect would give rise to the complaint.
    pub shows_complaint: Vec<f64>,
    /// Weight of each suspect before the complaint is known.
    pub weights: Vec<f64>,
    /// The same circuit with pairs of its suspects, as jobs came to need them.
    pub(in crate::job) with_pairs: WithPairs<Study>,
    check_fails: OnceLock<Vec<f64>>,
    kit: Vec<Instrument>,
    /// What the shop knew before.
    learned: Arc<Learned>,
    /// The parts whose tests are thought of.
    scope: Scope,
    /// Suspects that can give rise to the complaint.
    live: Vec<bool>,
    /// The tests worth thinking of, listed when first asked for, also by studies with pairs.
    tests: Arc<OnceLock<Vec<Test>>>,
    first: Agenda,
    whole: OnceLock<Option<Agenda>>,
    with_strangers: OnceLock<Option<Agenda>>,
    /// What a sound circuit loses on the paths of the work, once it was asked for.
    drops: OnceLock<Vec<Drop>>,
    /// The expected readings, as they came to be asked for.
    readings: Columns,
    /// What was reckoned of how bad a fault is, also by studies with pairs.
    severities: Arc<Severities>,
}

impl Study {
    /// Reckons `circuit` through with `kit` at hand; `complaint` is the number of the work that fails.
    ///
    /// # Errors
    /// Where there is nothing to complain of, nothing that could cause it, or no operating point.
    pub fn new(
        circuit: &Arc<Circuit>,
        kit: &[Instrument],
        complaint: usize,
    ) -> Result<Study, StudyError> {
        Study::taught(circuit, kit, complaint, &Arc::default())
    }

    /// The same with what a shop has learnt.
    ///
    /// # Errors
    /// As [`Study::new`].
    pub fn taught(
        circuit: &Arc<Circuit>,
        kit: &[Instrument],
        complaint: usize,
        learned: &Arc<Learned>,
    ) -> Result<Study, StudyError> {
        let timed = learned.timed(circuit).map(Arc::new);
        let circuit = timed.as_ref().unwrap_or(circuit);
        let (lineup, scope) = lineup_of(circuit, complaint, learned)?;
        let weights = lineup.suspects.iter().map(|suspect| suspect.weight).collect();
        let learned = Arc::clone(learned);
        Study::weighing(
            Setting { circuit, kit, complaint, learned, lineup, scope, weights, beside: None },
            true,
        )
    }

    /// The same circuit with its battery measured at rest: what that says of each suspect is in the prior,
    /// and the battery has those volts under all of them.
    ///
    /// # Errors
    /// As [`Study::new`], and where there is no battery.
    pub fn measured(&self, volts: f64) -> Result<Study, StudyError> {
        let circuit = self.circuit().with_battery_volts(volts).ok_or(StudyError::NoBattery)?;
        let test = battery::test(self.circuit()).ok_or(StudyError::NoBattery)?;
        let column = self.column(&test)?;
        let said = column.number(self.lineup(), volts);
        let ids = self.lineup().suspects.iter().map(|suspect| suspect.id.as_str());
        let by_id: HashMap<&str, f64> = ids.zip(said).collect();
        let weigh = |suspect: &Suspect| by_id.get(suspect.id.as_str()).copied().unwrap_or(0.0);
        let circuit = &Arc::new(circuit);
        let learned = Arc::clone(&self.learned);
        let (lineup, scope) = lineup_of(circuit, self.complaint, &learned)?;
        let weights = lineup.suspects.iter().map(|suspect| suspect.weight * weigh(suspect));
        let (weights, kit, complaint) = (weights.collect(), &*self.kit, self.complaint);
        Study::weighing(
            Setting { circuit, kit, complaint, learned, lineup, scope, weights, beside: None },
            true,
        )
    }

    /// The same with these pairs of its suspects; where they are not `planned` for, a plan takes them for
    /// the sound circuit.
    ///
    /// # Errors
    /// Where two faults together have no operating point.
    pub fn paired(&self, pairs: &[Pair], planned: bool) -> Result<Study, StudyError> {
        let lineup = Arc::new(self.lineup().paired(pairs, &self.weights));
        let mut weights = self.weights.clone();
        let outside = weights.pop();
        let all = weights.len()..weights.len() + pairs.len();
        weights.extend(lineup.suspects[all].iter().map(|pair| pair.weight));
        weights.extend(outside);
        let (circuit, kit, complaint) = (&self.bench.circuit, &*self.kit, self.complaint);
        let (scope, learned) = (self.scope.clone(), Arc::clone(&self.learned));
        let beside = Some(self);
        let setting = Setting { circuit, kit, complaint, learned, lineup, scope, weights, beside };
        Study::weighing(setting, planned)
    }

    /// Reckons what the complaint says of suspects with these weights.
    fn weighing(setting: Setting<'_>, plan_pairs: bool) -> Result<Study, StudyError> {
        let Setting { circuit, kit, complaint, learned, lineup, scope, weights, beside } = setting;
        let work = circuit.works.get(complaint).ok_or(StudyError::NoWork)?;
        let tried = if scope.is_whole() { &*circuit.works } else { std::slice::from_ref(work) };
        let after = || Bench::after(circuit, Arc::clone(&lineup), tried);
        let mut bench =
            beside.map_or_else(after, |base| base.bench.beside(Arc::clone(&lineup), tried))?;
        bench.slips = learned.all_slips();
        let (shows_complaint, by_mistake) = fails(&bench, work)?;
        let both = weights.iter().zip(&shows_complaint);
        let prior = normalised(both.map(|(weight, fails)| weight * fails));
        let mut live = live(&lineup, &shows_complaint, by_mistake);
        let caused = |fails: &f64| (fails - by_mistake).max(0.0);
        bench.causes = shows_complaint.iter().map(caused).collect();
        let pairs = lineup.suspects.iter().map(|suspect| suspect.pair().is_some());
        for (live, _) in live.iter_mut().zip(pairs).filter(|(_, pair)| *pair && !plan_pairs) {
            *live = false;
        }
        let facts = Facts { bench: &bench, work, prior: &prior };
        let all = || tests_in(circuit, &scope, kit, &first_setups(circuit, work));
        // Pairs come in once something was seen, when there is no first step to plan any more.
        let tests = if beside.is_none() { all() } else { Vec::new() };
        let first = Agenda::new(facts, &tests, &live)?;
        Ok(Study {
            complaint,
            start: Belief::new(&prior)?,
            prior,
            shows_complaint,
            weights,
            with_pairs: WithPairs::default(),
            check_fails: OnceLock::new(),
            kit: kit.to_vec(),
            learned,
            scope,
            live,
            tests: beside.map_or_else(Arc::default, |base| Arc::clone(&base.tests)),
            first,
            whole: OnceLock::new(),
            with_strangers: OnceLock::new(),
            drops: OnceLock::new(),
            readings: Columns::default(),
            severities: beside.map_or_else(Arc::default, |base| Arc::clone(&base.severities)),
            bench,
        })
    }

    /// The circuit.
    pub fn circuit(&self) -> &Circuit {
        &self.bench.circuit
    }

    /// The suspects and fixes.
    pub fn lineup(&self) -> &Lineup {
        &self.bench.lineup
    }

    /// What is at hand.
    pub fn kit(&self) -> &[Instrument] {
        &self.kit
    }

    /// What the shop had learnt before.
    pub fn learned(&self) -> &Learned {
        &self.learned
    }

    /// The parts whose tests are thought of.
    pub fn scope(&self) -> &Scope {
        &self.scope
    }

    /// The work that fails.
    pub fn work(&self) -> &Work {
        &self.bench.circuit.works[self.complaint]
    }

    /// What the planner is shown before anything was done.
    pub fn first_agenda(&self) -> &Agenda {
        &self.first
    }

    /// What the planner is shown later.
    pub fn whole_agenda(&self) -> &Agenda {
        self.whole.get_or_init(|| self.draw_up(&self.live)).as_ref().unwrap_or(&self.first)
    }

    /// What the planner is shown where the readings point to suspects that should not give rise to the
    /// complaint.
    pub fn agenda_with_strangers(&self) -> &Agenda {
        if self.live.iter().all(|live| *live) {
            return self.whole_agenda();
        }
        let drawn_up =
            self.with_strangers.get_or_init(|| self.draw_up(&vec![true; self.live.len()]));
        drawn_up.as_ref().unwrap_or(&self.first)
    }

    /// All tests; `None` where one of their setups has no operating point, as then those known must do.
    fn draw_up(&self, live: &[bool]) -> Option<Agenda> {
        let facts = Facts { bench: &self.bench, work: self.work(), prior: &self.prior };
        Agenda::new(facts, self.tests(), live).ok()
    }

    /// Which suspects can give rise to the complaint.
    pub(in crate::job) fn live(&self) -> &[bool] {
        &self.live
    }

    /// The tests worth thinking of.
    fn tests(&self) -> &[Test] {
        self.tests.get_or_init(|| tests(self.circuit(), &self.scope, &self.kit))
    }

    /// Reckons what the step after the first reading will need.
    pub fn get_ready(&self) {
        self.whole_agenda();
    }

    /// Whether that was reckoned.
    pub fn is_ready(&self) -> bool {
        self.whole.get().is_some()
    }

    /// The setup the check of a repair ends in.
    pub fn check_setup(&self) -> Setup {
        Setup::for_work(self.circuit(), self.work())
    }

    /// What a proof tries, in this order: what failed, then all else that should work.
    pub fn proof(&self) -> impl Iterator<Item = &Work> {
        let first = self.work();
        let rest = self.circuit().works.iter().filter(|work| work.id != first.id);
        std::iter::once(first).chain(rest)
    }

    /// The setup that a proof without a fault ends in.
    pub fn proven_setup(&self) -> Setup {
        let last = self.proof().last().unwrap_or(self.work());
        Setup::for_work(self.circuit(), last)
    }

    /// Probability that the check of a repair fails, everything that should work being tried, when this is
    /// what is left.
    pub fn fails_check(&self, left: SuspectId) -> f64 {
        let all = || {
            let mut works = vec![1.0; self.lineup().suspects.len()];
            for work in &self.circuit().works {
                // A work without an operating point proves nothing.
                let Ok((fails, _)) = fails(&self.bench, work) else { continue };
                for (works, fails) in works.iter_mut().zip(fails) {
                    *works *= 1.0 - fails;
                }
            }
            works.iter().map(|works| 1.0 - works).collect()
        };
        self.check_fails.get_or_init(all)[left.index()]
    }

    /// Minutes of the check after a repair, from the setup of the complaint's work.
    pub fn check_minutes(&self) -> f64 {
        agenda::check_minutes(self.circuit(), self.work())
    }

    /// Places that must be open for a fix.
    pub fn fix_places(&self, fix: &Fix) -> Vec<PlaceId> {
        agenda::fix_places(self.circuit(), fix)
    }

    /// How the machine stands for a fix.
    pub fn fix_setup(&self, fix: &Fix) -> Setup {
        agenda::fix_setup(self.circuit(), fix)
    }
}

/// What a study is made from.
struct Setting<'a> {
    circuit: &'a Arc<Circuit>,
    kit: &'a [Instrument],
    complaint: usize,
    learned: Arc<Learned>,
    lineup: Arc<Lineup>,
    scope: Scope,
    weights: Vec<f64>,
    /// The study of the same suspects without their pairs.
    beside: Option<&'a Study>,
}

/// The suspects of a circuit and the parts to look at: all, unless there are more than anybody could list.
fn lineup_of(
    circuit: &Arc<Circuit>,
    complaint: usize,
    learned: &Learned,
) -> Result<(Arc<Lineup>, Scope), StudyError> {
    let work = circuit.works.get(complaint).ok_or(StudyError::NoWork)?;
    let mut all = Lineup::of(circuit);
    learned.weigh(&mut all);
    let all = Arc::new(all);
    if all.suspects.len() <= MOST_SUSPECTS {
        return Ok((all, Scope::whole()));
    }
    let untried = Bench::untried(circuit, Arc::clone(&all));
    let (shows_complaint, by_mistake) = fails(&untried, work)?;
    let some = all.only(&live(&all, &shows_complaint, by_mistake));
    let scope = Scope::of(circuit, &some);
    Ok((Arc::new(some), scope))
}

/// Scales weights to sum to 1.
pub fn normalised(weights: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut list: Vec<f64> = weights.collect();
    let sum: f64 = list.iter().sum();
    for share in &mut list {
        *share /= sum;
    }
    list
}
