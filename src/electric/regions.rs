//! Which watched branches of a large network a change can have moved at all.
//!
//! What a change adds to the solution is a field of volts with its sources at the ends of the changed
//! branches and nothing but resistances elsewhere. Where one node alone joins a part of the network to the
//! sources, no volts in that part exceed those of the node (ground, which is none, aside): so if they are
//! less than what anything watched there can bear, the part need not be looked at. The parts are those
//! behind the cut nodes of the graph without ground, found by one depth-first search (J. Hopcroft and
//! R. Tarjan 1973, from memory).

/// No block.
const NONE: u32 = u32::MAX;

/// A branch that is watched: its place in the list, its nodes, and the volts across it that it can bear.
#[derive(Debug, Clone, Copy)]
pub(super) struct Guard {
    pub watched: u32,
    pub ends: (usize, usize),
    pub volts: f64,
}

/// The blocks of a graph, hanging from each other.
#[derive(Debug)]
pub(super) struct Regions {
    /// The block above each node; none for a root.
    above: Vec<u32>,
    blocks: Vec<Block>,
    /// Below each node: blocks with the least that anything in them and below can bear, that one first.
    below: Vec<Vec<(f64, u32)>>,
    /// Watched between a root and ground.
    at_root: Vec<Vec<u32>>,
}

/// Nodes of which each two are joined in two ways, or the two ends of a bridge.
#[derive(Debug, Default)]
struct Block {
    /// The node by which it hangs.
    top: u32,
    /// The other nodes.
    nodes: Vec<u32>,
    watched: Vec<u32>,
}

impl Regions {
    /// Nodes below `nodes`, of which 0 is ground; `edges` join them.
    pub fn new(nodes: usize, edges: &[(usize, usize)], guards: &[Guard]) -> Regions {
        let mut regions = Regions {
            above: vec![NONE; nodes],
            blocks: Vec::new(),
            below: vec![Vec::new(); nodes],
            at_root: vec![Vec::new(); nodes],
        };
        let mut near: Vec<Vec<u32>> = vec![Vec::new(); nodes];
        for &(from, to) in edges.iter().filter(|(from, to)| from != to && *from != 0 && *to != 0) {
            near[from].push(to as u32);
            near[to].push(from as u32);
        }
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
        regions.guard(guards);
        regions
    }

    /// Puts the guards into their blocks and tells each node what those below it can bear.
    fn guard(&mut self, guards: &[Guard]) {
        let mut bears = vec![f64::INFINITY; self.blocks.len()];
        for guard in guards.iter().filter(|guard| guard.volts < f64::INFINITY) {
            match self.block_of(guard.ends) {
                Ok(block) => {
                    self.blocks[block].watched.push(guard.watched);
                    bears[block] = bears[block].min(guard.volts);
                }
                Err(root) => self.at_root[root].push(guard.watched),
            }
        }
        // Blocks come after all that hang from them.
        for block in 0..self.blocks.len() {
            let below =
                self.blocks[block].nodes.iter().flat_map(|&node| &self.below[node as usize]);
            let least = below.map(|one| one.0).fold(bears[block], f64::min);
            if least < f64::INFINITY {
                self.below[self.blocks[block].top as usize].push((least, block as u32));
            }
        }
        for below in &mut self.below {
            below.sort_by(|a, b| a.0.total_cmp(&b.0));
        }
    }

    /// The block of an edge, or of a node over ground; the node itself if it is a root.
    fn block_of(&self, (from, to): (usize, usize)) -> Result<usize, usize> {
        let lower = |one: usize, other: usize| {
            let block = self.above[one];
            let joins = block != NONE && {
                let block = &self.blocks[block as usize];
                other == 0 || block.top as usize == other || self.above[other] == self.above[one]
            };
            joins.then_some(block as usize)
        };
        match (from, to) {
            (0, node) | (node, 0) => lower(node, 0).ok_or(node),
            _ => lower(from, to).or_else(|| lower(to, from)).ok_or(from),
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
        let mut open: Vec<u32> = Vec::new();
        let mut done: Vec<u32> = Vec::new();
        // Sources are nowhere but on the ways from the seeds to their roots.
        for &seed in seeds.iter().filter(|&&seed| seed != 0) {
            let mut node = seed;
            while self.above[node] != NONE && !open.contains(&self.above[node]) {
                open.push(self.above[node]);
                node = self.blocks[self.above[node] as usize].top as usize;
            }
            if self.above[node] == NONE && !done.contains(&(node as u32)) {
                done.push(node as u32);
                if !self.at_root[node].iter().all(|&watched| meet(watched as usize)) {
                    return false;
                }
            }
        }
        let forced = open.len();
        for root in done {
            self.open_below(root as usize, &mut volts, &mut open, forced);
        }
        let mut next = 0;
        while next < open.len() {
            let block = &self.blocks[open[next] as usize];
            if !block.watched.iter().all(|&watched| meet(watched as usize)) {
                return false;
            }
            for &node in &block.nodes {
                self.open_below(node as usize, &mut volts, &mut open, forced);
            }
            next += 1;
        }
        true
    }

    /// Adds the blocks below a node that its volts can have moved; the first `forced` are there already.
    fn open_below(
        &self,
        node: usize,
        volts: &mut impl FnMut(usize) -> f64,
        open: &mut Vec<u32>,
        forced: usize,
    ) {
        let Some(first) = self.below[node].first() else { return };
        let volts = volts(node).abs();
        if volts < first.0 {
            return;
        }
        for &(_, block) in self.below[node].iter().take_while(|one| one.0 <= volts) {
            if !open[..forced].contains(&block) {
                open.push(block);
            }
        }
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
                let block = regions.blocks.len() as u32;
                let at = waiting.iter().rposition(|&one| one == node).unwrap_or(0);
                let nodes: Vec<u32> = waiting.drain(at..).map(|one| one as u32).collect();
                nodes.iter().for_each(|&one| regions.above[one as usize] = block);
                regions.blocks.push(Block { top: from as u32, nodes, watched: Vec::new() });
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
        assert!(all && met == expected, "{met:?}");
    }

    #[test]
    fn what_a_field_cannot_reach_is_not_met() {
        check(&[9], 9.0, &[3]);
        check(&[2, 3], 1.0, &[0, 1, 2, 4]);
        check(&[2, 3], 0.2, &[1, 2, 4]);
        check(&[2, 3], 0.01, &[4]);
        check(&[8, 6], 0.01, &[1, 2, 4]);
    }
}
