//! What a fused jumper may bridge, what comes out of its holder, and what a known good one can stand in for.

use crate::circuit::{Circuit, Element, Kind, LinkId, PartId, TerminalId};

/// Rating of the fuse in the jumper (common practice, no source).
pub const JUMPER_AMPS: f64 = 10.0;
/// Its leads, clips and fuse (from memory).
pub const JUMPER_OHMS: f64 = 0.05;

/// The link a jumper bridges to stand in for `part`: the one contact of a switch, the working contact
/// of a relay, a connector's pin. `None` for everything else: never a load, never where heavy cables
/// run, nothing that no probe can touch.
pub fn jumped(circuit: &Circuit, part: PartId) -> Option<LinkId> {
    let owner = circuit.part(part);
    if circuit.carries_heavy(part) {
        return None;
    }
    let is_contact = |link: &LinkId| matches!(circuit.link(*link).element, Element::Contact { .. });
    let link = match owner.kind {
        Kind::Pin { .. } => owner.links.first().copied(),
        Kind::Switch { .. } => {
            let mut contacts = owner.links.iter().copied().filter(is_contact);
            contacts.next().filter(|_| contacts.next().is_none())
        }
        Kind::Relay => {
            owner.links.iter().copied().find(|link| circuit.link(*link).role == "contact")
        }
        _ => None,
    }?;
    let (from, to) = circuit.ends(link);
    let reachable = |at: TerminalId| circuit.terminal(at).probe;
    (reachable(from) && reachable(to)).then_some(link)
}

/// A fuse that can be taken out by hand.
pub fn comes_out(circuit: &Circuit, part: PartId) -> bool {
    circuit.part(part).kind == Kind::Fuse
}

/// A part that plugs in, so that a known good one of its kind can be tried in its place without tools.
pub fn swaps(circuit: &Circuit, part: PartId) -> bool {
    matches!(circuit.part(part).kind, Kind::Fuse | Kind::Relay | Kind::Flasher { .. } | Kind::Lamp)
}
