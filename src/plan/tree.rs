//! The whole policy as a tree, for print.

use rayon::prelude::*;

use super::action::Action;
use super::bound::Bound;
use super::budget::{Budget, Method, Progress};
use super::decide::plan_node;
use super::goal::{finished, stop_minutes};
use super::node::{NOTHING, Node};
use super::prepared::Prepared;
use super::problem::State;

/// What the planner does, outcome by outcome, to its ends.
#[derive(Debug, Clone, PartialEq)]
pub struct Tree {
    /// The first action.
    pub root: Branch,
    /// Expected minutes of the tree to the goal, the price of ending the job included.
    pub expected_minutes: f64,
    /// Expected number of tests; fixes do not count.
    pub expected_tests: f64,
    /// Minutes of its dearest path.
    pub worst_minutes: f64,
    /// No plan can need fewer minutes on average.
    pub bound_minutes: f64,
    /// Probability of the paths that were cut by [`Limits`]; their rest is estimated.
    pub cut_probability: f64,
}

/// One action of a tree, and what follows each of its outcomes.
#[derive(Debug, Clone, PartialEq)]
pub struct Branch {
    /// What to do.
    pub action: Action,
    /// Minutes it adds where it stands in the tree.
    pub added_minutes: f64,
    /// Probability to get here.
    pub reached: f64,
    /// Expected minutes from here to the goal.
    pub expected_minutes: f64,
    /// Probability of each hypothesis here.
    pub belief: Vec<f64>,
    /// The outcomes that can be seen, in the order of the test's (of a fix: cured 0, not cured 1).
    pub outcomes: Vec<TreeOutcome>,
}

/// One outcome of an action of a tree.
#[derive(Debug, Clone, PartialEq)]
pub struct TreeOutcome {
    /// Its position among the test's outcomes.
    pub outcome: usize,
    /// Probability that the action shows it.
    pub probability: f64,
    /// What to do then; `None` where the job is done.
    pub next: Option<Box<Branch>>,
}

/// Where a tree ends before the job does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Nodes for the choice of the first action; further down less, as the root of the probability.
    pub budget: Budget,
    /// Paths less likely than this are cut.
    pub least_probability: f64,
    /// Actions on a path, at most.
    pub longest: usize,
}

impl Default for Limits {
    fn default() -> Self {
        Self { budget: Budget { nodes: 400 }, least_probability: 0.005, longest: 40 }
    }
}

/// The planner's whole policy from `state` on.
pub fn policy_tree(
    prepared: &Prepared,
    state: &State,
    limits: &Limits,
    progress: &Progress,
) -> Tree {
    let node = prepared.node(state);
    let grow = Grow { prepared, limits, progress, state };
    let Grown { root, tests, worst, cut } = grow.branch(&node, Path::default());
    Tree {
        expected_minutes: root.expected_minutes,
        expected_tests: tests,
        worst_minutes: worst,
        bound_minutes: Bound::new(prepared).minutes(prepared, &node),
        cut_probability: cut,
        root,
    }
}

struct Grow<'a> {
    prepared: &'a Prepared,
    limits: &'a Limits,
    progress: &'a Progress,
    state: &'a State,
}

/// A branch with all below it, and what is counted over it.
struct Grown {
    root: Branch,
    /// Expected number of tests, seen from the root of the tree.
    tests: f64,
    /// Minutes of the dearest path, from the root of the tree.
    worst: f64,
    /// Probability of the paths cut.
    cut: f64,
}

/// The way to a branch.
#[derive(Debug, Clone, Copy)]
struct Path {
    reached: f64,
    minutes: f64,
    length: usize,
}

impl Default for Path {
    fn default() -> Self {
        Self { reached: 1.0, minutes: 0.0, length: 0 }
    }
}

impl Grow<'_> {
    fn branch(&self, node: &Node, path: Path) -> Grown {
        // Whole numbers of nodes, so that the tree is the same everywhere.
        let nodes = (self.limits.budget.nodes as f64 * path.reached.sqrt()).ceil() as u64;
        let plan = plan_node(Method::Best, self.prepared, node, &Budget { nodes }, self.progress);
        let root = Branch {
            action: plan.action,
            added_minutes: 0.0,
            reached: path.reached,
            expected_minutes: plan.expected_minutes,
            belief: self.belief(node),
            outcomes: vec![],
        };
        let mut grown = Grown { root, tests: 0.0, worst: path.minutes, cut: 0.0 };
        match self.prepared.step_of(plan.action) {
            None => {
                let over = finished(self.prepared, node);
                let price = if over { Some(0.0) } else { stop_minutes(self.prepared, node) };
                grown.root.expected_minutes = price.unwrap_or(0.0);
                grown.worst += grown.root.expected_minutes;
            }
            Some(_) if self.is_cut(path) => {
                grown.cut = path.reached;
                grown.worst += plan.expected_minutes;
            }
            Some(index) => self.follow(&mut grown, node, index, path),
        }
        grown
    }

    fn is_cut(&self, path: Path) -> bool {
        path.reached < self.limits.least_probability || path.length >= self.limits.longest
    }

    /// Grows what follows each outcome of a step, side by side.
    fn follow(&self, grown: &mut Grown, node: &Node, index: usize, path: Path) {
        let step = &self.prepared.steps[index];
        let added_minutes = self.prepared.added_minutes(node, step);
        if matches!(grown.root.action, Action::Test(_)) {
            grown.tests += path.reached;
        }
        let seen = (0..step.rows.len()).map(|outcome| (outcome, node.probability(step, outcome)));
        let seen: Vec<(usize, f64)> =
            seen.filter(|(_, probability)| *probability > NOTHING).collect();
        let grow = |&(outcome, probability): &(usize, f64)| {
            let after = node.after(step, outcome, probability);
            let done = step.ending == Some(outcome) || finished(self.prepared, &after);
            let path = Path {
                reached: path.reached * probability,
                minutes: path.minutes + added_minutes,
                length: path.length + 1,
            };
            (!done).then(|| self.branch(&after, path))
        };
        let below: Vec<Option<Grown>> = seen.par_iter().map(grow).collect();
        grown.root.added_minutes = added_minutes;
        grown.root.expected_minutes = added_minutes;
        grown.worst += added_minutes;
        for (&(outcome, probability), below) in seen.iter().zip(below) {
            let next = below.map(|below| {
                grown.root.expected_minutes += probability * below.root.expected_minutes;
                grown.tests += below.tests;
                grown.worst = grown.worst.max(below.worst);
                grown.cut += below.cut;
                Box::new(below.root)
            });
            grown.root.outcomes.push(TreeOutcome { outcome, probability, next });
        }
    }

    /// Probability of each hypothesis: members of a group keep their shares of it.
    fn belief(&self, node: &Node) -> Vec<f64> {
        let start = self.prepared.node(self.state);
        let of = |(hypothesis, &group): (usize, &usize)| {
            let share = self.state.belief[hypothesis];
            if start.belief[group] > 0.0 {
                node.belief[group] * share / start.belief[group]
            } else {
                0.0
            }
        };
        self.prepared.group_of.iter().enumerate().map(of).collect()
    }
}
