//! What the planner is shown: the tests worth planning with, the repairs, and how the machine stands for them.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use super::choice::worth_planning;
use super::error::StudyError;
use crate::circuit::{Circuit, PlaceId, Work};
use crate::plan::prepared::Prepared;
use crate::plan::problem::{self, Goal, Problem};
use crate::setup::{Setup, battery_place, moves};
use crate::suspect::SuspectId;
use crate::suspect::fix::{self, Fix};
use crate::tester::Test;
use crate::tester::expectations::{Bench, Likelihood};
use crate::tester::scale::Shown;

/// Minutes reckoned for handing a job on unsolved: more than any repair (common practice, no source).
pub const HAND_ON_MINUTES: f64 = 240.0;

/// Minutes to see whether the machine works once it stands right.
const LOOK_MINUTES: f64 = 0.3;

/// A planner's problem, and what its numbers stand for.
#[derive(Debug)]
pub struct Agenda {
    /// The tests, by the planner's test numbers.
    pub tests: Vec<Test>,
    /// Positions in the line-up of the fixes, by the planner's fix numbers.
    pub fixes: Vec<usize>,
    /// The setups, by the planner's mode numbers.
    pub modes: Vec<Setup>,
    /// The problem.
    pub prepared: Prepared,
    /// Edges between the outcomes of each test.
    pub(in crate::job) edges: Vec<Vec<f64>>,
    /// What the tests show at each grade of a suspect's severity, as it came to be asked for.
    graded: Mutex<HashMap<usize, Option<Arc<Graded>>>>,
}

/// For each test what it shows at each grade.
pub(in crate::job) type Graded = Vec<Vec<Shown>>;

/// What an agenda is drawn up from.
#[derive(Debug, Clone, Copy)]
pub struct Facts<'a> {
    /// The circuit and its suspects.
    pub bench: &'a Bench,
    /// The work that fails.
    pub work: &'a Work,
    /// Probability of each suspect before any reading.
    pub prior: &'a [f64],
}

impl Agenda {
    /// The tests among `tests` that are worth planning with, and all fixes. Suspects that are not `live`
    /// are taken to show what the sound circuit does.
    ///
    /// # Errors
    /// Where a setup has no operating point, or the problem does not hold together.
    pub fn new(facts: Facts<'_>, tests: &[Test], live: &[bool]) -> Result<Agenda, StudyError> {
        let Facts { bench, work, prior } = facts;
        let circuit = &*bench.circuit;
        let sketches = bench.sketch(tests, live)?;
        let (edges, mut columns): (Vec<Vec<f64>>, Vec<Likelihood>) =
            sketches.into_iter().map(|sketch| (sketch.edges, sketch.likelihood)).unzip();
        let planned = worth_planning(circuit, (tests, &columns), &bench.lineup, prior);
        let modes = modes(circuit, work, planned.iter().map(|&at| &tests[at]));
        let fixes: Vec<usize> = (0..bench.lineup.fixes.len())
            .filter(|&at| bench.lineup.fixes[at].work != fix::Work::HandOn)
            .collect();
        let parts = Parts { bench, work, modes: &modes };
        let problem = Problem {
            priors: prior.to_vec(),
            class_of: bench.lineup.suspects.iter().map(|suspect| suspect.fix.0).collect(),
            tests: planned
                .iter()
                .map(|&at| parts.test(&tests[at], std::mem::take(&mut columns[at])))
                .collect(),
            fixes: fixes.iter().map(|&at| parts.fix(at)).collect(),
            batches: Vec::new(),
            switch_minutes: parts.switches(),
            place_minutes: circuit.places.iter().map(|place| place.open_minutes).collect(),
            place_parent: vec![None; circuit.places.len()],
            goal: Goal::Repair { give_up_minutes: Some(HAND_ON_MINUTES) },
        };
        let prepared = Prepared::new(&problem)?;
        let edges = planned.iter().map(|&at| edges[at].clone()).collect();
        let tests = planned.into_iter().map(|at| tests[at].clone()).collect();
        Ok(Agenda { tests, fixes, modes, prepared, edges, graded: Mutex::default() })
    }

    /// What the tests show at each grade of a suspect's severity; `None` where it has none.
    pub(in crate::job) fn graded(&self, bench: &Bench, suspect: usize) -> Option<Arc<Graded>> {
        // A thread that panicked while it held the lock left whole entries behind it.
        let known = || self.graded.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(graded) = known().get(&suspect) {
            return graded.clone();
        }
        // Where some grade has no operating point, the steps must do.
        let graded = bench.sketch_grades(&self.tests, suspect).ok().flatten().map(Arc::new);
        known().entry(suspect).or_insert(graded).clone()
    }
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

/// Minutes of the check of all works, the one that failed first.
pub fn check_minutes(circuit: &Circuit, first: &Work) -> f64 {
    let mut at = Setup::for_work(circuit, first);
    let mut minutes = LOOK_MINUTES;
    for work in circuit.works.iter().filter(|work| work.id != first.id) {
        let next = Setup::for_work(circuit, work);
        minutes += moves::minutes(circuit, &at, &next) + LOOK_MINUTES;
        at = next;
    }
    minutes
}

/// How the machine stands for a fix.
pub fn fix_setup(circuit: &Circuit, fix: &Fix) -> Setup {
    let mut setup = Setup::rest(circuit);
    setup.ground_off = fix.ground_off;
    setup
}

/// Places that must be open for a fix.
pub fn fix_places(circuit: &Circuit, fix: &Fix) -> Vec<PlaceId> {
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

    fn test(&self, test: &Test, likelihood: Likelihood) -> problem::Test {
        problem::Test {
            minutes: test.minutes,
            mode: self.mode(&test.setup),
            places: test.places.iter().map(|place| place.0).collect(),
            likelihood,
            proof: None,
        }
    }

    fn fix(&self, at: usize) -> problem::Fix {
        let circuit = &self.bench.circuit;
        let fix = &self.bench.lineup.fixes[at];
        // Of two faults either repair leads on: the failed proof of the first leaves the other alone, and
        // the next plan is for that.
        let lineup = &self.bench.lineup;
        let cures = |id: u32| if lineup.mends(at, SuspectId(id)) { 1.0 } else { 0.0 };
        problem::Fix {
            minutes: fix.minutes,
            mode: self.mode(&fix_setup(circuit, fix)),
            places: fix_places(circuit, fix).iter().map(|place| place.0).collect(),
            cures: (0..lineup.suspects.len() as u32).map(cures).collect(),
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
