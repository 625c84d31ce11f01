//! Which watched branches of a large network a change can have moved at all.
//!
//! What a change adds to the solution is a field of volts with its sources at the ends of the changed
//! branches and nothing but resistances elsewhere. Two things follow.
//!
//! - Behind a node by which a part of the graph without ground hangs, and in which there is no source, all volts
//!   are in proportion to those of that node, and in the same one for every field. One solution of the network
//!   tells the proportions, so what is watched there is held against the volts of the node alone.
//! - Elsewhere no volts exceed those of the nodes that part a place from the sources (ground, which is none,
//!   aside). So a walk from the sources ends at nodes whose volts nothing behind them minds.

mod blocks;
pub(in crate::electric) mod making;

use fixedbitset::FixedBitSet;

use self::blocks::NONE;
use self::making::{Guard, Hung, Making, Spot};
use crate::electric::short::PerPort;

/// The blocks of a graph, hanging from each other.
#[derive(Debug)]
pub(in crate::electric) struct Regions {
    /// The block above each node; none for a root.
    above: Vec<u32>,
    /// The node by which each block hangs.
    tops: Vec<u32>,
    /// The first of each block and all behind it, which are in a row.
    firsts: Vec<u32>,
    hung: Vec<Hung>,
    spots: Vec<Spot>,
    /// So many volts nothing anywhere minds.
    minds: f64,
}

impl Regions {
    /// Nodes below `nodes`, of which 0 is ground; `edges` join them. `field` solves the network without its
    /// sources: volts of all nodes under an ampere into each of these.
    pub fn new(
        nodes: usize,
        edges: &[(usize, usize)],
        guards: &[Guard],
        field: impl FnOnce(&[u32]) -> Vec<f64>,
    ) -> Regions {
        let Making { blocks, hung, spots, minds, .. } = Making::new(nodes, edges, guards, field);
        Regions {
            above: blocks.above,
            tops: blocks.tops,
            firsts: blocks.firsts,
            hung,
            spots,
            minds,
        }
    }

    /// Tells `meet` of each watched branch that a field with its sources at the nodes `seeds` can have moved
    /// by more than it bears, until it says no; `volts` gives the field. False if it said no.
    pub fn visit(
        &self,
        seeds: &[usize],
        mut volts: impl FnMut(usize) -> f64,
        mut meet: impl FnMut(usize) -> bool,
    ) -> bool {
        let mut open = Vec::with_capacity(32);
        let mut known = FixedBitSet::with_capacity(self.spots.len());
        for &seed in seeds.iter().filter(|&&seed| seed != 0) {
            if !known.put(seed) {
                open.push(seed as u32);
            }
        }
        let sources = self.blocks_of(&open);
        let by_top = self.with_source(&sources);
        let mut hanging = Vec::new();
        while let Some(node) = open.pop() {
            let spot = &self.spots[node as usize];
            let volts = volts(node as usize).abs();
            let moved = spot.guards.iter().filter(|guard| guard.0 <= volts);
            let hung = spot.blocks.iter().take_while(|block| block.0 <= volts);
            let free = hung.filter(|block| !self.has_source(block.1, &sources));
            hanging.extend(free.map(|&(_, block)| (block, volts)));
            if !moved.into_iter().all(|&(_, watched)| meet(watched as usize))
                || !self.descend(&mut hanging, &mut meet)
            {
                return false;
            }
            let mut go_on = |others: &[u32]| {
                open.extend(others.iter().filter(|&&other| !known.put(other as usize)));
            };
            if volts >= self.minds {
                go_on(&spot.beside);
            }
            let from = by_top.partition_point(|one| one.0 < node);
            for &(_, block) in by_top[from..].iter().take_while(|one| one.0 == node) {
                let hung = &self.hung[block as usize];
                if volts >= hung.minds {
                    go_on(&hung.first);
                }
            }
        }
        true
    }

    /// The blocks above some nodes, in their order.
    fn blocks_of(&self, nodes: &[u32]) -> PerPort<u32> {
        let above = nodes.iter().map(|&node| self.above[node as usize]);
        let mut blocks: PerPort<u32> = above.filter(|&block| block != NONE).collect();
        blocks.sort_unstable();
        blocks
    }

    /// Whether one of the blocks `sources`, which are in order, is this or hangs from it.
    fn has_source(&self, block: u32, sources: &[u32]) -> bool {
        let next = sources.partition_point(|&source| source < self.firsts[block as usize]);
        sources.get(next).is_some_and(|&source| source <= block)
    }

    /// The blocks with a source in them or behind them, with the nodes they hang by, in the order of these.
    fn with_source(&self, sources: &[u32]) -> Vec<(u32, u32)> {
        let mut by_top = Vec::with_capacity(32);
        for (at, &source) in sources.iter().enumerate() {
            // Where one comes to what hangs from another, that has listed what is above.
            let before = at.checked_sub(1).map(|at| sources[at]);
            let is_listed =
                |block: u32| before.is_some_and(|before| self.firsts[block as usize] <= before);
            let mut block = source;
            while block != NONE && !is_listed(block) {
                let top = self.tops[block as usize];
                by_top.push((top, block));
                block = self.above[top as usize];
            }
        }
        by_top.sort_unstable();
        by_top
    }

