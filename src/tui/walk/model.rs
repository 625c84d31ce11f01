//! Where a walk through a tree stands.

use crate::report::tree::{FaultTree, Leaning, Node, Outcome, mixed};

/// Suspicion under this share counts as closed.
pub const CLOSED: f64 = 0.01;

/// A walk: the branches taken from the root, and the one marked now.
#[derive(Debug)]
pub struct Walk<'a> {
    /// The tree.
    pub tree: &'a FaultTree,
    /// Nodes from the root, each with the position of the outcome taken there.
    taken: Vec<(usize, usize)>,
    /// The node in front.
    at: usize,
    /// The outcome marked, by its place among the likeliest.
    marked: usize,
    /// All parts of the tree with their share at its root.
    parts: Vec<Leaning>,
}

impl<'a> Walk<'a> {
    /// A walk at the root.
    pub fn new(tree: &'a FaultTree) -> Walk<'a> {
        let outcomes = tree.nodes.first().map_or(&[][..], |root| &root.outcomes);
        let parts = mixed(outcomes.iter().map(|one| (one.probability, &one.leaves[..])));
        Walk { tree, taken: Vec::new(), at: 0, marked: 0, parts }
    }

    /// The node in front.
    pub fn node(&self) -> Option<&'a Node> {
        self.tree.nodes.get(self.at)
    }

    /// The outcomes of the node in front, likeliest first.
    pub fn outcomes(&self) -> Vec<&'a Outcome> {
        let Some(node) = self.node() else { return Vec::new() };
        let mut list: Vec<&Outcome> = node.outcomes.iter().collect();
        list.sort_by(|a, b| b.probability.total_cmp(&a.probability));
        list
    }

    /// The one marked.
    pub fn marked(&self) -> usize {
        self.marked
    }

    /// What was done and seen on the way here.
    pub fn trail(&self) -> Vec<(&'a str, &'a str)> {
        let step = |&(node, outcome): &(usize, usize)| {
            let node = &self.tree.nodes[node];
            (node.title.as_str(), node.outcomes[outcome].words.as_str())
        };
        self.taken.iter().map(step).collect()
    }

    /// Steps taken.
    pub fn depth(&self) -> usize {
        self.taken.len()
    }

    /// All parts with their share here, in the order of the root; closed ones with none.
    pub fn suspects(&self) -> Vec<(&str, f64)> {
        let leaves = self
            .taken
            .last()
            .map(|&(node, outcome)| &self.tree.nodes[node].outcomes[outcome].leaves);
        let here = |part: &str| match leaves {
            None => self.parts.iter().find(|one| one.part == part).map_or(0.0, |one| one.share),
            Some(leaves) => leaves.iter().find(|one| one.part == part).map_or(0.0, |one| one.share),
        };
        let mut list: Vec<(&str, f64)> =
            self.parts.iter().map(|one| (one.part.as_str(), here(&one.part))).collect();
        // Parts that only a rare branch brings up come behind the others.
        for one in leaves.into_iter().flatten() {
            if list.iter().all(|(part, _)| *part != one.part) && one.share >= CLOSED {
                list.push((one.part.as_str(), one.share));
            }
        }
        list
    }

    /// Marks the outcome above.
    pub fn up(&mut self) {
        self.marked = self.marked.saturating_sub(1);
    }

    /// Marks the outcome below.
    pub fn down(&mut self) {
        self.choose(self.marked + 1);
    }

    /// Marks an outcome.
    pub fn choose(&mut self, at: usize) {
        self.marked = at.min(self.outcomes().len().saturating_sub(1));
    }

    /// Takes the branch that is marked.
    pub fn into_branch(&mut self) {
        let Some(node) = self.node() else { return };
        let Some(&taken) = self.outcomes().get(self.marked) else { return };
        if let Some(position) = node.outcomes.iter().position(|one| std::ptr::eq(one, taken)) {
            self.taken.push((self.at, position));
            self.at = taken.next;
            self.marked = 0;
        }
    }

    /// One branch back; the one that was taken is marked.
    pub fn back(&mut self) {
        if let Some((node, outcome)) = self.taken.pop() {
            self.at = node;
            let taken = &self.tree.nodes[node].outcomes[outcome];
            self.marked =
                self.outcomes().iter().position(|one| std::ptr::eq(*one, taken)).unwrap_or(0);
        }
    }

    /// Back to the root.
    pub fn home(&mut self) {
        self.taken.clear();
        (self.at, self.marked) = (0, 0);
    }
}
