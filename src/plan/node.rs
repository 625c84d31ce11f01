//! A state of a job during a search.

use std::hash::{DefaultHasher, Hash, Hasher};

use super::bit_set::BitSet;
use super::prepared::{Prepared, Step};

/// Below this a probability counts as zero.
pub const NOTHING: f64 = 1e-12;

/// A state of a job, laid out like [`Prepared`].
#[derive(Debug, Clone)]
pub struct Node {
    /// Probability of each group; sums to 1.
    pub belief: Vec<f64>,
    /// The mode the machine stands in.
    pub mode: usize,
    /// Places open already.
    pub opened: BitSet,
    /// Steps used up.
    pub used: BitSet,
}

/// A value that stands for all of a node that matters for what follows.
pub type Key = [u64; 2];

impl Node {
    /// Probability of `outcome`.
    pub fn probability(&self, step: &Step, outcome: usize) -> f64 {
        self.belief
            .iter()
            .zip(&step.rows[outcome])
            .map(|(share, likelihood)| share * likelihood)
            .sum()
    }

    /// The node after `step` (at position `index`) has shown `outcome`, which has `probability`.
    #[must_use]
    pub fn after(&self, step: &Step, outcome: usize, probability: f64) -> Self {
        let row = &step.rows[outcome];
        let belief = self
            .belief
            .iter()
            .zip(row)
            .map(|(share, likelihood)| share * likelihood / probability)
            .collect();
        let mut next = Self {
            belief,
            mode: step.leave_mode,
            opened: self.opened.clone(),
            used: self.used.clone(),
        };
        next.opened.union_with(&step.places);
        next.used.union_with(&step.uses);
        next
    }

    /// Whether `step` can show more than one outcome here.
    pub fn splits(&self, step: &Step) -> bool {
        step.rows.iter().any(|row| {
            let mut possible = self.belief.iter().zip(row).filter(|(share, _)| **share > NOTHING);
            let first = possible.next().map_or(0.0, |(_, likelihood)| *likelihood);
            possible.any(|(_, likelihood)| (likelihood - first).abs() > NOTHING)
        })
    }

    /// The key of this node: equal keys have equal futures.
    ///
    /// Used steps count only while they could still tell something: for tests without noise the key is
    /// then the set of hypotheses left, whatever way led to it.
    pub fn key(&self, prepared: &Prepared) -> Key {
        let live: Vec<usize> = self
            .used
            .iter()
            .filter(|&index| {
                let step = &prepared.steps[index];
                step.ending.is_some_and(|outcome| self.probability(step, outcome) > NOTHING)
                    || self.splits(step)
            })
            .collect();
        let mut key = [0; 2];
        for (salt, word) in key.iter_mut().enumerate() {
            let mut hasher = DefaultHasher::new();
            salt.hash(&mut hasher);
            for share in &self.belief {
                // Rounded, so that the order of the same readings does not matter.
                ((share * 1e12).round() as u64).hash(&mut hasher);
            }
            self.mode.hash(&mut hasher);
            self.opened.words().hash(&mut hasher);
            live.hash(&mut hasher);
            *word = hasher.finish();
        }
        key
    }
}
