//! Series reduction: the circuit's graph as chains of parts between junctions.
//!
//! A terminal with two things on it is passed through; where more meet, or one ends, there is a node.
//! What lies between two nodes is one chain and needs one column of the drawing, however long it is.

use std::collections::{BTreeMap, HashMap, HashSet};

use crate::circuit::{Circuit, Kind, LinkId, PartId, TerminalId};

/// One thing in a chain: a part, or what of a part lies between two of its terminals.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// The part.
    pub part: PartId,
    /// Its links here; none for a splice.
    pub links: Vec<LinkId>,
    /// The terminals at its upper and its lower end.
    pub ends: [TerminalId; 2],
}

/// Parts in series between two nodes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Chain {
    /// Positions in [`Net::nodes`]: where it begins and where it ends.
    pub nodes: [usize; 2],
    /// In order from the first node to the second.
    pub steps: Vec<Step>,
}

impl Chain {
    /// Turns it upside down.
    pub fn turn(&mut self) {
        self.nodes.reverse();
        self.steps.reverse();
        for step in &mut self.steps {
            step.ends.reverse();
        }
    }
}

/// The circuit, reduced.
#[derive(Debug)]
pub struct Net {
    /// The terminals at which chains meet or end.
    pub nodes: Vec<TerminalId>,
    /// All chains.
    pub chains: Vec<Chain>,
    /// The node that is the supply rail.
    pub top: usize,
    /// The node that is the ground rail.
    pub bottom: usize,
    /// Parts that nothing is wired to.
    pub loose: Vec<PartId>,
}

/// Reduces a circuit.
pub fn reduce(circuit: &Circuit) -> Net {
    let elements = elements(circuit);
    let mut at: HashMap<TerminalId, Vec<usize>> = HashMap::new();
    for (index, element) in elements.iter().enumerate() {
        for end in element.ends {
            at.entry(end).or_default().push(index);
        }
    }
    let supply = circuit.posts().map_or_else(|| circuit.positive(), |posts| posts.0);
    let rails = [supply, ground_rail(circuit)];
    let is_node = |terminal: TerminalId| {
        rails.contains(&terminal) || at.get(&terminal).is_none_or(|here| here.len() != 2)
    };
    let mut walk = Walk {
        circuit,
        elements: &elements,
        at: &at,
        taken: vec![false; elements.len()],
        net: Net {
            nodes: rails.to_vec(),
            chains: Vec::new(),
            top: 0,
            bottom: 1,
            loose: loose(circuit),
        },
    };
    for terminal in circuit.terminal_ids().filter(|terminal| is_node(*terminal)) {
        walk.from(terminal, &is_node);
    }
    // What is left are rings without a node: one of their terminals is made one.
    for (index, element) in elements.iter().enumerate() {
        if !walk.taken[index] {
            let start = element.ends[0];
            walk.from(start, &|terminal| terminal == start || is_node(terminal));
        }
    }
    walk.net
}

/// The frame, or the battery's negative terminal in a circuit that has no frame.
fn ground_rail(circuit: &Circuit) -> TerminalId {
    let framed = !circuit.links_at(circuit.chassis).is_empty();
    let negative = || circuit.posts().map_or_else(|| circuit.negative(), |posts| posts.1);
    if framed { circuit.chassis } else { negative() }
}

fn loose(circuit: &Circuit) -> Vec<PartId> {
    let bare = |part: &PartId| {
        let part = circuit.part(*part);
        part.links.is_empty() && part.terminals.iter().all(|end| circuit.links_at(*end).is_empty())
    };
    circuit.part_ids().filter(bare).collect()
}

/// Links side by side between the same terminals of one part, as one: a coil and the diode across it.
fn elements(circuit: &Circuit) -> Vec<Step> {
    let mut elements: BTreeMap<(LinkId, PartId), Step> = BTreeMap::new();
    let mut first: HashMap<(PartId, TerminalId, TerminalId), LinkId> = HashMap::new();
    for link in circuit.link_ids() {
        let (one, other) = circuit.ends(link);
        let part = circuit.link(link).part;
        let key = *first.entry((part, one.min(other), one.max(other))).or_insert(link);
        let step = Step { part, links: Vec::new(), ends: [one, other] };
        elements.entry((key, part)).or_insert(step).links.push(link);
    }
    elements.into_values().collect()
}

struct Walk<'a> {
    circuit: &'a Circuit,
    elements: &'a [Step],
    at: &'a HashMap<TerminalId, Vec<usize>>,
    taken: Vec<bool>,
    net: Net,
}

