//! The whole policy as a tree, for print.

use super::base::{finished, stop_minutes};
use super::bound::Bound;
use super::decide::{Action, Budget, Method, Progress, plan_node};
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
    /// Nodes for the choice of each action.
    pub budget: Budget,
    /// Paths less likely than this are cut.
    pub least_probability: f64,
    /// Actions on a path, at most.
    pub longest: usize,
}

impl Default for Limits {
    fn default() -> Self {
        Self { budget: Budget::default(), least_probability: 0.0, longest: 60 }
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
    let mut grow = Grow { prepared, limits, progress, tests: 0.0, worst: 0.0, cut: 0.0, state };
    let root = grow.branch(&node, &Path::default());
    Tree {
        expected_minutes: root.expected_minutes,
        expected_tests: grow.tests,
        worst_minutes: grow.worst,
        bound_minutes: Bound::new(prepared).minutes(prepared, &node),
        cut_probability: grow.cut,
        root,
    }
}

struct Grow<'a> {
    prepared: &'a Prepared,
    limits: &'a Limits,
    progress: &'a Progress,
    state: &'a State,
    tests: f64,
    worst: f64,
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
    fn branch(&mut self, node: &Node, path: &Path) -> Branch {
        let plan = plan_node(Method::Best, self.prepared, node, &self.limits.budget, self.progress);
        let cut =
            path.reached < self.limits.least_probability || path.length >= self.limits.longest;
        let mut branch = Branch {
            action: plan.action,
            added_minutes: 0.0,
            reached: path.reached,
            expected_minutes: plan.expected_minutes,
            belief: self.belief(node),
            outcomes: vec![],
        };
        match self.prepared.step_of(plan.action) {
            None => {
                let price = if finished(self.prepared, node) {
                    Some(0.0)
                } else {
                    stop_minutes(self.prepared, node)
                };
                branch.expected_minutes = price.unwrap_or(0.0);
                self.worst = self.worst.max(path.minutes + branch.expected_minutes);
            }
            Some(_) if cut => {
                self.cut += path.reached;
                self.worst = self.worst.max(path.minutes + plan.expected_minutes);
            }
            Some(index) => self.follow(&mut branch, node, index, path),
        }
        branch
    }

    fn follow(&mut self, branch: &mut Branch, node: &Node, index: usize, path: &Path) {
        let step = &self.prepared.steps[index];
        branch.added_minutes = self.prepared.added_minutes(node, step);
        branch.expected_minutes = branch.added_minutes;
        if matches!(branch.action, Action::Test(_)) {
            self.tests += path.reached;
        }
        for outcome in 0..step.rows.len() {
            let probability = node.probability(step, outcome);
            if probability <= NOTHING {
                continue;
            }
            let path = Path {
                reached: path.reached * probability,
                minutes: path.minutes + branch.added_minutes,
                length: path.length + 1,
            };
            let after = node.after(step, outcome, probability);
            let done = step.ending == Some(outcome) || finished(self.prepared, &after);
            let next = (!done).then(|| Box::new(self.branch(&after, &path)));
            if let Some(next) = &next {
                branch.expected_minutes += probability * next.expected_minutes;
            } else {
                self.worst = self.worst.max(path.minutes);
            }
            branch.outcomes.push(TreeOutcome { outcome, probability, next });
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
