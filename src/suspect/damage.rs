//! A fault, as changes of a network.

use std::borrow::Cow;

use crate::circuit::{Circuit, Element, Kind, Link, LinkId, PartId, TerminalId};
use crate::electric::{Change, GROUND, Law};
use crate::setup::Setup;
use crate::setup::wiring::{Wiring, law_of};

/// Running amperes of a motor that cannot turn: above what any winding lets through, so that it draws its stall
/// current for as long as it is fed.
pub const JAMMED_AMPS: f64 = 1.0e6;

/// One thing a fault does to a circuit.
#[derive(Debug, Clone, PartialEq)]
pub enum Damage {
    /// No current through the link, whatever the setup.
    Open(LinkId),
    /// So many ohms more in series with the link.
    Series(LinkId, f64),
    /// The link behaves like this instead.
    Instead(LinkId, Element),
    /// A contact that conducts in every position.
    Welded(LinkId),
    /// The terminal touches the frame through so many ohms.
    Grounded(TerminalId, f64),
    /// The armature never moves: pulled for ever (true) or released for ever (false).
    Jammed(PartId, bool),
    /// The armature needs so many times its usual amperes to pull in, and to hold.
    Sluggish(PartId, f64),
    /// Current flows but nothing is heard or seen of it.
    Mute(PartId),
    /// A control unit takes this input as fed for ever (true) or never (false).
    Deaf(LinkId, bool),
    /// The insulation of two neighbours is through: these terminals touch through so many ohms.
    Touching(TerminalId, TerminalId, f64),
    /// The wires of two pins sit in each other's place in the second half of their connector; the
    /// terminals there stay with their wires, as a person goes by the colour.
    Swapped(LinkId, LinkId),
}

/// What of the damage is left when parts have been swapped for known good ones: dirt in the holder of a
/// fuse or bulb stays where it is, and so does a bad joint between a part's mounting and the frame.
pub fn left<'a>(circuit: &Circuit, setup: &Setup, damage: &'a [Damage]) -> Cow<'a, [Damage]> {
    if setup.swapped.is_empty() {
        return Cow::Borrowed(damage);
    }
    let goes = |one: &Damage| {
        let (part, stays) = match one {
            Damage::Open(link)
            | Damage::Instead(link, _)
            | Damage::Welded(link)
            | Damage::Deaf(link, _) => (circuit.link(*link).part, false),
            Damage::Series(link, _) => {
                let Link { part, role, .. } = circuit.link(*link);
                let holder = matches!(circuit.part(*part).kind, Kind::Fuse | Kind::Lamp);
                (*part, holder || *role == "body joint")
            }
            Damage::Jammed(part, _) | Damage::Sluggish(part, _) | Damage::Mute(part) => {
                (*part, false)
            }
            Damage::Grounded(..) | Damage::Touching(..) | Damage::Swapped(..) => return false,
        };
        !stays && setup.swapped.contains(&part)
    };
    Cow::Owned(damage.iter().filter(|one| !goes(one)).cloned().collect())
}

/// The damage as changes to the network of `setup`.
pub fn changes(
    circuit: &Circuit,
    setup: &Setup,
    wiring: &Wiring,
    damage: &[Damage],
) -> Vec<Change> {
    let mut list = Vec::new();
    for one in damage {
        match one {
            Damage::Swapped(a, b) => list.extend(swapped(circuit, wiring, [*a, *b])),
            _ => list.extend(change(circuit, setup, wiring, one)),
        }
    }
    list
}

/// Both pins open, and each first half joined to the other's second half; nothing while it is parted.
fn swapped(circuit: &Circuit, wiring: &Wiring, links: [LinkId; 2]) -> Vec<Change> {
    let laws = links.map(|link| wiring.network.branches[link.index()].law);
    if laws.contains(&Law::Open) {
        return Vec::new();
    }
    let ends = links.map(|link| circuit.ends(link));
    let [law, other_law] = laws;
    let open = |link: LinkId| Change::Law { branch: wiring.branch(link), law: Law::Open };
    let cross = |from: TerminalId, to: TerminalId, law: Law| Change::Across {
        from: wiring.node(from),
        to: wiring.node(to),
        law,
    };
    vec![
        open(links[0]),
        open(links[1]),
        cross(ends[0].0, ends[1].1, law),
        cross(ends[1].0, ends[0].1, other_law),
    ]
}

fn change(circuit: &Circuit, setup: &Setup, wiring: &Wiring, damage: &Damage) -> Option<Change> {
    match damage {
        Damage::Open(link) => Some(Change::Law { branch: wiring.branch(*link), law: Law::Open }),
        Damage::Series(link, ohms) => {
            let branch = wiring.branch(*link);
            let law = wiring.network.branches[link.index()].law.behind(*ohms)?;
            Some(Change::Law { branch, law })
        }
        Damage::Instead(link, element) => {
            let branch = wiring.branch(*link);
            let sound = &wiring.network.branches[link.index()].law;
            let open = *sound == Law::Open;
            let relay = wiring.relay(circuit.graph[*link].part);
            let law = law_of(element, setup, relay);
            (!open).then(|| Change::Law { branch, law: charged(law, sound) })
        }
        Damage::Welded(link) => {
            let Element::Contact { ohms, .. } = circuit.graph[*link].element else { return None };
            let lifted = setup.lifted.contains(&circuit.graph[*link].part);
            let branch = wiring.branch(*link);
            (!lifted).then_some(Change::Law { branch, law: Law::Resistor { ohms } })
        }
        Damage::Grounded(terminal, ohms) => Some(Change::Across {
            from: wiring.node(*terminal),
            to: GROUND,
            law: Law::Resistor { ohms: *ohms },
        }),
        Damage::Jammed(part, pulled) => {
            wiring.relay(*part).map(|relay| Change::Stuck { relay, pulled: *pulled })
        }
        Damage::Sluggish(part, times) => {
            let relay = wiring.relay(*part)?;
            let sound = &wiring.network.relays[relay.0 as usize];
            Some(Change::Relay {
                relay,
                pull_in_amps: sound.pull_in_amps * times,
                drop_out_amps: sound.drop_out_amps * times,
            })
        }
        Damage::Deaf(link, fed) => {
            wiring.sense(*link).map(|relay| Change::Stuck { relay, pulled: *fed })
        }
        Damage::Touching(one, other, ohms) => Some(Change::Across {
            from: wiring.node(*one),
            to: wiring.node(*other),
            law: Law::Resistor { ohms: *ohms },
        }),
        Damage::Mute(_) | Damage::Swapped(..) => None,
    }
}

/// A bad battery in place of one on charge: it takes no more readily than the sound one.
fn charged(law: Law, sound: &Law) -> Law {
    match (law, sound) {
        (Law::Source { volts, ohms }, &Law::Battery { charge_ohms, .. }) => {
            Law::Battery { volts, ohms, charge_ohms: charge_ohms.max(ohms) }
        }
        (law, _) => law,
    }
}

/// The part acts without being seen or heard.
pub fn is_mute(damage: &[Damage], part: PartId) -> bool {
    damage.contains(&Damage::Mute(part))
}
