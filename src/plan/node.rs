//! A state of a job during a search.

use super::bit_set::BitSet;
use super::step::Step;

/// Below this a probability counts as zero.
pub const NOTHING: f64 = 1e-12;

/// A state of a job, laid out like [`super::Prepared`].
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

    /// The node after `step` has shown `outcome`, which has `probability`.
    #[must_use]
    pub fn after(&self, step: &Step, outcome: usize, probability: f64) -> Self {
        let weights = self.belief.iter().zip(&step.rows[outcome]);
        let belief = weights.map(|(share, likelihood)| share * likelihood / probability).collect();
        self.moved_on(step, belief)
    }

    fn moved_on(&self, step: &Step, belief: Vec<f64>) -> Self {
        let mut next = Self { belief, ..self.without_belief() };
        next.move_on(step);
        next
    }

    /// Mode, places and used steps of this node alone.
    pub(super) fn without_belief(&self) -> Self {
        let (opened, used) = (self.opened.clone(), self.used.clone());
        Self { belief: Vec::new(), mode: self.mode, opened, used }
    }

    /// Leaves mode, places and used steps as `step` does.
    pub(super) fn move_on(&mut self, step: &Step) {
        self.mode = step.leave_mode;
        self.opened.union_with(&step.places);
        self.used.union_with(&step.uses);
    }

    /// Probability that `step` ends the job.
    pub fn ends(&self, step: &Step) -> f64 {
        let ends = step.ends.iter().map(|&(group, ends)| self.belief[group] * ends);
        ends.sum::<f64>().min(1.0)
    }

    /// Whether `step` can show more than one outcome here.
    pub fn splits(&self, step: &Step) -> bool {
        step.rows.iter().any(|row| {
            let mut possible = self.belief.iter().zip(row).filter(|(share, _)| **share > NOTHING);
            let first = possible.next().map_or(0.0, |(_, likelihood)| *likelihood);
            possible.any(|(_, likelihood)| (likelihood - first).abs() > NOTHING)
        })
    }

    /// The key of this node among these steps: equal keys have equal futures.
    ///
    /// Used steps count only while they could still tell something: for tests without noise the key is
    /// then the set of hypotheses left, whatever way led to it.
    pub fn key(&self, steps: &[Step]) -> Key {
        let live: Vec<usize> = self
            .used
            .iter()
            .filter(|&index| {
                let step = &steps[index];
                if step.ending.is_some() { self.ends(step) > NOTHING } else { self.splits(step) }
            })
            .collect();
        let mut mix = Mix::default();
        for &share in &self.belief {
            // Rounded, so that the order of the same readings does not matter.
            mix.add((share * 1e12).round() as u64);
        }
        mix.add(self.mode as u64);
        for &word in self.opened.words() {
            mix.add(word);
        }
        mix.add(u64::MAX);
        for &index in &live {
            mix.add(index as u64);
        }
        mix.0
    }
}

/// Two independent multiplicative hashes side by side: 128 bits, so that no two nodes of a search meet
/// by accident. The same on every machine.
#[derive(Default)]
struct Mix(Key);

impl Mix {
    fn add(&mut self, word: u64) {
        let [a, b] = &mut self.0;
        *a = (a.rotate_left(5) ^ word).wrapping_mul(0x517c_c1b7_2722_0a95);
        *b = (b.rotate_left(23) ^ word ^ 0x9e37_79b9_7f4a_7c15).wrapping_mul(0xd6e8_feb8_6659_fd93);
        *b ^= *b >> 32;
    }
}
