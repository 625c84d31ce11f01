//! Everything reckoned of a circuit once, before the first reading: suspects, tests, expected
//! readings, and the planner's problem made of them.

use std::collections::HashMap;
use std::sync::Arc;

use crate::belief::{Belief, BeliefError};
use crate::circuit::{Circuit, PlaceId, Work};
use crate::plan::prepared::Prepared;
use crate::plan::problem::{self, Goal, Problem};
use crate::setup::moves;
use crate::setup::{Setup, battery_place};
use crate::suspect::fix::{self, Fix};
use crate::suspect::{Lineup, Nature};
use crate::tester::enumerate::{make, sense_for, tests};
use crate::tester::expectations::{Bench, BenchError, Column};
use crate::tester::scale::Scale;
use crate::tester::{Instrument, Target, Test};

use super::choice::worth_planning;

/// Minutes reckoned for handing a job on unsolved: more than any repair (common practice, no source).
pub const HAND_ON_MINUTES: f64 = 240.0;
/// Minutes to see whether the machine works once it stands right.
const LOOK_MINUTES: f64 = 0.3;

/// A circuit, reckoned through.
///
/// Columns, suspects and fixes keep their order for the same circuit file and kit. `prior` is what
/// is believed once the complaint is known: the work does not come about.
#[derive(Debug)]
pub struct Study {
    /// Circuit, suspects, and the solver's side of them.
    pub bench: Bench,
    /// The expected readings.
    pub columns: Vec<Column>,
    /// Which of the circuit's works fails.
    pub complaint: usize,
    /// Probability of each suspect, given the complaint; sums to 1.
    pub prior: Vec<f64>,
    /// The same as a belief that has read nothing.
    pub start: Belief,
    /// Probability that each suspect would give rise to the complaint.
    pub shows_complaint: Vec<f64>,
    /// The setups the planner knows, by its mode numbers.
    pub modes: Vec<Setup>,
    /// Columns the planner chooses from, by its test numbers.
    pub planned: Vec<usize>,
    /// Fixes the planner chooses from, by its fix numbers: positions in the line-up.
    pub planned_fixes: Vec<usize>,
    /// The planner's problem.
    pub prepared: Prepared,
    by_id: HashMap<String, usize>,
}

