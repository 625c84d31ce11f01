//! Which watched branches of a large network a change can have moved at all.
//!
//! What a change adds to the solution is a field of volts with its sources at the ends of the changed
//! branches and nothing but resistances elsewhere: no volts anywhere exceed those of the nodes that part a
//! place from the sources (ground, which is none, aside). So a walk from the sources ends at nodes whose
//! volts nothing behind them minds. What is behind a cut node of the graph without ground is known
//! beforehand (one depth-first search: J. Hopcroft and R. Tarjan 1973, from memory); anywhere else the
//! walk ends at what nothing in the graph minds.

use std::collections::HashSet;
use std::hash::{BuildHasherDefault, Hasher};

/// No block.
const NONE: u32 = u32::MAX;

/// A branch that is watched: its place in the list, its nodes, and the volts across it that it can bear.
#[derive(Debug, Clone, Copy)]
pub(in crate::electric) struct Guard {
    pub watched: u32,
    pub ends: (usize, usize),
    pub volts: f64,
}

/// The blocks of a graph, hanging from each other. A block is nodes of which each two are joined in two
/// ways, or the two ends of a bridge.
#[derive(Debug)]
pub(in crate::electric) struct Regions {
    /// The block above each node; none for a root.
    above: Vec<u32>,
    /// The node by which each block hangs. Blocks come after those that hang from them.
    tops: Vec<u32>,
    /// By node: its neighbours, with what those behind each can bear, that with the least first.
    near: Vec<Vec<(f64, u32)>>,
    /// Watched at each node; between two nodes at either.
    watched: Vec<Vec<u32>>,
}

impl Regions {
    /// Nodes below `nodes`, of which 0 is ground; `edges` join them.
    pub fn new(nodes: usize, edges: &[(usize, usize)], guards: &[Guard]) -> Regions {
        let mut near: Vec<Vec<u32>> = vec![Vec::new(); nodes];
        for &(from, to) in edges.iter().filter(|(from, to)| from != to && *from != 0 && *to != 0) {
            near[from].push(to as u32);
            near[to].push(from as u32);
        }
        let mut regions = Regions {
            above: vec![NONE; nodes],
            tops: Vec::new(),
            near: Vec::new(),
            watched: vec![Vec::new(); nodes],
        };
        // A hub as the root keeps the ways to it short.
        let mut roots: Vec<usize> = (1..nodes).collect();
        roots.sort_by_key(|&node| std::cmp::Reverse(near[node].len()));
        let mut search =
            Search { near: &near, order: vec![0; nodes], low: vec![0; nodes], count: 0 };
        for root in roots {
            if search.order[root] == 0 {
                search.component(root, &mut regions);
            }
        }
        regions.guard(&near, guards);
        regions
    }

    /// Tells each node what those behind its neighbours can bear.
    fn guard(&mut self, near: &[Vec<u32>], guards: &[Guard]) {
        let mut bears = vec![f64::INFINITY; self.tops.len()];
        let mut least = f64::INFINITY;
        for guard in guards.iter().filter(|guard| guard.volts < f64::INFINITY) {
            let (from, to) = guard.ends;
            for node in [from, to].into_iter().filter(|node| *node != 0) {
                self.watched[node].push(guard.watched);
                // A guard of a block may be counted for that above as well: too much is looked at then.
                if self.above[node] != NONE {
                    let bear = &mut bears[self.above[node] as usize];
                    *bear = bear.min(guard.volts);
                }
            }
            least = least.min(guard.volts);
        }
        for block in 0..self.tops.len() {
            let above = self.above[self.tops[block] as usize];
            if above != NONE {
                bears[above as usize] = bears[above as usize].min(bears[block]);
            }
        }
        let behind = |node: usize, other: u32| {
            let block = self.above[other as usize];
            let hangs = block != NONE && self.tops[block as usize] as usize == node;
            if hangs { bears[block as usize] } else { least }
        };
        self.near = near
            .iter()
            .enumerate()
            .map(|(node, near)| {
                let one = |&other: &u32| (behind(node, other), other);
                let mut near: Vec<(f64, u32)> = near.iter().map(one).collect();
                near.retain(|one| one.0 < f64::INFINITY);
                near.sort_by(|a, b| a.0.total_cmp(&b.0));
                near
            })
            .collect();
    }

