//! Looking ahead: the cost of the base policy from here on, and the best of some steps before it.

use std::collections::HashMap;

use super::base::{
    Rule, Scored, best_rate, estimate, finished, fix_sequence_minutes, scored, stop_minutes,
};
use super::bound::Bound;
use super::decide::Progress;
use super::node::{Key, NOTHING, Node};
use super::prepared::Prepared;
use super::problem::Goal;

/// How wide and how far a search looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    /// Best steps by each rule that are tried at the node itself.
    pub root_width: usize,
    /// Best steps by each rule that are tried further down.
    pub inner_width: usize,
    /// Branches less likely than this, seen from the root, are estimated, not followed.
    pub least_probability: f64,
    /// Steps before the base policy, at most.
    pub depth: u32,
    /// The rules whose base policies are followed; the better one counts.
    pub rules: &'static [Rule],
}

impl Default for Reach {
    fn default() -> Self {
        let rules = &[Rule::Information, Rule::Edges];
        Self { root_width: 12, inner_width: 6, least_probability: 0.0, depth: 1, rules }
    }
}

impl Reach {
    /// What a problem with so many likelihoods can bear: in a big one only likely branches are followed.
    pub fn of_size(entries: usize) -> Self {
        if entries <= BIG_ENTRIES {
            return Self::default();
        }
        let rules = &[Rule::Information];
        Self { root_width: 8, inner_width: 3, least_probability: 0.01, rules, ..Self::default() }
    }
}

/// Likelihoods of a problem too big to follow every branch.
const BIG_ENTRIES: usize = 4_000;

/// Rollout of the base policies, with any number of free steps before them.
///
/// One free step is the rollout of Tu & Pattipati (2003); with two base rules the lower cost counts at
/// each node.
#[derive(Debug)]
pub struct Look<'a> {
    prepared: &'a Prepared,
    bound: Bound,
    reach: Reach,
    progress: &'a Progress,
    base: HashMap<(Key, Rule), f64>,
    deep: HashMap<(Key, u32), f64>,
    nodes: u64,
    nodes_allowed: u64,
    stopped: bool,
}

/// A first step and the expected minutes it leads to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Valued {
    /// The step with its one-step score.
    pub scored: Scored,
    /// Expected minutes to the goal.
    pub expected_minutes: f64,
}

impl<'a> Look<'a> {
    /// A search over `prepared` that may examine `nodes_allowed` nodes.
    pub fn new(
        prepared: &'a Prepared,
        reach: Reach,
        nodes_allowed: u64,
        progress: &'a Progress,
    ) -> Self {
        Self {
            prepared,
            bound: Bound::new(prepared),
            reach,
            progress,
            base: HashMap::new(),
            deep: HashMap::new(),
            nodes: 0,
            nodes_allowed,
            stopped: false,
        }
    }

    /// Nodes examined so far.
    pub fn nodes(&self) -> u64 {
        self.nodes
    }

    /// Whether the search was asked to stop.
    pub fn stopped(&self) -> bool {
        self.stopped
    }

    /// The first steps worth a look with what they lead to, best first, as deep as the nodes allow.
    pub fn best_first(&mut self, node: &Node) -> Vec<Valued> {
        let (mut order, rate) = candidates(self.prepared, node, self.reach.root_width);
        let mut best = Vec::new();
        for depth in 0..self.reach.depth {
            let first = best.is_empty();
            let Some(mut values) =
                self.values(node, &order, Way { reached: 1.0, rate, depth }, first)
            else {
                break;
            };
            values.sort_by(|a, b| a.expected_minutes.total_cmp(&b.expected_minutes));
            order = values.iter().map(|valued| valued.scored).collect();
            best = values;
        }
        best
    }

    /// The first step of a base policy alone, with what following it costs.
    pub fn follow_first(&mut self, node: &Node, rule: Rule) -> Option<Valued> {
        let list = scored(self.prepared, node, rule);
        let rate = best_rate(self.prepared, &list);
        let first = list.into_iter().next()?;
        let mut expected_minutes = first.added_minutes;
        for (probability, next) in successors(self.prepared, node, first.step) {
            let way = Way { reached: probability, rate, depth: 0 };
            expected_minutes += probability * self.follow(&next, rule, way);
        }
        Some(Valued { scored: first, expected_minutes })
    }

    /// Expected minutes of each candidate; `None` when nodes ran out, unless `finish` asks for an answer
    /// in any case.
    fn values(
        &mut self,
        node: &Node,
        candidates: &[Scored],
        way: Way,
        finish: bool,
    ) -> Option<Vec<Valued>> {
        let mut values = Vec::new();
        for &scored in candidates {
            let expected_minutes = self.after_step(node, scored, way);
            values.push(Valued { scored, expected_minutes });
            if self.spent() && !finish {
                return None;
            }
        }
        Some(values)
    }

    /// Expected minutes when `scored` comes first and is followed by the free steps of `way`.
    fn after_step(&mut self, node: &Node, scored: Scored, way: Way) -> f64 {
        let mut total = scored.added_minutes;
        for (probability, next) in successors(self.prepared, node, scored.step) {
            total += probability * self.deep(&next, way.through(probability));
        }
        total
    }

