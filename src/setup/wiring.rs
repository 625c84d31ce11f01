//! Circuit and setup -> network.

use petgraph::visit::EdgeRef;

use super::Setup;
use super::bridge::{self, JUMPER_AMPS, JUMPER_OHMS};
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
    armatures: Armatures,
}

/// What moves contacts: an armature for the coils of each relay or solenoid, one for each input of a
/// control unit and for the bimetal of each breaker that resets itself.
#[derive(Debug, Clone, Default)]
struct Armatures {
    of_part: Vec<Option<RelayId>>,
    of_link: Vec<Option<RelayId>>,
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
        self.armatures.of_part[part.index()]
    }

    /// What an input of a control unit moves.
    pub fn sense(&self, link: LinkId) -> Option<RelayId> {
        self.armatures.of_link[link.index()]
    }

    /// The network of `circuit` as `setup` has it.
    pub fn new(circuit: &Circuit, setup: &Setup) -> Wiring {
        let node_of = nodes(circuit);
        let (armatures, relays) = relays(circuit);
        let mut branches: Vec<Branch> = circuit
            .graph
            .edge_references()
            .map(|edge| Branch {
                from: node_of[edge.source().index()],
                to: node_of[edge.target().index()],
                law: law(circuit, setup, edge.id(), &armatures),
            })
            .collect();
        // Jumpers come last, so that links keep their branches.
        let jumpers = setup.bridged.iter().filter_map(|part| bridge::jumped(circuit, *part));
        branches.extend(jumpers.map(|link| {
            let (from, to) = circuit.ends(link);
            let law = Law::Fuse { ohms: JUMPER_OHMS, rated_amps: JUMPER_AMPS };
            Branch { from: node_of[from.index()], to: node_of[to.index()], law }
        }));
        let network = Network { nodes: circuit.graph.node_count() as u32, branches, relays };
        Wiring { network, node_of, armatures }
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

fn relays(circuit: &Circuit) -> (Armatures, Vec<Relay>) {
    let mut relays = Vec::new();
    let mut armatures = Armatures {
        of_part: Vec::with_capacity(circuit.parts.len()),
        of_link: vec![None; circuit.graph.edge_count()],
    };
    for part in &circuit.parts {
        let armature = armature(circuit, &part.links);
        armatures.of_part.push(armature.is_some().then_some(RelayId(relays.len() as u32)));
        relays.extend(armature);
        for &link in &part.links {
            let limits = match circuit.graph[link].element {
                Element::Sense { ohms, on_volts, off_volts } => [on_volts / ohms, off_volts / ohms],
                Element::Cutout { rated_amps, .. } => [TRIP_TIMES * rated_amps; 2],
                _ => continue,
            };
            armatures.of_link[link.index()] = Some(RelayId(relays.len() as u32));
            relays.push(Relay {
                windings: vec![(BranchId(link.index() as u32), 1.0)],
                pull_in_amps: limits[0],
                drop_out_amps: limits[1],
                stuck: None,
            });
        }
    }
    (armatures, relays)
}

/// The armature that all coils of one part pull together.
///
/// The windings of a starter solenoid have the same turns, so amperes add up: both fed from `coil in`
/// they help each other, and when the start signal goes, what runs backwards through the pull-in
/// winding takes away what it sends through the holding one.
fn armature(circuit: &Circuit, links: &[LinkId]) -> Option<Relay> {
    let mut armature: Option<Relay> = None;
    for &link in links {
        let Element::Coil { ohms, pull_in_volts, drop_out_volts } = circuit.graph[link].element
        else {
            continue;
        };
        let relay = armature.get_or_insert_with(|| Relay {
            windings: Vec::new(),
            pull_in_amps: 0.0,
            drop_out_amps: 0.0,
            stuck: None,
        });
        relay.windings.push((BranchId(link.index() as u32), 1.0));
        relay.pull_in_amps += pull_in_volts / ohms;
        relay.drop_out_amps += drop_out_volts / ohms;
    }
    armature
}

/// How a link behaves in a setup: contacts by their control, parted pins and lifted cables open.
fn law(circuit: &Circuit, setup: &Setup, at: LinkId, armatures: &Armatures) -> Law {
    let link = &circuit.graph[at];
    if is_open(circuit, setup, at, link) {
        return Law::Open;
    }
    let relay = match link.element {
        Element::Contact { closed_when: ClosedWhen::Sensed { link: by }, .. } => {
            let by = circuit.parts[link.part.index()].links.get(by);
            by.and_then(|by| armatures.of_link[by.index()])
        }
        Element::Cutout { .. } => armatures.of_link[at.index()],
        _ => armatures.of_part[link.part.index()],
    };
    match law_of(&link.element, setup, relay) {
        // Only beside a generator that turns does current go into a battery; elsewhere the straight line
        // does, and is quicker.
        Law::Source { volts, ohms }
            if matches!(link.element, Element::Emf { .. }) && something_charges(circuit, setup) =>
        {
            Law::Battery { volts, ohms, charge_ohms: CHARGE_TIMES * ohms }
        }
        law => law,
    }
}

/// A breaker opens above so many times its rating: taken for that of a fuse (common practice, no source).
/// Open it carries nothing, so that it closes again; what lasts is the beat of both.
const TRIP_TIMES: f64 = 1.35;

/// Ohms of a battery on charge over its own: at 14.2 V a 12.6 V battery of 10 milliohms then takes 8 A
/// (from memory: a few minutes after a start, a tenth to a fifth of its ampere-hours).
const CHARGE_TIMES: f64 = 20.0;

/// A generator turns in this setup.
fn something_charges(circuit: &Circuit, setup: &Setup) -> bool {
    circuit.graph.edge_weights().any(|link| {
        matches!(&link.element, Element::Generator { control, steps }
            if steps.get(setup.positions[control.index()]).is_some_and(|step| step.0 > 0.0))
    })
}

fn is_open(circuit: &Circuit, setup: &Setup, at: LinkId, link: &Link) -> bool {
    if let Kind::Pin { connector } = circuit.parts[link.part.index()].kind
        && setup.parted.contains(&connector)
    {
        return true;
    }
    setup.lifted.contains(&link.part)
        || setup.out.contains(&link.part)
        || (setup.ground_off && is_battery_ground(circuit, at))
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

/// The battery's negative post, of several in series the last.
pub fn negative_post(circuit: &Circuit) -> Option<TerminalId> {
    circuit.posts().map(|posts| posts.1)
}

/// The battery's positive post, of several in series the first.
pub fn positive_post(circuit: &Circuit) -> Option<TerminalId> {
    circuit.posts().map(|posts| posts.0)
}

/// How an element behaves as a branch; `relay` is the armature that moves it, if it is a contact.
pub fn law_of(element: &Element, setup: &Setup, relay: Option<RelayId>) -> Law {
    match *element {
        Element::Resistance { ohms } | Element::Coil { ohms, .. } | Element::Sense { ohms, .. } => {
            Law::Resistor { ohms }
        }
        Element::Variable { control, ref ohms } => {
            let ohms = ohms.get(setup.positions[control.index()]);
            ohms.map_or(Law::Open, |&ohms| Law::Resistor { ohms })
        }
        Element::Generator { control, ref steps } => {
            let step = steps.get(setup.positions[control.index()]);
            step.map_or(Law::Open, |&(volts, ohms)| Law::Source { volts, ohms })
        }
        Element::Zener { volts, forward_volts, at_amps } => {
            Law::Diode { forward_volts, at_amps, zener_volts: Some(volts) }
        }
        Element::Emf { volts, ohms } => Law::Source { volts, ohms },
        Element::Fuse { ohms, rated_amps } => Law::Fuse { ohms, rated_amps },
        Element::Lamp { volts, watts } => Law::Lamp { volts, watts },
        Element::Diode { forward_volts, at_amps } => {
            Law::Diode { forward_volts, at_amps, zener_volts: None }
        }
        Element::Motor { stall_ohms, running_amps, rated_volts } => {
            Law::Motor { stall_ohms, running_amps, rated_volts }
        }
        Element::Cutout { ohms, .. } => match relay {
            Some(relay) => Law::Contact { ohms, relay, rests_closed: true },
            None => Law::Resistor { ohms },
        },
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
        ClosedWhen::Pulled | ClosedWhen::Sensed { .. } | ClosedWhen::Released => {
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
