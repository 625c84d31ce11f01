//! Columns of pairs of nodes, found when first asked for and kept.
//!
//! A column that is there is read without a lock: a bucket is a chain that only ever grows at its end.

use std::sync::OnceLock;

use super::values::Values;
use crate::electric::network::NodeId;

/// Buckets for each node; most nodes are asked for beside one or two others.
const BUCKETS_A_NODE: usize = 2;

#[derive(Debug)]
pub(in crate::electric) struct PairTable {
    buckets: Box<[Link]>,
}

type Link = OnceLock<Box<Entry>>;

#[derive(Debug)]
struct Entry {
    ends: (NodeId, NodeId),
    values: Values,
    next: Link,
}

impl PairTable {
    /// For pairs of so many nodes.
    pub fn new(nodes: usize) -> Self {
        let count = (BUCKETS_A_NODE * nodes).next_power_of_two();
        PairTable { buckets: (0..count).map(|_| Link::new()).collect() }
    }

    /// The column of a pair; `make` finds it where it is not known.
    pub fn get(&self, ends: (NodeId, NodeId), make: impl Fn() -> Values) -> &Values {
        let entry = || Box::new(Entry { ends, values: make(), next: Link::new() });
        let mut at = &self.buckets[self.bucket(ends)];
        loop {
            let known = at.get_or_init(entry);
            if known.ends == ends {
                return &known.values;
            }
            at = &known.next;
        }
    }

    fn bucket(&self, (from, to): (NodeId, NodeId)) -> usize {
        // Fibonacci hashing (D. E. Knuth, from memory).
        let both = u64::from(from.0) << 32 | u64::from(to.0);
        let spread = both.wrapping_mul(0x9e37_79b9_7f4a_7c15);
        (spread >> 33) as usize & (self.buckets.len() - 1)
    }
}
