//! The least possible expected minutes, by dynamic programming with bounds.

use std::collections::HashMap;

use super::base::{Rule, scored};
use super::bound::Bound;
use super::goal::{finished, stop_minutes};
use super::look::successors;
use super::node::{Key, Node};
use super::prepared::Prepared;

/// A value of a search is accepted when no other is better by more than this.
pub const TOLERANCE: f64 = 1e-10;

/// What is known of a node.
#[derive(Debug, Clone, Copy)]
struct Known {
    /// No plan is better.
    at_least: f64,
    /// `at_least` is reached.
    exact: bool,
    /// The step of the best plan; `None` to end the job.
    step: Option<usize>,
}

/// Dynamic programming over (belief, mode, open places, steps that still matter), depth first, with what
/// cannot beat the best so far cut off by [`Bound`].
///
/// Give it a problem without useless steps (see [`super::focus`]).
#[derive(Debug)]
pub struct Exact<'a> {
    prepared: &'a Prepared,
    bound: Bound,
    known: HashMap<Key, Known>,
    nodes_left: u64,
    nodes: u64,
}

/// The nodes allowed were used before the answer was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OutOfNodes;

impl<'a> Exact<'a> {
    /// A search that may examine `nodes_left` nodes.
    pub fn new(prepared: &'a Prepared, nodes_left: u64) -> Self {
        Self { prepared, bound: Bound::new(prepared), known: HashMap::new(), nodes_left, nodes: 0 }
    }

    /// Nodes examined so far.
    pub fn nodes(&self) -> u64 {
        self.nodes
    }

    /// The least expected minutes from `node`.
    pub fn minutes(&mut self, node: &Node) -> Result<f64, OutOfNodes> {
        self.below(node, f64::INFINITY).map(|known| known.at_least)
    }

    /// The first step of the best plan and its expected minutes; no step to end the job.
    pub fn best(&mut self, node: &Node) -> Result<(Option<usize>, f64), OutOfNodes> {
        self.below(node, f64::INFINITY).map(|known| (known.step, known.at_least))
    }

    /// Exact when the node's value is below `limit`; otherwise some lower bound that is not.
    fn below(&mut self, node: &Node, limit: f64) -> Result<Known, OutOfNodes> {
        if finished(self.prepared, node) {
            return Ok(Known { at_least: 0.0, exact: true, step: None });
        }
        let key = node.key(&self.prepared.steps);
        let seen = self.known.get(&key).copied();
        let at_least = match seen {
            Some(known) if known.exact || known.at_least >= limit => return Ok(known),
            Some(known) => known.at_least,
            None => self.bound.minutes(self.prepared, node),
        };
        if at_least >= limit {
            return Ok(Known { at_least, exact: false, step: None });
        }
        let known = self.search(node, limit)?;
        self.known.insert(key, known);
        Ok(known)
    }

    fn search(&mut self, node: &Node, limit: f64) -> Result<Known, OutOfNodes> {
        self.nodes_left = self.nodes_left.checked_sub(1).ok_or(OutOfNodes)?;
        self.nodes += 1;
        let moves = scored(self.prepared, node, Rule::Information);
        let stop = stop_minutes(self.prepared, node);
        if moves.is_empty() {
            // Nothing is left to try: the job ends whether or not that has a price.
            return Ok(Known { at_least: stop.unwrap_or(0.0), exact: true, step: None });
        }
        let mut best = Known { at_least: stop.unwrap_or(f64::INFINITY), exact: true, step: None };
        let mut cut = f64::INFINITY;
        for candidate in moves {
            let least = best.at_least.min(limit) + TOLERANCE;
            let value = self.after_step(node, candidate.step, candidate.added_minutes, least)?;
            match value {
                Ok(exact) if better(exact, candidate.step, &best) => {
                    best = Known { at_least: exact, exact: true, step: Some(candidate.step) };
                }
                Ok(_) => {}
                Err(lower) => cut = cut.min(lower),
            }
        }
        if best.at_least < limit {
            return Ok(best);
        }
        Ok(Known { at_least: best.at_least.min(cut), exact: false, step: None })
    }

    /// Expected minutes when `step` comes first, or `Err` with a lower bound that is not below `limit`.
    fn after_step(
        &mut self,
        node: &Node,
        step: usize,
        added_minutes: f64,
        limit: f64,
    ) -> Result<Result<f64, f64>, OutOfNodes> {
        let mut next = self.successors(node, step);
        let mut total =
            added_minutes + next.iter().map(|next| next.probability * next.at_least).sum::<f64>();
        // The likeliest outcome first: it decides soonest whether the step is too dear.
        next.sort_by(|a, b| b.probability.total_cmp(&a.probability));
        for Successor { node, probability, at_least } in next {
            if total >= limit {
                return Ok(Err(total));
            }
            let others = total - probability * at_least;
            let known = self.below(&node, (limit - others) / probability)?;
            total = others + probability * known.at_least;
            if !known.exact {
                return Ok(Err(total.max(limit)));
            }
        }
        Ok(Ok(total))
    }

    fn successors(&self, node: &Node, index: usize) -> Vec<Successor> {
        let bounded = |(probability, next): (f64, Node)| {
            let at_least = self.bound.minutes(self.prepared, &next);
            Successor { node: next, probability, at_least }
        };
        successors(self.prepared, node, index).map(bounded).collect()
    }
}

/// Whether a step of this value beats the best so far; among equals the first in the list of steps does,
/// but nothing beats ending the job at the same price.
fn better(value: f64, step: usize, best: &Known) -> bool {
    let earlier = best.step.is_some_and(|best| step < best);
    value < best.at_least - TOLERANCE || (earlier && value <= best.at_least + TOLERANCE)
}

struct Successor {
    node: Node,
    probability: f64,
    at_least: f64,
}