/// Why a circuit cannot be studied.
#[derive(Debug, thiserror::Error)]
pub enum StudyError {
    /// No operating point.
    #[error(transparent)]
    Bench(#[from] BenchError),
    /// The file names nothing that should work, so there is nothing to complain of.
    #[error("the circuit names nothing that should work; add a `works` entry")]
    NoWork,
    /// No suspect gives rise to the complaint.
    #[error("nothing known here would make this fail: {0}")]
    Belief(#[from] BeliefError),
    /// The planner's problem does not hold together.
    #[error("the plan cannot be made: {0}")]
    Problem(#[from] problem::ProblemError),
}

impl Study {
    /// Reckons `circuit` through with `kit` at hand; `complaint` is the number of the work that fails.
    pub fn new(
        circuit: &Arc<Circuit>,
        kit: &[Instrument],
        complaint: usize,
    ) -> Result<Study, StudyError> {
        let lineup = Arc::new(Lineup::of(circuit));
        let bench = Bench::new(circuit, Arc::clone(&lineup))?;
        let work = circuit.works.get(complaint).ok_or(StudyError::NoWork)?;
        let shows_complaint = fails(&bench, work)?;
        let prior = normalised(
            lineup.suspects.iter().zip(&shows_complaint).map(|(one, fails)| one.weight * fails),
        );
        let columns = bench.columns(&tests(circuit, kit))?;
        let by_id = columns.iter().enumerate().map(|(at, one)| (one.test.id.clone(), at)).collect();
        let planned = worth_planning(circuit, &columns, &lineup, &prior);
        let modes = modes(circuit, work, planned.iter().map(|&at| &columns[at].test));
        let planned_fixes: Vec<usize> = (0..lineup.fixes.len())
            .filter(|&at| lineup.fixes[at].work != fix::Work::HandOn)
            .collect();
        let parts = Parts { bench: &bench, work, modes: &modes };
        let problem = Problem {
            priors: prior.clone(),
            class_of: lineup.suspects.iter().map(|suspect| suspect.fix.0).collect(),
            tests: planned.iter().map(|&at| parts.test(&columns[at])).collect(),
            fixes: planned_fixes.iter().map(|&at| parts.fix(at)).collect(),
            batches: Vec::new(),
            switch_minutes: parts.switches(),
            place_minutes: circuit.places.iter().map(|place| place.open_minutes).collect(),
            place_parent: vec![None; circuit.places.len()],
            goal: Goal::Repair { give_up_minutes: Some(HAND_ON_MINUTES) },
        };
        let prepared = Prepared::new(&problem)?;
        Ok(Study {
            bench,
            columns,
            complaint,
            start: Belief::new(&prior)?,
            prior,
            shows_complaint,
            modes,
            planned,
            planned_fixes,
            prepared,
            by_id,
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

    /// The work that fails.
    pub fn work(&self) -> &Work {
        &self.bench.circuit.works[self.complaint]
    }

    /// The column of a test that `expect` lists.
    pub fn column(&self, id: &str) -> Option<&Column> {
        self.by_id.get(id).map(|&at| &self.columns[at])
    }

    /// The setup the check of a repair ends in.
    pub fn check_setup(&self) -> Setup {
        Setup::for_work(self.circuit(), self.work())
    }

    /// Minutes of the check after a repair, from the setup of the complaint's work.
    pub fn check_minutes(&self) -> f64 {
        check_minutes(self.circuit(), self.work())
    }

    /// Places that must be open for a fix.
    pub fn fix_places(&self, fix: &Fix) -> Vec<PlaceId> {
        fix_places(self.circuit(), fix)
    }

    /// How the machine stands for a fix.
    pub fn fix_setup(&self, fix: &Fix) -> Setup {
        fix_setup(self.circuit(), fix)
    }
}

/// The tests by which a work is seen, and the outcome each should show.
pub fn sights(circuit: &Circuit, work: &Work) -> Vec<(Test, usize)> {
    let setup = Setup::for_work(circuit, work);
    let sight = |sight: &crate::circuit::Sight| {
        let tester = sense_for(&circuit.parts[sight.part.index()].kind)?;
        let test = make(circuit, tester, Target::Part(sight.part), &setup).ok()?;
        let should = match (sight.acts, test.scale) {
            (false, _) => 0,
            (true, Scale::Click) => 1,
            (true, _) => 2,
        };
        Some((test, should))
    };
    work.see.iter().filter_map(sight).collect()
}

/// Probability under each suspect that `work` is seen to fail.
fn fails(bench: &Bench, work: &Work) -> Result<Vec<f64>, BenchError> {
    let sights = sights(&bench.circuit, work);
    let tests: Vec<Test> = sights.iter().map(|(test, _)| test.clone()).collect();
    let columns = bench.columns(&tests)?;
    let comes_about = |suspect: usize| -> f64 {
        columns
            .iter()
            .zip(&sights)
            .map(|(column, (_, should))| column.likelihood[*should][suspect])
            .product()
    };
    Ok(bench
        .lineup
        .suspects
        .iter()
        .enumerate()
        .map(|(at, suspect)| match suspect.nature {
            // What was wrong may have gone: the complaint was true when it was made.
            Nature::Sound | Nature::Outside => 1.0,
            Nature::Fault => 1.0 - comes_about(at),
        })
        .collect())
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

fn modes<'a>(circuit: &Circuit, work: &Work, tests: impl Iterator<Item = &'a Test>) -> Vec<Setup> {
    let rest = Setup::rest(circuit);
    let mut dead = rest.clone();
    dead.ground_off = true;
    let mut modes = vec![rest, dead, Setup::for_work(circuit, work)];
    modes.extend(tests.map(|test| test.setup.clone()));
    let mut seen = std::collections::HashSet::new();
    modes.retain(|setup| seen.insert(setup.clone()));
    modes
}

fn check_minutes(circuit: &Circuit, first: &Work) -> f64 {
    let mut at = Setup::for_work(circuit, first);
    let mut minutes = LOOK_MINUTES;
    for work in circuit.works.iter().filter(|work| work.id != first.id) {
        let next = Setup::for_work(circuit, work);
        minutes += moves::minutes(circuit, &at, &next) + LOOK_MINUTES;
        at = next;
    }
    minutes
}

fn fix_setup(circuit: &Circuit, fix: &Fix) -> Setup {
    let mut setup = Setup::rest(circuit);
    setup.ground_off = fix.ground_off;
    setup
}

fn fix_places(circuit: &Circuit, fix: &Fix) -> Vec<PlaceId> {
    let ends = fix.part.into_iter().filter_map(|part| circuit.parts[part.index()].links.first());
    let ends = ends.filter_map(|&link| circuit.graph.edge_endpoints(link));
    let ends = ends.flat_map(|(from, to)| [circuit.graph[from].place, circuit.graph[to].place]);
    let mut places: Vec<PlaceId> = fix.place.into_iter().chain(ends.flatten()).collect();
    places.extend(fix.ground_off.then(|| battery_place(circuit)).flatten());
    places.sort_unstable();
    places.dedup();
    places
}

/// What the planner's lists are made from.
struct Parts<'a> {
    bench: &'a Bench,
    work: &'a Work,
    modes: &'a [Setup],
}

impl Parts<'_> {
    fn mode(&self, setup: &Setup) -> u32 {
        self.modes.iter().position(|mode| mode == setup).unwrap_or(0) as u32
    }

    fn test(&self, column: &Column) -> problem::Test {
        problem::Test {
            minutes: column.test.minutes,
            mode: self.mode(&column.test.setup),
            places: column.test.places.iter().map(|place| place.0).collect(),
            likelihood: column.likelihood.clone(),
            proof: None,
        }
    }

    fn fix(&self, at: usize) -> problem::Fix {
        let circuit = &self.bench.circuit;
        let fix = &self.bench.lineup.fixes[at];
        let cures = |suspect: &crate::suspect::Suspect| {
            if suspect.fix.index() == at { 1.0 } else { 0.0 }
        };
        problem::Fix {
            minutes: fix.minutes,
            mode: self.mode(&fix_setup(circuit, fix)),
            places: fix_places(circuit, fix).iter().map(|place| place.0).collect(),
            cures: self.bench.lineup.suspects.iter().map(cures).collect(),
            check_minutes: check_minutes(circuit, self.work),
            check_mode: self.mode(&Setup::for_work(circuit, self.work)),
        }
    }

    fn switches(&self) -> Vec<Vec<f64>> {
        let row = |from: &Setup| {
            self.modes.iter().map(|to| moves::minutes(&self.bench.circuit, from, to)).collect()
        };
        self.modes.iter().map(row).collect()
    }
}
