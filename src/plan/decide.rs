//! The next action.

use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use super::base::{Rule, finished, scored, stop_minutes};
use super::bound::Bound;
use super::exact::{Exact, OutOfNodes, TOLERANCE};
use super::focus::focus;
use super::look::{Look, Reach, Valued};
use super::node::Node;
use super::prepared::Prepared;
use super::problem::State;

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

/// Share of the nodes that an exact search may use before the look-ahead takes the rest.
const EXACT_SHARE: f64 = 0.5;

/// With more likelihoods than this no exact search is tried: it never ends within a usual budget.
const EXACT_ENTRIES: usize = 4_000;

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
    let focus = focus(prepared, node, 0.0);
    let (prepared, node) = (&focus.prepared, &focus.node);
    let mut search = Search { prepared, node, budget, progress, nodes: 0 };
    let ranked = match method {
        Method::Greedy => search.greedy(),
        Method::Rollout => search.look(1),
        Method::LookAhead => search.look(DEEPEST),
        Method::Best => search.best(),
    };
    let bound_minutes = Bound::new(prepared).minutes(prepared, node);
    search.to_plan(ranked, bound_minutes)
}

/// Look-ahead never goes deeper than this.
const DEEPEST: u32 = 6;

/// One choice being made.
struct Search<'a> {
    prepared: &'a Prepared,
    node: &'a Node,
    budget: &'a Budget,
    progress: &'a Progress,
    nodes: u64,
}

/// Values of first steps, best first, and how sure they are.
type Values = (Vec<Valued>, Ended);

impl Search<'_> {
    fn greedy(&mut self) -> Values {
        let reach = Reach { depth: 1, ..Reach::default() };
        let mut look = Look::new(self.prepared, reach, self.budget.nodes, self.progress);
        let value = look.follow_first(self.node, Rule::Information);
        self.nodes += look.nodes();
        (value.into_iter().collect(), Ended::Budget)
    }

    fn best(&mut self) -> Values {
        if self.prepared.table.entries() > EXACT_ENTRIES {
            return self.look(DEEPEST);
        }
        let allowed = (self.budget.nodes as f64 * EXACT_SHARE) as u64;
        let mut exact = Exact::new(self.prepared, allowed);
        let found = exact.best(self.node);
        self.nodes += exact.nodes();
        match found {
            Ok((step, minutes)) => (self.around_exact(step, minutes), Ended::Exact),
            Err(OutOfNodes) => self.look(DEEPEST),
        }
    }

    /// The exact first step, and the runners-up as one step of look-ahead sees them.
    fn around_exact(&mut self, step: Option<usize>, minutes: f64) -> Vec<Valued> {
        let (mut others, _) = self.look(1);
        let Some(step) = step else { return others };
        for valued in &mut others {
            valued.expected_minutes = valued.expected_minutes.max(minutes);
        }
        if others.iter().all(|valued| valued.scored.step != step) {
            let all = scored(self.prepared, self.node, Rule::Information);
            let found = all.into_iter().find(|scored| scored.step == step);
            others.extend(found.map(|scored| Valued { scored, expected_minutes: minutes }));
        }
        for valued in others.iter_mut().filter(|valued| valued.scored.step == step) {
            valued.expected_minutes = minutes;
        }
        others.sort_by(|a, b| {
            let later = |valued: &Valued| valued.scored.step != step;
            a.expected_minutes.total_cmp(&b.expected_minutes).then(later(a).cmp(&later(b)))
        });
        others
    }

    fn look(&mut self, depth: u32) -> Values {
        let reach = Reach { depth, ..Reach::of_size(self.prepared.table.entries()) };
        let left = self.budget.nodes.saturating_sub(self.nodes);
        let mut look = Look::new(self.prepared, reach, left, self.progress);
        let values = look.best_first(self.node);
        self.nodes += look.nodes();
        (values, if look.stopped() { Ended::Stopped } else { Ended::Budget })
    }

    fn to_plan(&self, (values, ended): Values, bound_minutes: f64) -> Plan {
        let ranked = |valued: &Valued| Ranked {
            action: self.prepared.steps[valued.scored.step].source.action(),
            score: valued.scored.score,
            added_minutes: valued.scored.added_minutes,
            expected_minutes: valued.expected_minutes,
        };
        let mut ranking: Vec<Ranked> = values.iter().map(ranked).collect();
        let stop = stop_minutes(self.prepared, self.node).or(ranking.is_empty().then_some(0.0));
        if let Some(stop) = stop {
            // Among equals, ending the job comes first.
            let at = ranking.partition_point(|ranked| ranked.expected_minutes < stop - TOLERANCE);
            ranking.insert(at, Ranked::stop(stop));
        }
        let report = Report { nodes: self.nodes, ended };
        let (action, expected_minutes) = (ranking[0].action, ranking[0].expected_minutes);
        Plan { action, expected_minutes, bound_minutes, ranking, report }
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