    /// Tells `meet` of each watched branch that a field with its sources at the nodes `seeds` can have moved
    /// by more than it bears, until it says no; `volts` gives the field. False if it said no.
    pub fn visit(
        &self,
        seeds: &[usize],
        mut volts: impl FnMut(usize) -> f64,
        mut meet: impl FnMut(usize) -> bool,
    ) -> bool {
        let mut open: Vec<u32> = Vec::with_capacity(32);
        let mut known: HashSet<u32, BuildHasherDefault<Spreading>> = HashSet::default();
        for &seed in seeds.iter().filter(|&&seed| seed != 0) {
            if known.insert(seed as u32) {
                open.push(seed as u32);
            }
        }
        while let Some(node) = open.pop() {
            let node = node as usize;
            if !self.watched[node].iter().all(|&watched| meet(watched as usize)) {
                return false;
            }
            let Some(first) = self.near[node].first() else { continue };
            let volts = volts(node).abs();
            if volts < first.0 {
                continue;
            }
            for &(_, other) in self.near[node].iter().take_while(|one| one.0 <= volts) {
                if known.insert(other) {
                    open.push(other);
                }
            }
        }
        true
    }
}

/// Spreads the numbers of nodes over a table.
#[derive(Debug, Default)]
struct Spreading(u64);

impl Hasher for Spreading {
    fn finish(&self) -> u64 {
        self.0
    }

    fn write(&mut self, bytes: &[u8]) {
        for &byte in bytes {
            self.write_u32(u32::from(byte));
        }
    }

    fn write_u32(&mut self, number: u32) {
        // Fibonacci hashing (D. E. Knuth, from memory).
        self.0 = (self.0 ^ u64::from(number)).wrapping_mul(0x9e37_79b9_7f4a_7c15).rotate_left(26);
    }
}

/// A depth-first search without recursion.
struct Search<'graph> {
    near: &'graph [Vec<u32>],
    /// In which a node was met, counted from one.
    order: Vec<u32>,
    /// The earliest that can be reached from below a node.
    low: Vec<u32>,
    count: u32,
}

impl Search<'_> {
    fn component(&mut self, root: usize, regions: &mut Regions) {
        // Node, the one it was met from, how many of its neighbours are done.
        let mut stack = vec![(root, root, 0)];
        // Nodes met and not yet in a block above them.
        let mut waiting = Vec::new();
        self.meet(root);
        while let Some((node, from, done)) = stack.pop() {
            if let Some(&next) = self.near[node].get(done) {
                let next = next as usize;
                stack.push((node, from, done + 1));
                if self.order[next] == 0 {
                    self.meet(next);
                    waiting.push(next);
                    stack.push((next, node, 0));
                } else if next != from {
                    self.low[node] = self.low[node].min(self.order[next]);
                }
                continue;
            }
            if node == root {
                continue;
            }
            self.low[from] = self.low[from].min(self.low[node]);
            if self.low[node] >= self.order[from] {
                let block = regions.tops.len() as u32;
                let at = waiting.iter().rposition(|&one| one == node).unwrap_or(0);
                waiting.drain(at..).for_each(|one: usize| regions.above[one] = block);
                regions.tops.push(from as u32);
            }
        }
    }

    fn meet(&mut self, node: usize) {
        self.count += 1;
        self.order[node] = self.count;
        self.low[node] = self.count;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two triangles on a bridge, and a spur of each; guards on the spurs and over ground.
    fn graph() -> Regions {
        let edges =
            [(1, 2), (2, 3), (3, 1), (3, 4), (4, 5), (5, 6), (6, 4), (1, 7), (6, 8), (9, 10)];
        let guard = |watched, ends, volts| Guard { watched, ends, volts };
        let guards = [
            guard(0, (1, 7), 0.5),
            guard(1, (6, 8), 0.1),
            guard(2, (8, 0), 0.3),
            guard(3, (9, 10), 0.1),
            guard(4, (2, 3), 2.0),
        ];
        Regions::new(11, &edges, &guards)
    }

    #[track_caller]
    fn check(seeds: &[usize], volts: f64, expected: &[usize]) {
        let mut met = Vec::new();
        let all = graph().visit(
            seeds,
            |_| volts,
            |watched| {
                met.push(watched);
                true
            },
        );
        met.sort_unstable();
        met.dedup();
        assert!(all && met == expected, "{met:?}");
    }

    #[test]
    fn what_a_field_cannot_reach_is_not_met() {
        check(&[9], 9.0, &[3]);
        check(&[2, 3], 1.0, &[0, 1, 2, 4]);
        check(&[2, 3], 0.2, &[0, 1, 2, 4]);
        check(&[2, 3], 0.01, &[4]);
        check(&[8, 6], 0.01, &[1, 2]);
    }
}
