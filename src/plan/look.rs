//! Looking ahead: the cost of the base policy from here on, and the best of some steps before it.

use std::collections::HashMap;

use super::base::{Rule, SLOWER, Scored, best_rate, estimate, fix_sequence_minutes, scored};
use super::bound::{Bound, known_minutes};
use super::budget::Progress;
use super::goal::{finished, stop_minutes};
use super::node::{Key, NOTHING, Node};
use super::prepared::Prepared;
use super::problem::Goal;

/// How wide and how far one pass of a search looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pass {
    /// First steps that are tried, at most.
    pub width: usize,
    /// Branches less likely than this, seen from the root, are estimated, not followed.
    pub least_probability: f64,
    /// Free steps after the first one, before the base policy.
    pub depth: u32,
}

/// Best steps by each rule that are tried below the first step.
const INNER_WIDTH: usize = 6;

/// Share of the expected search that another first step must save before it takes the place of the base
/// policy's own, where branches are cut. Found by playing real circuits with noise: 0.08 was as good as
/// any from 0.03 to 0.15, and better than 0.
const LEAD: f64 = 0.08;

/// Rollout of the base policies, with any number of free steps before them.
///
/// One free step is the rollout of Tu & Pattipati (2003); with two base rules the lower cost counts at
/// each node.
#[derive(Debug)]
pub struct Look<'a> {
    prepared: &'a Prepared,
    bound: Bound,
    rules: &'static [Rule],
    pass: Pass,
    progress: &'a Progress,
    base: HashMap<(Key, Rule), f64>,
    deep: HashMap<(Key, u32), f64>,
    slower: f64,
    /// What estimates said lay on top of the known repair, and what did, over the nodes of a pass.
    estimated: f64,
    found: f64,
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
    /// A search over `prepared` by the base policies of `rules` that may examine `nodes_allowed` nodes.
    pub fn new(
        prepared: &'a Prepared,
        rules: &'static [Rule],
        nodes_allowed: u64,
        progress: &'a Progress,
    ) -> Self {
        Self {
            prepared,
            bound: Bound::new(prepared),
            rules,
            pass: Pass { width: 0, least_probability: 0.0, depth: 0 },
            progress,
            base: HashMap::new(),
            deep: HashMap::new(),
            slower: SLOWER,
            estimated: 0.0,
            found: 0.0,
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

    /// What each of `first` steps leads to, best first. When nodes run out, only those done till then, so
    /// that all values of an answer come about alike; `None` when that is less than two of several.
    pub fn values(
        &mut self,
        node: &Node,
        first: &[Scored],
        rate: f64,
        pass: Pass,
    ) -> Option<Vec<Valued>> {
        if pass.least_probability > 0.0 || self.pass.least_probability > 0.0 {
            // What was cut at other branches, or estimated otherwise, does not compare.
            self.base.clear();
            self.deep.clear();
            self.learn();
        }
        self.pass = pass;
        let way = Way { reached: 1.0, rate, depth: pass.depth };
        let wanted = first.len().min(pass.width);
        let mut values = Vec::new();
        for &scored in &first[..wanted] {
            let expected_minutes = self.after_step(node, scored, way);
            if self.spent() {
                break;
            }
            values.push(Valued { scored, expected_minutes });
        }
        if pass.least_probability > 0.0 {
            // Cut branches blur the values: what the base policy does is left only for a clear gain.
            let known = known_minutes(self.prepared, node);
            let highest = first.iter().map(|scored| scored.score).fold(0.0, f64::max);
            let reckoned = |valued: &Valued| {
                let is_base = valued.scored.score >= highest;
                let search = (valued.expected_minutes - known).max(0.0);
                valued.expected_minutes - if is_base { LEAD * search } else { 0.0 }
            };
            values.sort_by(|a, b| reckoned(a).total_cmp(&reckoned(b)));
        } else {
            values.sort_by(|a, b| a.expected_minutes.total_cmp(&b.expected_minutes));
        }
        (values.len() == wanted || values.len() > 1).then_some(values)
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

    /// Makes estimates as long as what was found where they could be compared.
    fn learn(&mut self) {
        if self.estimated > 0.0 {
            self.slower =
                (self.slower * self.found / self.estimated).clamp(0.5 * SLOWER, 20.0 * SLOWER);
            (self.estimated, self.found) = (0.0, 0.0);
        }
    }

    fn compare(&mut self, node: &Node, way: Way, found: f64) {
        if matches!(self.prepared.goal, Goal::Repair { .. }) && !self.spent() {
            let known = known_minutes(self.prepared, node);
            let estimated = estimate(self.prepared, node, way.rate, self.slower);
            self.estimated += way.reached * (estimated - known).max(0.0);
            self.found += way.reached * (found - known).max(0.0);
        }
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
        let key = (node.key(&self.prepared.steps), way.depth);
        if let Some(&known) = self.deep.get(&key) {
            return known;
        }
        self.count();
        let mut best = base;
        let (list, rate) = candidates(self.prepared, node, INNER_WIDTH);
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
        let rules = self.rules;
        rules.iter().map(|&rule| self.follow(node, rule, way)).fold(f64::INFINITY, f64::min)
    }

    /// Expected minutes of following `rule` from `node`, ending or fixing wherever that is better.
    fn follow(&mut self, node: &Node, rule: Rule, way: Way) -> f64 {
        if finished(self.prepared, node) {
            return 0.0;
        }
        let key = (node.key(&self.prepared.steps), rule);
        if let Some(&known) = self.base.get(&key) {
            return known;
        }
        if self.is_end(way) {
            return estimate(self.prepared, node, way.rate, self.slower);
        }
        self.count();
        let before = way;
        let list = scored(self.prepared, node, rule);
        // Edges are no bits: with them the last known rate has to do.
        let bits = rule == Rule::Information;
        let way =
            Way { rate: if bits { best_rate(self.prepared, &list) } else { way.rate }, ..way };
        let least = if let Some(next) = list.into_iter().next() {
            let mut total = next.added_minutes;
            for (probability, after) in successors(self.prepared, node, next.step) {
                total += probability * self.follow(&after, rule, way.through(probability));
            }
            total.min(end_minutes(self.prepared, node, total))
        } else {
            stop_minutes(self.prepared, node).unwrap_or(0.0)
        };
        self.compare(node, before, least);
        self.base.insert(key, least);
        least
    }

    fn count(&mut self) {
        self.nodes += 1;
        self.stopped |= !self.progress.step();
    }

    /// Whether nothing further down this way is followed.
    fn is_end(&self, way: Way) -> bool {
        self.spent() || way.reached < self.pass.least_probability
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
pub fn candidates(prepared: &Prepared, node: &Node, width: usize) -> (Vec<Scored>, f64) {
    let all = scored(prepared, node, Rule::Information);
    let mut list: Vec<Scored> = all.iter().copied().take(width).collect();
    for other in scored(prepared, node, Rule::Edges).into_iter().take(width) {
        if list.iter().all(|scored| scored.step != other.step) {
            list.extend(all.iter().find(|scored| scored.step == other.step));
        }
    }
    (list, best_rate(prepared, &all))
}

/// Expected minutes when no further test is made: stop, or only fix. Matters only below `limit`.
fn end_minutes(prepared: &Prepared, node: &Node, limit: f64) -> f64 {
    let stop = stop_minutes(prepared, node).unwrap_or(f64::INFINITY);
    match prepared.goal {
        Goal::Repair { .. } => stop.min(fix_sequence_minutes(prepared, node, limit)),
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
