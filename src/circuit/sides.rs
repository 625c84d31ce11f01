//! What lies on the two sides of each link when it is taken out: supply, ground, both, neither.
//!
//! All contacts count as closed and batteries as absent. A link whose removal parts the graph (a
//! bridge) has a side of its own at each end; any other has the whole rest at both ends. Bridges come
//! from one depth-first search (Tarjan 1974), so that a large circuit costs no more than a walk.

use super::{Circuit, Element, LinkId, TerminalId};

/// What can be reached from one end of a link without passing it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Side {
    /// Positive terminals of batteries.
    plus: u32,
    /// Negative terminals of batteries.
    minus: u32,
}

impl Side {
    /// The supply can be reached.
    pub fn supplied(self) -> bool {
        self.plus > 0
    }

    /// Ground can be reached.
    pub fn grounded(self) -> bool {
        self.minus > 0
    }

    fn and(self, other: Side) -> Side {
        Side { plus: self.plus + other.plus, minus: self.minus + other.minus }
    }

    fn without(self, other: Side) -> Side {
        Side { plus: self.plus - other.plus, minus: self.minus - other.minus }
    }
}

/// The sides of every link.
#[derive(Debug)]
pub struct Sides {
    /// By link: at its first end, at its second.
    of: Vec<[Side; 2]>,
}

impl Sides {
    /// Walks the circuit.
    pub fn of(circuit: &Circuit) -> Sides {
        let mut walk = Walk::new(circuit);
        for terminal in circuit.terminal_ids() {
            if walk.met[terminal.index()] == 0 {
                walk.component(terminal);
            }
        }
        Sides { of: walk.of }
    }

    /// Current can pass the link: one of its ends reaches the supply, the other ground.
    pub fn lead_somewhere(&self, link: LinkId) -> bool {
        let [first, second] = self.of[link.index()];
        first.supplied() && second.grounded() || first.grounded() && second.supplied()
    }

    /// What the ends of the link reach without it.
    pub fn at(&self, link: LinkId) -> [Side; 2] {
        self.of[link.index()]
    }
}

/// A depth-first search under way; times count from 1.
struct Walk<'a> {
    circuit: &'a Circuit,
    time: u32,
    /// When each terminal was met; 0 is not yet.
    met: Vec<u32>,
    /// Earliest terminal reached from below each, other than by the link it was met through.
    low: Vec<u32>,
    /// What lies at and below each.
    below: Vec<Side>,
    of: Vec<[Side; 2]>,
}

/// A terminal on the way down.
struct Step {
    terminal: TerminalId,
    through: Option<LinkId>,
    links: Vec<(LinkId, TerminalId)>,
    next: usize,
}

impl<'a> Walk<'a> {
    fn new(circuit: &'a Circuit) -> Walk<'a> {
        let terminals = circuit.graph.node_count();
        let mut below = vec![Side::default(); terminals];
        for link in circuit.link_ids() {
            if let Element::Emf { .. } = circuit.link(link).element {
                let (plus, minus) = circuit.ends(link);
                below[plus.index()].plus += 1;
                below[minus.index()].minus += 1;
            }
        }
        Walk {
            circuit,
            time: 0,
            met: vec![0; terminals],
            low: vec![0; terminals],
            below,
            of: vec![[Side::default(); 2]; circuit.graph.edge_count()],
        }
    }

    fn step(&mut self, terminal: TerminalId, through: Option<LinkId>) -> Step {
        self.time += 1;
        self.met[terminal.index()] = self.time;
        self.low[terminal.index()] = self.time;
        let battery = |link: LinkId| matches!(self.circuit.link(link).element, Element::Emf { .. });
        let mut links = self.circuit.links_at(terminal);
        links.retain(|(link, _)| !battery(*link) && Some(*link) != through);
        Step { terminal, through, links, next: 0 }
    }

    /// Walks everything joined to `root`, then settles the sides of all its links.
    fn component(&mut self, root: TerminalId) {
        let mut seen = Vec::new();
        let mut bridges = Vec::new();
        let mut way = vec![self.step(root, None)];
        while let Some(step) = way.last_mut() {
            let at = step.terminal;
            if let Some(&(link, other)) = step.links.get(step.next) {
                step.next += 1;
                seen.push(link);
                if self.met[other.index()] == 0 {
                    let down = self.step(other, Some(link));
                    way.push(down);
                } else {
                    self.low[at.index()] = self.low[at.index()].min(self.met[other.index()]);
                }
                continue;
            }
            let through = step.through;
            way.pop();
            if let (Some(link), Some(above)) = (through, way.last()) {
                let above = above.terminal;
                self.low[above.index()] = self.low[above.index()].min(self.low[at.index()]);
                self.below[above.index()] = self.below[above.index()].and(self.below[at.index()]);
                if self.low[at.index()] > self.met[above.index()] {
                    bridges.push((link, at));
                }
            }
        }
        let whole = self.below[root.index()];
        for link in seen {
            self.of[link.index()] = [whole; 2];
        }
        for (link, lower) in bridges {
            let lower_side = self.below[lower.index()];
            let upper_side = whole.without(lower_side);
            let lower_is_first = self.circuit.ends(link).0 == lower;
            self.of[link.index()] =
                if lower_is_first { [lower_side, upper_side] } else { [upper_side, lower_side] };
        }
    }
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use proptest::prelude::*;

    use super::*;
    use crate::circuit::builtin;
    use crate::circuit::read::read_text;

    /// The same by walking from one end, slowly.
    fn walked(circuit: &Circuit, link: LinkId, from: TerminalId) -> (bool, bool) {
        let battery = |link: LinkId| matches!(circuit.link(link).element, Element::Emf { .. });
        let mut met = HashSet::from([from]);
        let mut next = vec![from];
        while let Some(at) = next.pop() {
            for (other, end) in circuit.links_at(at) {
                if other != link && !battery(other) && met.insert(end) {
                    next.push(end);
                }
            }
        }
        let batteries = circuit.link_ids().filter(|link| battery(*link));
        let ends: Vec<_> = batteries.map(|link| circuit.ends(link)).collect();
        (ends.iter().any(|one| met.contains(&one.0)), ends.iter().any(|one| met.contains(&one.1)))
    }

    proptest! {
        #[test]
        fn sides_are_what_a_walk_finds(
            name in prop::sample::select(builtin::names()),
            gone in prop::collection::vec(any::<prop::sample::Index>(), 0..6),
        ) {
            let mut circuit = read_text(name, builtin::text(name).unwrap()).0.unwrap();
            for index in gone {
                // Ids of other links change with it; only the graph is looked at here.
                let link = LinkId::new(index.index(circuit.graph.edge_count()));
                circuit.graph.remove_edge(link);
            }
            // Without its battery's own link nothing would count as supply.
            let has_battery = circuit.link_ids().any(|link| matches!(circuit.link(link).element, Element::Emf { .. }));
            prop_assume!(has_battery);
            let sides = Sides::of(&circuit);
            for link in circuit.link_ids().filter(|link| !matches!(circuit.link(*link).element, Element::Emf { .. })) {
                let (first, second) = circuit.ends(link);
                let ours = sides.at(link).map(|side| (side.supplied(), side.grounded()));
                prop_assert_eq!(ours, [walked(&circuit, link, first), walked(&circuit, link, second)]);
            }
        }
    }
}
