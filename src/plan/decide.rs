//! The next action.

use super::action::{Plan, Ranked, Report};
use super::bound::Bound;
use super::budget::{Budget, Method, Progress};
use super::exact::TOLERANCE;
use super::focus::focus;
use super::goal::{finished, stop_minutes};
use super::node::Node;
use super::prepared::Prepared;
use super::problem::State;
use super::search::{Search, is_big};

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

#[cfg(test)]
mod tests {
    use crate::plan::{Fix, Goal, Problem, Test};

    use super::super::action::Action;
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
