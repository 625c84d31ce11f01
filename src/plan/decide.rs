//! The next action.

use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use super::base::{finished, stop_minutes};
use super::bound::Bound;
use super::exact::TOLERANCE;
use super::focus::focus;
use super::node::Node;
use super::prepared::Prepared;
use super::problem::State;
use super::search::{Search, is_big};

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

impl Default for Budget {
    fn default() -> Self {
        Self { nodes: 2_000 }
    }
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

/// How a plan is to be made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// The best step by information per minute alone, ending the job wherever that is better: a yardstick.
    Greedy,
    /// Each promising step, then the base policy; no look-ahead beyond.
    Rollout,
    /// Look-ahead as deep as the nodes allow, but no exact search.
    LookAhead,
    /// Exact where the nodes suffice, look-ahead elsewhere.
    Best,
}

/// Chooses the next action, exactly where the budget suffices and by look-ahead elsewhere.
pub fn plan(prepared: &Prepared, state: &State, budget: &Budget, progress: &Progress) -> Plan {
    plan_by(Method::Best, prepared, state, budget, progress)
}

/// Chooses the next action by `method`.
pub fn plan_by(
    method: Method,
    prepared: &Prepared,
    state: &State,
    budget: &Budget,
    progress: &Progress,
) -> Plan {
    plan_node(method, prepared, &prepared.node(state), budget, progress)
}

/// Chooses the next action in a node.
pub fn plan_node(
    method: Method,
    prepared: &Prepared,
    node: &Node,
    budget: &Budget,
    progress: &Progress,
) -> Plan {
    if finished(prepared, node) {
        return Plan::ended(0.0);
    }
    if is_big(prepared) {
        // Laying a big problem out anew takes longer than what it saves.
        return decide(method, Search::new(prepared, node, budget, progress));
    }
    let focus = focus(prepared, node);
    decide(method, Search::new(&focus.prepared, &focus.node, budget, progress))
}

fn decide(method: Method, mut search: Search<'_>) -> Plan {
    let (mut ranking, ended) = search.run(method);
    let (prepared, node) = (search.prepared(), search.node());
    let stop = stop_minutes(prepared, node).or(ranking.is_empty().then_some(0.0));
    if let Some(stop) = stop {
        // Among equals, ending the job comes first.
        let at = ranking.iter().position(|ranked| ranked.expected_minutes >= stop - TOLERANCE);
        ranking.insert(at.unwrap_or(ranking.len()), Ranked::stop(stop));
    }
    Plan {
        action: ranking[0].action,
        expected_minutes: ranking[0].expected_minutes,
        bound_minutes: Bound::new(prepared).minutes(prepared, node),
        report: Report { nodes: search.nodes(), ended },
        ranking,
    }
}

impl Ranked {
    fn stop(minutes: f64) -> Self {
        Self { action: Action::Stop, score: 0.0, added_minutes: 0.0, expected_minutes: minutes }
    }
}

impl Plan {
    /// The plan where nothing is left to be done.
    fn ended(minutes: f64) -> Self {
        Self {
            action: Action::Stop,
            expected_minutes: minutes,
            bound_minutes: minutes,
            ranking: vec![Ranked::stop(minutes)],
            report: Report { nodes: 0, ended: Ended::Exact },
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::plan::{Fix, Goal, Problem, Test};

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
        let plan = plan(&prepared, &problem.start(0), &Budget { nodes: 100 }, &Progress::default());
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