    /// Tells of what is moved in blocks without a source, given with the volts they hang by.
    fn descend(&self, hanging: &mut Vec<(u32, f64)>, meet: &mut impl FnMut(usize) -> bool) -> bool {
        while let Some((block, volts)) = hanging.pop() {
            let hung = &self.hung[block as usize];
            let mut moved = hung.guards.iter().take_while(|guard| guard.0 <= volts);
            if !moved.all(|&(_, watched)| meet(watched as usize)) {
                return false;
            }
            let behind = hung.blocks.iter().take_while(|block| block.0 <= volts);
            hanging.extend(behind.map(|&(_, block, share)| (block, volts * share)));
        }
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Conductances between nodes, siemens; node 0 is ground.
    const EDGES: [(usize, usize, f64); 15] = [
        (1, 2, 1.0),
        (2, 3, 0.5),
        (3, 1, 2.0),
        (3, 4, 1.0),
        (4, 5, 3.0),
        (5, 6, 0.1),
        (6, 4, 0.3),
        (1, 7, 1.0),
        (6, 8, 0.25),
        (9, 10, 1.0),
        (1, 0, 0.2),
        (7, 0, 4.0),
        (8, 0, 0.5),
        (5, 0, 0.05),
        (10, 0, 1.0),
    ];
    const NODES: usize = 11;

    /// Volts of all nodes under amperes into some, by Gauss-Seidel iteration.
    fn volts(amps: &[(usize, f64)]) -> Vec<f64> {
        let mut volts = vec![0.0; NODES];
        for _ in 0..2000 {
            for node in 1..NODES {
                let own = amps.iter().filter(|one| one.0 == node).map(|one| one.1);
                let (mut sum, mut siemens) = (own.sum::<f64>(), 0.0);
                for (from, to, one) in EDGES {
                    if from == node || to == node {
                        sum += one * volts[from + to - node];
                        siemens += one;
                    }
                }
                volts[node] = sum / siemens;
            }
        }
        volts
    }

    /// Two triangles on a bridge, and a spur of each; what is watched bears these volts, and one of them is no edge.
    fn guards() -> Vec<Guard> {
        let guard = |watched, ends, volts| Guard { watched, ends, volts, conducts: true };
        vec![
            guard(0, (1, 7), 0.5),
            guard(1, (6, 8), 0.1),
            guard(2, (8, 0), 0.03),
            guard(3, (9, 10), 0.1),
            guard(4, (2, 3), 0.2),
            guard(5, (4, 5), 0.02),
            Guard { conducts: false, ..guard(6, (2, 8), 0.4) },
        ]
    }

    #[test]
    fn all_that_a_field_moves_is_met_and_little_else() {
        let edges: Vec<(usize, usize)> = EDGES.iter().map(|edge| (edge.0, edge.1)).collect();
        let under = |nodes: &[u32]| {
            volts(&nodes.iter().map(|&node| (node as usize, 1.0)).collect::<Vec<_>>())
        };
        let guards = guards();
        let regions = Regions::new(NODES, &edges, &guards, under);
        let (mut met_in_all, mut moved_in_all, mut tries) = (0, 0, 0);
        for (one, other) in (1..NODES).flat_map(|one| (0..one).map(move |other| (one, other))) {
            for amps in [0.01, 0.05, 0.2, 1.0, 5.0] {
                let field = volts(&[(one, amps), (other, -amps)]);
                let mut met = Vec::new();
                let seeds = [one, other];
                assert!(regions.visit(
                    &seeds,
                    |node| field[node],
                    |watched| {
                        met.push(watched as u32);
                        true
                    }
                ));
                met.sort_unstable();
                met.dedup();
                let moved = |guard: &&Guard| {
                    (field[guard.ends.0] - field[guard.ends.1]).abs() > guard.volts
                };
                for guard in guards.iter().filter(moved) {
                    assert!(met.contains(&guard.watched), "{seeds:?}, {amps} A: {met:?}");
                    moved_in_all += 1;
                }
                met_in_all += met.len();
                tries += 1;
            }
        }
        assert!(
            moved_in_all > tries / 2 && met_in_all < 3 * moved_in_all,
            "{met_in_all} {moved_in_all}"
        );
    }

    #[test]
    fn what_hangs_by_a_node_is_met_as_its_volts_say() {
        // A feed with two fused loads: 1 ohm to the first load of 3 ohms, 1 ohm to the second of 9.
        let edges = [(1, 2), (1, 3)];
        let guard = |watched, ends| Guard { watched, ends, volts: 1.0, conducts: true };
        let guards = [guard(0, (1, 2)), guard(1, (1, 3))];
        let regions = Regions::new(4, &edges, &guards, |roots| {
            assert_eq!(roots, [1]);
            vec![0.0, 1.0, 0.75, 0.9]
        });
        for (volts, expected) in [(3.9, vec![]), (4.1, vec![0]), (9.9, vec![0]), (10.1, vec![0, 1])]
        {
            let mut met = Vec::new();
            let meet = |watched| {
                met.push(watched);
                true
            };
            assert!(regions.visit(&[1], |_| volts, meet));
            met.sort_unstable();
            assert_eq!(met, expected, "{volts}");
        }
    }
}
