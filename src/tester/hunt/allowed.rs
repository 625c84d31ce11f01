//! Where such tests are done, what they take, and which are refused.

use crate::circuit::{Circuit, Element, Kind, LinkId, PartId, PlaceId, TerminalId};
use crate::setup::Setup;
use crate::setup::bridge::jumped;
use crate::tester::refusal::Refusal;
use crate::tester::scale::Scale;
use crate::tester::shows::{is_battery, scale, sense_for};
use crate::tester::{Target, Tester};

/// Rating of the fuse in a meter on its 10 A range (from memory).
pub const AMMETER_AMPS: f64 = 10.0;

/// Minutes to take the battery's ground cable off, put a meter between it and its post, and put it on again
/// (common practice, no source).
const METER_IN_CABLE_MINUTES: f64 = 2.0;

/// Minutes a target takes beside those of its tester.
pub(in crate::tester) fn more_minutes(circuit: &Circuit, tester: Tester, target: Target) -> f64 {
    let in_cable = tester == Tester::Amps && is_battery(circuit, target);
    if in_cable { METER_IN_CABLE_MINUTES } else { 0.0 }
}

/// Where the person has to be for a target that is no terminal.
pub(in crate::tester) fn place(
    circuit: &Circuit,
    tester: Tester,
    target: Target,
) -> Option<PlaceId> {
    match (tester, target) {
        (Tester::Clamp | Tester::Amps | Tester::Bulb, Target::Part(part)) => {
            Some(circuit.part(part).place)
        }
        (_, Target::Connector(at)) => Some(circuit.connector(at).place),
        _ => None,
    }
}

/// Why such a test is not done, if it is not.
pub(in crate::tester) fn refuse(
    circuit: &Circuit,
    tester: Tester,
    target: Target,
    setup: &Setup,
) -> Result<(), Refusal> {
    if setup.bridged.iter().any(|&part| jumped(circuit, part).is_none()) {
        return Err(Refusal::Jumper);
    }
    match (tester, target) {
        (Tester::Clamp, Target::Part(part))
            if !matches!(circuit.part(part).kind, Kind::Wire { .. }) =>
        {
            Err(Refusal::NoWire)
        }
        (Tester::Amps, target) if is_battery(circuit, target) => {
            let at_rest = *setup == Setup::rest(circuit);
            if at_rest { Ok(()) } else { Err(Refusal::NotAtRest) }
        }
        (Tester::Bulb, Target::Part(part)) if !setup.out.contains(&part) => {
            Err(Refusal::BulbFuseIn)
        }
        (Tester::Amps, Target::Part(part)) if !setup.out.contains(&part) => {
            Err(Refusal::AmpsFuseIn)
        }
        (Tester::Amps, Target::Part(part)) if !bears(circuit, part) => Err(Refusal::MeterAmps),
        (Tester::Millivolts, Target::Pair(a, b)) if !across_fuse(circuit, a, b) => {
            Err(Refusal::NoFuse)
        }
        (Tester::Wiggle, Target::Connector(at)) if setup.parted.contains(&at) => {
            Err(Refusal::Parted)
        }
        (Tester::Wiggle, _) if watched_part(circuit, setup).is_none() => Err(Refusal::NothingWorks),
        _ => Ok(()),
    }
}

/// The fuse is no larger than the one in a meter.
fn bears(circuit: &Circuit, part: PartId) -> bool {
    circuit.links_of(part).iter().all(|link| {
        matches!(circuit.link(*link).element, Element::Fuse { rated_amps, .. }
            if rated_amps <= AMMETER_AMPS)
    })
}

fn across_fuse(circuit: &Circuit, a: TerminalId, b: TerminalId) -> bool {
    circuit.links_at(a).into_iter().any(|(link, other)| other == b && is_fuse(circuit, link))
}

/// The first thing that acts in this setup when all is well, and how it is seen.
pub(in crate::tester) fn watched_part(circuit: &Circuit, setup: &Setup) -> Option<(PartId, Scale)> {
    let work = circuit.works.iter().find(|work| Setup::for_work(circuit, work) == *setup)?;
    let sight = work.see.iter().find(|sight| sight.acts)?;
    let tester = sense_for(&circuit.part(sight.part).kind)?;
    Some((sight.part, scale(circuit, tester, Target::Part(sight.part))?))
}

pub(super) fn is_fuse(circuit: &Circuit, link: LinkId) -> bool {
    matches!(circuit.link(link).element, Element::Fuse { .. })
}
