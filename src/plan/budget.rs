//! How much a plan may cost to make, by which method, and why a search ended.

use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

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