    /// Expected minutes from `node` with the free steps of `way` before the base policy.
    fn deep(&mut self, node: &Node, way: Way) -> f64 {
        let base = self.base(node, way);
        if way.depth == 0 || self.is_end(way) || base <= NOTHING {
            return base;
        }
        let key = (node.key(self.prepared), way.depth);
        if let Some(&known) = self.deep.get(&key) {
            return known;
        }
        self.count();
        let mut best = base;
        let (list, rate) = candidates(self.prepared, node, self.reach.inner_width);
        let way = Way { depth: way.depth - 1, rate, ..way };
        for candidate in list {
            if self.least_after(node, candidate) < best {
                best = best.min(self.after_step(node, candidate, way));
            }
        }
        self.deep.insert(key, best);
        best
    }

    fn least_after(&self, node: &Node, candidate: Scored) -> f64 {
        let next = successors(self.prepared, node, candidate.step);
        let least = |(probability, next): (f64, Node)| {
            probability * self.bound.minutes(self.prepared, &next)
        };
        candidate.added_minutes + next.map(least).sum::<f64>()
    }

    fn base(&mut self, node: &Node, way: Way) -> f64 {
        let rules = self.reach.rules;
        rules.iter().map(|&rule| self.follow(node, rule, way)).fold(f64::INFINITY, f64::min)
    }

    /// Expected minutes of following `rule` from `node`, ending or fixing wherever that is better.
    fn follow(&mut self, node: &Node, rule: Rule, way: Way) -> f64 {
        if finished(self.prepared, node) {
            return 0.0;
        }
        let key = (node.key(self.prepared), rule);
        if let Some(&known) = self.base.get(&key) {
            return known;
        }
        if self.is_end(way) {
            return estimate(self.prepared, node, way.rate);
        }
        self.count();
        let mut least = end_minutes(self.prepared, node);
        let list = scored(self.prepared, node, rule);
        // Edges are no bits: with them the last known rate has to do.
        let bits = rule == Rule::Information;
        let way =
            Way { rate: if bits { best_rate(self.prepared, &list) } else { way.rate }, ..way };
        if let Some(next) = list.into_iter().next() {
            let mut total = next.added_minutes;
            for (probability, after) in successors(self.prepared, node, next.step) {
                total += probability * self.follow(&after, rule, way.through(probability));
            }
            least = least.min(total);
        } else if least.is_infinite() {
            least = 0.0;
        }
        self.base.insert(key, least);
        least
    }

    fn count(&mut self) {
        self.nodes += 1;
        self.stopped |= !self.progress.step();
    }

    /// Whether nothing further down this way is followed.
    fn is_end(&self, way: Way) -> bool {
        self.spent() || way.reached < self.reach.least_probability
    }

    fn spent(&self) -> bool {
        self.stopped || self.nodes >= self.nodes_allowed
    }
}

/// How a node was reached.
#[derive(Debug, Clone, Copy)]
struct Way {
    /// Probability to get there from the root.
    reached: f64,
    /// Best bits per minute of the node before.
    rate: f64,
    /// Free steps still allowed.
    depth: u32,
}

impl Way {
    fn through(self, probability: f64) -> Self {
        Self { reached: self.reached * probability, ..self }
    }
}

/// The `width` best steps by each rule, without repetition, and the best bits per minute of a test;
/// scores are those of [`Rule::Information`].
fn candidates(prepared: &Prepared, node: &Node, width: usize) -> (Vec<Scored>, f64) {
    let all = scored(prepared, node, Rule::Information);
    let mut list: Vec<Scored> = all.iter().copied().take(width).collect();
    for other in scored(prepared, node, Rule::Edges).into_iter().take(width) {
        if list.iter().all(|scored| scored.step != other.step) {
            list.extend(all.iter().find(|scored| scored.step == other.step));
        }
    }
    (list, best_rate(prepared, &all))
}

/// Expected minutes when no further test is made: stop, or only fix.
fn end_minutes(prepared: &Prepared, node: &Node) -> f64 {
    let stop = stop_minutes(prepared, node).unwrap_or(f64::INFINITY);
    match prepared.goal {
        Goal::Repair { .. } => stop.min(fix_sequence_minutes(prepared, node)),
        Goal::Isolate | Goal::StopAnyTime { .. } => stop,
    }
}

/// What follows a step, with its probability, leaving out the outcome that ends the job.
pub fn successors<'n>(
    prepared: &'n Prepared,
    node: &'n Node,
    index: usize,
) -> impl Iterator<Item = (f64, Node)> + 'n {
    let step = &prepared.steps[index];
    let open = (0..step.rows.len()).filter(|&outcome| step.ending != Some(outcome));
    open.filter_map(|outcome| {
        let probability = node.probability(step, outcome);
        (probability > NOTHING).then(|| (probability, node.after(step, outcome, probability)))
    })
}
