//! What a policy really costs: every outcome followed, each with its probability.

use std::collections::HashMap;

use super::budget::{Budget, Method, Progress};
use super::decide::plan_node;
use super::goal::{finished, stop_minutes};
use super::look::successors;
use super::node::{Key, Node};
use super::prepared::Prepared;

/// A policy walked to its ends.
///
/// The value is the true expected cost of what the planner would do if asked again at each step, not
/// what it expected when it was asked first.
#[derive(Debug)]
pub struct Walk<'a> {
    prepared: &'a Prepared,
    method: Method,
    budget: Budget,
    known: HashMap<Key, f64>,
}

impl<'a> Walk<'a> {
    /// A walk of what `method` chooses within `budget` at each step.
    pub fn new(prepared: &'a Prepared, method: Method, budget: Budget) -> Self {
        Self { prepared, method, budget, known: HashMap::new() }
    }

    /// Expected minutes from `node` to the goal, the price of ending the job included.
    pub fn minutes(&mut self, node: &Node) -> f64 {
        if finished(self.prepared, node) {
            return 0.0;
        }
        let key = node.key(&self.prepared.steps);
        if let Some(&known) = self.known.get(&key) {
            return known;
        }
        let plan = plan_node(self.method, self.prepared, node, &self.budget, &Progress::default());
        let minutes = match self.prepared.step_of(plan.action) {
            None => stop_minutes(self.prepared, node).unwrap_or(0.0),
            Some(index) => {
                let mut total = self.prepared.added_minutes(node, &self.prepared.steps[index]);
                for (probability, next) in successors(self.prepared, node, index) {
                    total += probability * self.minutes(&next);
                }
                total
            }
        };
        self.known.insert(key, minutes);
        minutes
    }
}
