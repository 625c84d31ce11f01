//! The blocks of a graph.
//!
//! A block is nodes of which each two are joined in two ways, or the two ends of a bridge; blocks hang from each other
//! by single nodes. Found by one depth-first search (J. Hopcroft and R. Tarjan 1973, from memory).

/// No block.
pub(super) const NONE: u32 = u32::MAX;

/// The blocks of a graph without its ground, hanging from each other and in the end from the roots.
#[derive(Debug)]
pub(super) struct Blocks {
    /// By node: its neighbours.
    pub near: Vec<Vec<u32>>,
    /// The block above each node; none for a root.
    pub above: Vec<u32>,
    /// The node by which each block hangs. Blocks come after those that hang from them.
    pub tops: Vec<u32>,
    /// The first of each block and all behind it, which are in a row.
    pub firsts: Vec<u32>,
    /// One node of each part of the graph.
    pub roots: Vec<u32>,
}

impl Blocks {
    /// Nodes below `nodes`, of which 0 is ground; `edges` join them.
    pub fn new(nodes: usize, edges: &[(usize, usize)]) -> Blocks {
        let mut near: Vec<Vec<u32>> = vec![Vec::new(); nodes];
        for &(from, to) in edges.iter().filter(|(from, to)| from != to && *from != 0 && *to != 0) {
            near[from].push(to as u32);
            near[to].push(from as u32);
        }
        // A hub as the root keeps the ways to it short.
        let mut roots: Vec<usize> = (1..nodes).collect();
        roots.sort_by_key(|&node| std::cmp::Reverse(near[node].len()));
        let mut search = Search {
            order: vec![0; nodes],
            low: vec![0; nodes],
            count: 0,
            blocks: Blocks {
                near,
                above: vec![NONE; nodes],
                tops: Vec::new(),
                firsts: Vec::new(),
                roots: Vec::new(),
            },
        };
        for root in roots {
            if search.order[root] == 0 {
                search.blocks.roots.push(root as u32);
                search.component(root);
            }
        }
        search.blocks.count();
        search.blocks
    }

    /// Tells each block the first of those behind it.
    fn count(&mut self) {
        self.firsts = (0..self.tops.len() as u32).collect();
        for block in 0..self.tops.len() {
            let (first, above) = (self.firsts[block], self.above[self.tops[block] as usize]);
            if let Some(of_above) = self.firsts.get_mut(above as usize) {
                *of_above = first.min(*of_above);
            }
        }
    }

    /// The node by which a block hangs.
    pub fn top(&self, block: u32) -> u32 {
        self.tops[block as usize]
    }

    /// The block that holds both ends of an edge, and that end of it by which the block does not hang.
    pub fn of_edge(&self, (from, to): (u32, u32)) -> Option<(u32, u32)> {
        let [of_from, of_to] = [from, to].map(|node| self.above[node as usize]);
        if of_from != NONE && (of_from == of_to || self.top(of_from) == to) {
            return Some((of_from, from));
        }
        (of_to != NONE && self.top(of_to) == from).then_some((of_to, to))
    }
}

/// A depth-first search without recursion.
struct Search {
    /// In which a node was met, counted from one.
    order: Vec<u32>,
    /// The earliest that can be reached from below a node.
    low: Vec<u32>,
    count: u32,
    blocks: Blocks,
}

impl Search {
    fn component(&mut self, root: usize) {
        // Node, the one it was met from, how many of its neighbours are done.
        let mut stack = vec![(root, root, 0)];
        // Nodes met and not yet in a block above them.
        let mut waiting = Vec::new();
        self.meet(root);
        while let Some((node, from, done)) = stack.pop() {
            if let Some(&next) = self.blocks.near[node].get(done) {
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
                let block = self.blocks.tops.len() as u32;
                let at = waiting.iter().rposition(|&one| one == node).unwrap_or(0);
                waiting.drain(at..).for_each(|one: usize| self.blocks.above[one] = block);
                self.blocks.tops.push(from as u32);
            }
        }
    }

    fn meet(&mut self, node: usize) {
        self.count += 1;
        self.order[node] = self.count;
        self.low[node] = self.count;
    }
}
