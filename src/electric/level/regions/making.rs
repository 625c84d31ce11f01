//! What regions know of a network's blocks, as it is found.

use super::blocks::{Blocks, NONE};

/// Bounds of proportions are drawn in by this share, as both sides are rounded.
const NEAR_SHARE: f64 = 1e-6;

/// A branch that is watched: its place in the list, its nodes, and the volts across it that it can bear.
#[derive(Debug, Clone, Copy)]
pub(in crate::electric) struct Guard {
    pub watched: u32,
    pub ends: (usize, usize),
    pub volts: f64,
    /// The branch is one of the edges.
    pub conducts: bool,
}

/// What there is in a block and hangs from it, seen from the node by which it hangs.
#[derive(Debug, Clone, Default)]
pub(super) struct Hung {
    /// What is watched in it, with the volts at that node that move it by more than it bears. In order.
    pub guards: Vec<(f64, u32)>,
    /// The blocks that hang from its nodes, with the same for the first that minds, and the volts of the node by
    /// which each hangs, as a share. In order.
    pub blocks: Vec<(f64, u32, f64)>,
    /// So many volts at any node in it or behind it nothing there minds, wherever the sources are.
    pub minds: f64,
    /// The neighbours in it of the node by which it hangs.
    pub first: Vec<u32>,
}

/// A node, where the sources may be in its own block.
#[derive(Debug, Clone, Default)]
pub(super) struct Spot {
    /// What is watched at it, with the volts there that matter.
    pub guards: Vec<(f64, u32)>,
    /// The blocks that hang from it, with the volts it must have for something there to mind. In order.
    pub blocks: Vec<(f64, u32)>,
    /// Its neighbours in its own block.
    pub beside: Vec<u32>,
}

/// Regions as they are made.
pub(super) struct Making {
    pub blocks: Blocks,
    /// Volts of all nodes in a field whose sources are the roots.
    field: Vec<f64>,
    pub hung: Vec<Hung>,
    pub spots: Vec<Spot>,
    /// So many volts nothing anywhere minds.
    pub minds: f64,
}

impl Making {
    pub fn new(
        nodes: usize,
        edges: &[(usize, usize)],
        guards: &[Guard],
        field: impl FnOnce(&[u32]) -> Vec<f64>,
    ) -> Making {
        let blocks = Blocks::new(nodes, edges);
        let mut making = Making {
            field: field(&blocks.roots),
            hung: vec![Hung { minds: f64::INFINITY, ..Hung::default() }; blocks.tops.len()],
            spots: vec![Spot::default(); nodes],
            minds: f64::INFINITY,
            blocks,
        };
        for guard in guards.iter().filter(|guard| guard.volts < f64::INFINITY) {
            making.guard(guard);
        }
        // Blocks come after those that hang from them.
        for block in 0..making.hung.len() {
            making.hang(block as u32);
        }
        making.join();
        making
    }

    /// The volts at a node that make some volts where there are `field_volts` in the field, sources being elsewhere.
    fn needed(&self, top: u32, volts: f64, field_volts: f64) -> f64 {
        let share = (field_volts / self.field[top as usize]).abs();
        if share.is_nan() { 0.0 } else { volts / share * (1.0 - NEAR_SHARE) }
    }

    fn guard(&mut self, guard: &Guard) {
        let (from, to) = guard.ends;
        let half = 0.5 * guard.volts;
        let between = guard.conducts && from != 0 && to != 0;
        let edge = between.then(|| self.blocks.of_edge((from as u32, to as u32))).flatten();
        if let Some((block, deep)) = edge {
            let across = self.field[from] - self.field[to];
            let needed = self.needed(self.blocks.top(block), guard.volts, across);
            // Two nodes that no walk comes to have less than half of it each.
            self.watch(block, (needed, half), guard.watched);
            self.spots[deep as usize].guards.push((0.0, guard.watched));
            return;
        }
        // What ends at ground has the volts of its other end; of two nodes that no edge joins one has half at least.
        let bears = if from == 0 || to == 0 { guard.volts } else { half };
        for node in [from, to].into_iter().filter(|node| *node != 0) {
            let block = self.blocks.above[node];
            self.spots[node].guards.push((bears, guard.watched));
            if block == NONE {
                self.minds = self.minds.min(bears);
            } else {
                let needed = self.needed(self.blocks.top(block), bears, self.field[node]);
                self.watch(block, (needed, bears), guard.watched);
            }
        }
    }

    /// Notes in a block what is watched there.
    fn watch(&mut self, block: u32, (needed, minds): (f64, f64), watched: u32) {
        let hung = &mut self.hung[block as usize];
        hung.guards.push((needed, watched));
        hung.minds = hung.minds.min(minds);
        self.minds = self.minds.min(minds);
    }

    /// Hangs a block of which all is known to the node above it, and to the block of that.
    fn hang(&mut self, block: u32) {
        let one = &mut self.hung[block as usize];
        one.guards.sort_by(|a, b| a.0.total_cmp(&b.0));
        one.blocks.sort_by(|a, b| a.0.total_cmp(&b.0));
        let first = [one.guards.first().map(|one| one.0), one.blocks.first().map(|one| one.0)];
        let bears = first.into_iter().flatten().fold(f64::INFINITY, f64::min);
        let (minds, top) = (one.minds, self.blocks.top(block));
        let above = self.blocks.above[top as usize];
        if let Some(above) = self.hung.get_mut(above as usize) {
            above.minds = above.minds.min(minds);
        }
        if bears == f64::INFINITY {
            return;
        }
        self.spots[top as usize].blocks.push((bears, block));
        if above != NONE {
            let above_volts = self.field[self.blocks.top(above) as usize];
            let share = (self.field[top as usize] / above_volts).abs();
            // Where the field is lost in rounding, it is looked at whatever the volts are.
            let (needed, share) =
                if share.is_finite() { (bears / share, share) } else { (0.0, 1.0) };
            self.hung[above as usize].blocks.push((needed, block, share));
        }
    }

    /// Tells nodes and blocks of their neighbours.
    fn join(&mut self) {
        for (node, near) in self.blocks.near.iter().enumerate() {
            for &other in near {
                let block = self.blocks.above[other as usize];
                if block != NONE && self.blocks.top(block) as usize == node {
                    self.hung[block as usize].first.push(other);
                } else {
                    self.spots[node].beside.push(other);
                }
            }
            self.spots[node].blocks.sort_by(|a, b| a.0.total_cmp(&b.0));
        }
    }
}
