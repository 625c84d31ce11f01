//! What no way of working can beat in a trial: the same suspects, tests and repairs, every reading right.
//!
//! A trial hides one suspect and shows of each test what that suspect most likely shows. With that known
//! beforehand, nothing errs, and the least expected minutes are a plain problem of test planning: its lower
//! bound is always to be had, its optimum where few suspects are left. A planner that has to allow for wrong
//! readings pays some minutes more for that.

use std::collections::{HashMap, HashSet};

use super::cases;
use crate::job::study::Study;
use crate::job::study::error::StudyError;
use crate::plan::bound::Bound;
use crate::plan::exact::Exact;
use crate::plan::focus::focus;
use crate::plan::{Fix, Goal, Prepared, Problem, Test};
use crate::setup::{Setup, moves};
use crate::suspect::SuspectId;
use crate::suspect::fix::Work;
use crate::tester::expectations::Column;

/// Least expected minutes of a trial.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Yardstick {
    /// No way of working with the planner's tests needs less.
    pub bound_minutes: f64,
    /// What the best one needs; `None` where it was not found within the nodes allowed.
    pub optimum_minutes: Option<f64>,
}

/// The yardstick of a study; the optimum is looked for within so many nodes.
///
/// # Errors
/// Where a test's setup has no operating point.
pub fn yardstick(study: &Study, nodes: u64) -> Result<Yardstick, StudyError> {
    let (problem, start) = problem(study)?;
    let prepared = Prepared::new(&problem)?;
    let state = problem.start(start);
    let focused = focus(&prepared, &prepared.node(&state));
    Ok(Yardstick {
        bound_minutes: Bound::new(&focused.prepared).minutes(&focused.prepared, &focused.node),
        optimum_minutes: Exact::new(&focused.prepared, nodes).minutes(&focused.node).ok(),
    })
}

/// The noise-free problem of a trial, and the mode it starts in.
fn problem(study: &Study) -> Result<(Problem, u32), StudyError> {
    let circuit = study.circuit();
    let cases = cases(study);
    let columns = columns(study)?;
    let modes = Modes::new(study, &columns);
    let fixes = &study.lineup().fixes;
    let class_of = |case: &SuspectId| study.lineup().suspects[case.index()].fix.0;
    let problem = Problem {
        priors: cases.iter().map(|case| study.prior[case.index()]).collect(),
        class_of: cases.iter().map(class_of).collect(),
        tests: columns.iter().map(|column| test(column, &cases, &modes)).collect(),
        fixes: (0..fixes.len())
            .filter(|&at| fixes[at].work == Work::Repair)
            .map(|at| fix(study, at, &cases, &modes))
            .collect(),
        batches: Vec::new(),
        switch_minutes: modes.switches(study),
        place_minutes: circuit.places.iter().map(|place| place.open_minutes).collect(),
        place_parent: vec![None; circuit.places.len()],
        goal: Goal::Repair { give_up_minutes: None },
    };
    Ok((problem, modes.of(&Setup::rest(circuit))))
}

/// All tests that the planner may be shown in a trial.
fn columns(study: &Study) -> Result<Vec<Column>, StudyError> {
    let agendas = [study.first_agenda(), study.whole_agenda(), study.agenda_with_strangers()];
    let mut seen = HashSet::new();
    let mut tests: Vec<_> = agendas.iter().flat_map(|agenda| agenda.tests.clone()).collect();
    tests.retain(|test| seen.insert(test.id.clone()));
    Ok(study.bench.columns(&tests)?)
}

/// The setups of a problem by their numbers.
struct Modes {
    list: Vec<Setup>,
    number: HashMap<Setup, u32>,
}

impl Modes {
    fn new(study: &Study, columns: &[Column]) -> Modes {
        let fixes = study.lineup().fixes.iter().map(|fix| study.fix_setup(fix));
        let ends = [Setup::rest(study.circuit()), study.check_setup()];
        let all = columns.iter().map(|column| column.test.setup.clone());
        let mut modes = Modes { list: Vec::new(), number: HashMap::new() };
        for setup in ends.into_iter().chain(fixes).chain(all) {
            if !modes.number.contains_key(&setup) {
                modes.number.insert(setup.clone(), modes.list.len() as u32);
                modes.list.push(setup);
            }
        }
        modes
    }

    fn of(&self, setup: &Setup) -> u32 {
        self.number[setup]
    }

    fn switches(&self, study: &Study) -> Vec<Vec<f64>> {
        let row = |from: &Setup| {
            self.list.iter().map(|to| moves::minutes(study.circuit(), from, to)).collect()
        };
        self.list.iter().map(row).collect()
    }
}

/// The test as it shows the cases; outcomes that none of them shows are left out.
fn test(column: &Column, cases: &[SuspectId], modes: &Modes) -> Test {
    let shown: Vec<usize> = cases.iter().map(|case| column.likeliest(case.index())).collect();
    let row = |outcome: usize| shown.iter().map(|&at| f64::from(u8::from(at == outcome))).collect();
    let comes = |outcome: &usize| shown.contains(outcome);
    Test {
        minutes: column.test.minutes,
        mode: modes.of(&column.test.setup),
        places: column.test.places.iter().map(|place| place.0).collect(),
        likelihood: (0..column.outcomes.len()).filter(comes).map(row).collect(),
        proof: None,
    }
}

fn fix(study: &Study, at: usize, cases: &[SuspectId], modes: &Modes) -> Fix {
    let fix = &study.lineup().fixes[at];
    let cured = |case: &SuspectId| study.lineup().suspects[case.index()].fix.index() == at;
    Fix {
        minutes: fix.minutes,
        mode: modes.of(&study.fix_setup(fix)),
        places: study.fix_places(fix).iter().map(|place| place.0).collect(),
        cures: cases.iter().map(|case| f64::from(u8::from(cured(case)))).collect(),
        check_minutes: study.check_minutes(),
        check_mode: modes.of(&study.check_setup()),
    }
}
