//! Circuit and setup -> network.

use petgraph::visit::EdgeRef;

use super::Setup;
use crate::circuit::{Circuit, ClosedWhen, Element, Kind, Link, LinkId, PartId, TerminalId};
use crate::electric::{Branch, BranchId, GROUND, Law, Network, NodeId, Relay, RelayId};

/// The network of one circuit in one setup, and how to find things in it.
///
/// The chassis is ground; every terminal has a node and every link a branch of the same number in
/// every setup, so that faults and testers are put in without asking which setup it is.
#[derive(Debug, Clone)]
pub struct Wiring {
    /// To be solved.
    pub network: Network,
    node_of: Vec<NodeId>,
    relay_of: Vec<Option<RelayId>>,
}

impl Wiring {
    /// The node of a terminal.
    pub fn node(&self, terminal: TerminalId) -> NodeId {
        self.node_of[terminal.index()]
    }

    /// The branch of a link.
    pub fn branch(&self, link: LinkId) -> BranchId {
        BranchId(link.index() as u32)
    }

    /// The armature of a relay or solenoid.
    pub fn relay(&self, part: PartId) -> Option<RelayId> {
        self.relay_of[part.index()]
    }

    /// The network of `circuit` as `setup` has it.
    pub fn new(circuit: &Circuit, setup: &Setup) -> Wiring {
        let node_of = nodes(circuit);
        let (relay_of, relays) = relays(circuit);
        let branches = circuit
            .graph
            .edge_references()
            .map(|edge| Branch {
                from: node_of[edge.source().index()],
                to: node_of[edge.target().index()],
                law: law(circuit, setup, edge.id(), &relay_of),
            })
            .collect();
        let network = Network { nodes: circuit.graph.node_count() as u32, branches, relays };
        Wiring { network, node_of, relay_of }
    }
}

fn nodes(circuit: &Circuit) -> Vec<NodeId> {
    let mut next = 1;
    circuit
        .graph
        .node_indices()
        .map(|terminal| {
            if terminal == circuit.chassis {
                return GROUND;
            }
            next += 1;
            NodeId(next - 1)
        })
        .collect()
}

fn relays(circuit: &Circuit) -> (Vec<Option<RelayId>>, Vec<Relay>) {
    let mut relays = Vec::new();
    let mut relay_of = Vec::with_capacity(circuit.parts.len());
    for part in &circuit.parts {
        let mut armature: Option<Relay> = None;
        for &link in &part.links {
            let Element::Coil { ohms, pull_in_volts, drop_out_volts } = circuit.graph[link].element
            else {
                continue;
            };
            let winding = (BranchId(link.index() as u32), 1.0);
            armature
                .get_or_insert_with(|| Relay {
                    windings: Vec::new(),
                    pull_in_amps: pull_in_volts / ohms,
                    drop_out_amps: drop_out_volts / ohms,
                    stuck: None,
                })
                .windings
                .push(winding);
        }
        relay_of.push(armature.is_some().then_some(RelayId(relays.len() as u32)));
        relays.extend(armature);
    }
    (relay_of, relays)
}

/// How a link behaves in a setup: contacts by their control, parted pins and lifted cables open.
fn law(circuit: &Circuit, setup: &Setup, at: LinkId, relay_of: &[Option<RelayId>]) -> Law {
    let link = &circuit.graph[at];
    if is_open(circuit, setup, at, link) {
        return Law::Open;
    }
    law_of(&link.element, setup, relay_of[link.part.index()])
}

fn is_open(circuit: &Circuit, setup: &Setup, at: LinkId, link: &Link) -> bool {
    if let Kind::Pin { connector } = circuit.parts[link.part.index()].kind
        && setup.parted.contains(&connector)
    {
        return true;
    }
    setup.lifted.contains(&link.part) || (setup.ground_off && is_battery_ground(circuit, at))
}

/// The link is (a part of) the cable on the battery's negative post.
pub fn is_battery_ground(circuit: &Circuit, at: LinkId) -> bool {
    let link = &circuit.graph[at];
    if circuit.parts[link.part.index()].kind == Kind::Battery {
        return false;
    }
    let Some((from, to)) = circuit.graph.edge_endpoints(at) else { return false };
    let negative = negative_post(circuit);
    Some(from) == negative || Some(to) == negative
}

/// The battery's negative post.
pub fn negative_post(circuit: &Circuit) -> Option<TerminalId> {
    battery_link(circuit).and_then(|link| circuit.graph.edge_endpoints(link)).map(|ends| ends.1)
}

/// The battery's positive post.
pub fn positive_post(circuit: &Circuit) -> Option<TerminalId> {
    battery_link(circuit).and_then(|link| circuit.graph.edge_endpoints(link)).map(|ends| ends.0)
}

fn battery_link(circuit: &Circuit) -> Option<LinkId> {
    circuit.parts.iter().find(|part| part.kind == Kind::Battery)?.links.first().copied()
}

/// How an element behaves as a branch; `relay` is the armature of its own part.
pub fn law_of(element: &Element, setup: &Setup, relay: Option<RelayId>) -> Law {
    match *element {
        Element::Resistance { ohms } | Element::Coil { ohms, .. } => Law::Resistor { ohms },
        Element::Emf { volts, ohms } => Law::Source { volts, ohms },
        Element::Fuse { ohms, rated_amps } => Law::Fuse { ohms, rated_amps },
        Element::Lamp { volts, watts } => Law::Lamp { volts, watts },
        Element::Diode { forward_volts, at_amps } => {
            Law::Diode { forward_volts, at_amps, zener_volts: None }
        }
        Element::Motor { stall_ohms, running_amps, rated_volts } => {
            Law::Motor { stall_ohms, running_amps, rated_volts }
        }
        Element::Contact { ohms, ref closed_when } => contact_law(ohms, closed_when, setup, relay),
    }
}

fn contact_law(ohms: f64, closed_when: &ClosedWhen, setup: &Setup, relay: Option<RelayId>) -> Law {
    match closed_when {
        ClosedWhen::Control { control, positions } => {
            if positions.contains(&setup.positions[control.index()]) {
                Law::Resistor { ohms }
            } else {
                Law::Open
            }
        }
        ClosedWhen::Pulled | ClosedWhen::Released => {
            let rests_closed = *closed_when == ClosedWhen::Released;
            match relay {
                Some(relay) => Law::Contact { ohms, relay, rests_closed },
                // A contact without a coil never moves.
                None if rests_closed => Law::Resistor { ohms },
                None => Law::Open,
            }
        }
    }
}
