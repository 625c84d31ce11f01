//! The next action.

use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use super::base::{Rule, Scored, estimate, finished, repair_minutes, scored, stop_minutes};
use super::node::{NOTHING, Node};
use super::prepared::{Prepared, Source};
use super::problem::{Goal, State};

/// What to do next.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Action {
    /// The test at this position in [`super::Problem::tests`].
    Test(usize),
    /// The fix at this position in [`super::Problem::fixes`], and its check.
    Fix(usize),
    /// The fixes of the set at this position in [`super::Problem::batches`], and one check.
    Batch(usize),
    /// Nothing more: hand the job on, or name the likeliest class.
    Stop,
}

/// What is best now, and how it compares.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// What to do next.
    pub action: Action,
    /// Minutes expected from here to the goal.
    pub expected_minutes: f64,
    /// No plan can need fewer minutes on average.
    pub bound_minutes: f64,
    /// The actions looked at, best first; the first one is `action`.
    pub ranking: Vec<Ranked>,
    /// How the plan came about.
    pub report: Report,
}

/// An action that was looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ranked {
    /// The action.
    pub action: Action,
    /// Bits about the class per added minute; of a fix, per minute lost if it does not cure.
    pub score: f64,
    /// Minutes it adds from the present mode and open places.
    pub added_minutes: f64,
    /// Minutes expected to the goal when it comes first.
    pub expected_minutes: f64,
}

/// How a plan came about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Report {
    /// States examined.
    pub nodes: u64,
    /// Why the search ended.
    pub ended: Ended,
}

/// Why a search ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// `expected_minutes` is the least possible.
    Exact,
    /// The nodes of the budget were used.
    Budget,
    /// Someone asked it to stop.
    Stopped,
}

/// How much a plan may cost to make. Counted in nodes, not in time, so that results repeat.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Budget {
    /// States to examine at most; 0 for one step ahead.
    pub nodes: u64,
}

/// Watches over a search from another thread.
#[derive(Debug, Default)]
pub struct Progress {
    /// States examined so far.
    pub nodes: AtomicU64,
    /// Set to end the search; it then returns what it has.
    pub stop: AtomicBool,
}

impl Progress {
    /// Counts a node; false when the search shall end.
    pub fn step(&self) -> bool {
        self.nodes.fetch_add(1, Ordering::Relaxed);
        !self.stop.load(Ordering::Relaxed)
    }
}

/// How many of the best steps by each one-step rule are looked at more closely.
const CANDIDATES: usize = 12;

/// Chooses the next action.
pub fn plan(prepared: &Prepared, state: &State, _budget: &Budget, progress: &Progress) -> Plan {
    let node = prepared.node(state);
    let mut ranking = Vec::new();
    let mut nodes = 0;
    if !finished(prepared, &node) {
        for candidate in candidates(prepared, &node) {
            if !progress.step() {
                break;
            }
            nodes += 1;
            ranking.push(one_step(prepared, &node, candidate));
        }
    }
    let stop = stop_minutes(prepared, &node).or(ranking.is_empty().then_some(0.0));
    if let Some(expected_minutes) = stop {
        ranking.push(Ranked {
            action: Action::Stop,
            score: 0.0,
            added_minutes: 0.0,
            expected_minutes,
        });
    }
    ranking.sort_by(|a, b| a.expected_minutes.total_cmp(&b.expected_minutes));
    let bound_minutes = match prepared.goal {
        Goal::Repair { .. } => repair_minutes(prepared, &node),
        Goal::Isolate | Goal::StopAnyTime { .. } => 0.0,
    };
    Plan {
        action: ranking[0].action,
        expected_minutes: ranking[0].expected_minutes,
        bound_minutes,
        ranking,
        report: Report { nodes, ended: Ended::Budget },
    }
}

/// The best steps by each rule, without repetition.
fn candidates(prepared: &Prepared, node: &Node) -> Vec<Scored> {
    let mut list = scored(prepared, node, Rule::Information);
    list.truncate(CANDIDATES);
    for other in scored(prepared, node, Rule::Edges).into_iter().take(CANDIDATES) {
        if list.iter().all(|scored| scored.step != other.step) {
            list.push(Scored { score: 0.0, ..other });
        }
    }
    list
}

fn one_step(prepared: &Prepared, node: &Node, candidate: Scored) -> Ranked {
    let step = &prepared.steps[candidate.step];
    let mut expected_minutes = candidate.added_minutes;
    for outcome in (0..step.rows.len()).filter(|&outcome| step.ending != Some(outcome)) {
        let probability = node.probability(step, outcome);
        if probability > NOTHING {
            let next = node.after(step, outcome, probability);
            expected_minutes += probability * estimate(prepared, &next);
        }
    }
    let action = action_of(step.source);
    Ranked {
        action,
        score: candidate.score,
        added_minutes: candidate.added_minutes,
        expected_minutes,
    }
}

/// The action that takes a step from `source`.
pub(super) fn action_of(source: Source) -> Action {
    match source {
        Source::Test(index) => Action::Test(index),
        Source::Fix(index) => Action::Fix(index),
        Source::Batch(index) => Action::Batch(index),
    }
}

#[cfg(test)]
mod tests {
    use crate::plan::{Fix, Problem, Test};

    use super::*;

    /// Two causes with a fix each, and a test that tells them apart.
    fn lamp_or_switch(test_minutes: f64) -> Problem {
        let fix = |minutes, cures: [f64; 2]| Fix {
            minutes,
            mode: 0,
            places: vec![],
            cures: cures.to_vec(),
            check_minutes: 1.0,
            check_mode: 0,
        };
        Problem {
            priors: vec![0.5, 0.5],
            class_of: vec![0, 1],
            tests: vec![Test {
                minutes: test_minutes,
                mode: 0,
                places: vec![],
                likelihood: vec![vec![1.0, 0.0], vec![0.0, 1.0]],
                proof: None,
            }],
            fixes: vec![fix(9.0, [1.0, 0.0]), fix(9.0, [0.0, 1.0])],
            batches: vec![],
            switch_minutes: vec![vec![0.0]],
            place_minutes: vec![],
            place_parent: vec![],
            goal: Goal::Repair { give_up_minutes: None },
        }
    }

    #[track_caller]
    fn check(problem: &Problem, action: Action, expected_minutes: f64) {
        let prepared = Prepared::new(problem).expect("a sound problem");
        let plan = plan(&prepared, &problem.start(0), &Budget { nodes: 0 }, &Progress::default());
        assert_eq!(plan.action, action);
        assert!((plan.expected_minutes - expected_minutes).abs() < 1e-9, "{plan:?}");
    }

    #[test]
    fn tests_first_when_the_test_is_cheaper_than_a_wrong_fix() {
        check(&lamp_or_switch(2.0), Action::Test(0), 12.0);
    }

    #[test]
    fn fixes_first_when_the_test_costs_more_than_a_wrong_fix() {
        check(&lamp_or_switch(6.0), Action::Fix(0), 15.0);
    }
}