impl Walk<'_> {
    /// Takes every chain that begins at `start`.
    fn from(&mut self, start: TerminalId, is_node: &dyn Fn(TerminalId) -> bool) {
        let here = self.at.get(&start).cloned().unwrap_or_default();
        for first in here {
            if self.taken[first] {
                continue;
            }
            let (steps, end) = self.chain(start, first, is_node);
            if end == start {
                self.add_loop(start, steps);
            } else {
                self.add([start, end], steps);
            }
        }
    }

    fn chain(
        &mut self,
        start: TerminalId,
        first: usize,
        is_node: &dyn Fn(TerminalId) -> bool,
    ) -> (Vec<Step>, TerminalId) {
        let mut steps: Vec<Step> = Vec::new();
        let (mut at, mut next) = (start, Some(first));
        while let Some(index) = next {
            self.taken[index] = true;
            let mut step = self.elements[index].clone();
            if step.ends[0] != at {
                step.ends.reverse();
            }
            at = step.ends[1];
            self.push(&mut steps, step);
            if is_node(at) {
                break;
            }
            next = self.at[&at].iter().copied().find(|other| !self.taken[*other]);
            if let Some(splice) = self.splice(at).filter(|_| next.is_some()) {
                steps.push(Step { part: splice, links: Vec::new(), ends: [at, at] });
            }
        }
        (steps, at)
    }

    /// Adds a step; two of one part that meet inside it, where no probe comes, are one.
    fn push(&self, steps: &mut Vec<Step>, step: Step) {
        if let Some(last) = steps.last_mut()
            && last.part == step.part
            && !self.circuit.terminal(step.ends[0]).probe
        {
            last.links.extend(step.links);
            last.ends[1] = step.ends[1];
        } else {
            steps.push(step);
        }
    }

    fn splice(&self, at: TerminalId) -> Option<PartId> {
        let part = self.circuit.terminal(at).part?;
        (self.circuit.part(part).kind == Kind::Splice).then_some(part)
    }

    /// A chain back to where it began: a node is put in the middle of it.
    fn add_loop(&mut self, start: TerminalId, mut steps: Vec<Step>) {
        let half = steps.len() / 2;
        let lower = steps.split_off(half.max(1).min(steps.len()));
        let middle = steps.last().map_or(start, |step| step.ends[1]);
        if lower.is_empty() || middle == start {
            return;
        }
        self.add([start, middle], steps);
        self.add([start, middle], turned(lower));
    }

    fn add(&mut self, ends: [TerminalId; 2], steps: Vec<Step>) {
        let nodes = ends.map(|end| self.node(end));
        self.net.chains.push(Chain { nodes, steps });
    }

    fn node(&mut self, terminal: TerminalId) -> usize {
        let known = self.net.nodes.iter().position(|node| *node == terminal);
        known.unwrap_or_else(|| {
            self.net.nodes.push(terminal);
            self.net.nodes.len() - 1
        })
    }
}

fn turned(mut steps: Vec<Step>) -> Vec<Step> {
    steps.reverse();
    for step in &mut steps {
        step.ends.reverse();
    }
    steps
}

/// The parts that stand in a net: in its chains, at its nodes, or loose.
pub fn parts_in(circuit: &Circuit, net: &Net) -> HashSet<PartId> {
    let stepped = net.chains.iter().flat_map(|chain| &chain.steps).map(|step| step.part);
    let noded = net.nodes.iter().filter_map(|node| circuit.terminal(*node).part);
    stepped.chain(noded).chain(net.loose.iter().copied()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::builtin;
    use crate::circuit::read::read_text;

    #[test]
    fn every_link_is_in_one_chain_and_ends_meet() {
        for name in builtin::names() {
            let circuit = read_text(name, builtin::text(name).unwrap()).0.unwrap();
            let net = reduce(&circuit);
            let mut links: Vec<LinkId> = Vec::new();
            for chain in &net.chains {
                let first = chain.steps.first().unwrap().ends[0];
                let last = chain.steps.last().unwrap().ends[1];
                assert_eq!([first, last], chain.nodes.map(|node| net.nodes[node]), "{name}");
                for pair in chain.steps.windows(2) {
                    assert_eq!(pair[0].ends[1], pair[1].ends[0], "{name}");
                }
                links.extend(chain.steps.iter().flat_map(|step| &step.links));
            }
            links.sort_unstable();
            assert_eq!(links, circuit.link_ids().collect::<Vec<_>>(), "{name}");
            assert_eq!(parts_in(&circuit, &net).len(), circuit.parts.len(), "{name}");
        }
    }
}
