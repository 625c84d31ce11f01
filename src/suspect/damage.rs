//! A fault, as changes of a network.

use crate::circuit::{Circuit, Element, LinkId, PartId, TerminalId};
use crate::electric::{Change, GROUND, Law};
use crate::setup::Setup;
use crate::setup::wiring::{Wiring, law_of};

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
}

/// The damage as changes to the network of `setup`.
pub fn changes(
    circuit: &Circuit,
    setup: &Setup,
    wiring: &Wiring,
    damage: &[Damage],
) -> Vec<Change> {
    damage.iter().filter_map(|one| change(circuit, setup, wiring, one)).collect()
}

fn change(circuit: &Circuit, setup: &Setup, wiring: &Wiring, damage: &Damage) -> Option<Change> {
    match damage {
        Damage::Open(link) => Some(Change::Law { branch: wiring.branch(*link), law: Law::Open }),
        Damage::Series(link, ohms) => {
            let branch = wiring.branch(*link);
            let law = in_series(&wiring.network.branches[link.index()].law, *ohms)?;
            Some(Change::Law { branch, law })
        }
        Damage::Instead(link, element) => {
            let branch = wiring.branch(*link);
            let open = wiring.network.branches[link.index()].law == Law::Open;
            let relay = wiring.relay(circuit.graph[*link].part);
            (!open).then(|| Change::Law { branch, law: law_of(element, setup, relay) })
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
        Damage::Mute(_) => None,
    }
}

/// The same branch with more resistance in it; `None` where it conducts nothing anyway.
fn in_series(law: &Law, more: f64) -> Option<Law> {
    Some(match *law {
        Law::Resistor { ohms } => Law::Resistor { ohms: ohms + more },
        Law::Source { volts, ohms } => Law::Source { volts, ohms: ohms + more },
        Law::Fuse { ohms, rated_amps } => Law::Fuse { ohms: ohms + more, rated_amps },
        Law::Contact { ohms, relay, rests_closed } => {
            Law::Contact { ohms: ohms + more, relay, rests_closed }
        }
        Law::Motor { stall_ohms, running_amps, rated_volts } => {
            Law::Motor { stall_ohms: stall_ohms + more, running_amps, rated_volts }
        }
        Law::Open | Law::Current { .. } | Law::Lamp { .. } | Law::Diode { .. } => return None,
    })
}

/// The part acts without being seen or heard.
pub fn is_mute(damage: &[Damage], part: PartId) -> bool {
    damage.contains(&Damage::Mute(part))
}
