//! Testers for shorts, drains and joints that come and go: a clamp, millivolts across a fuse, an ammeter or
//! a bulb in its place, a connector moved about, a fused jumper in place of a switch or pin, and a known good
//! relay, bulb or fuse in place of another.
//!
//! They are worth thinking of in few setups only, so they are listed here and not beside every point.

use super::enumerate::{make, sense_for};
use super::observe::{DECADE, METER_OHMS, Scene, lamp_spread, link_state, restless, sense};
use super::refusal::Refusal;
use super::scale::{LEAST_AMPS, LEAST_DRAIN, LEAST_MILLIVOLTS, Scale, Shown};
use super::scope::Scope;
use super::tolerance::LOAD_OHMS;
use super::{Instrument, Target, Test, Tester};
use crate::circuit::{
    Circuit, ConnectorId, Element, Kind, LinkId, PartId, PlaceId, Sight, TerminalId, Work,
};
use crate::electric::{Law, NodeId, SolveError};
use crate::setup::Setup;
use crate::setup::bridge::{comes_out, jumped, swaps};

/// Watts of the bulb put in place of a fuse: that of a stop lamp (UN Regulation 37, category P21W, from
/// memory).
pub const BULB_WATTS: f64 = 21.0;

/// Volts of a meter across a fuse.
pub(super) fn millivolts(scene: &Scene<'_>, a: NodeId, b: NodeId) -> Shown {
    let (open_volts, source_ohms) = scene.case.thevenin(a, b);
    let volts = open_volts * METER_OHMS / (METER_OHMS + source_ohms.abs());
    let level = (1000.0 * volts.abs()).log10().max(LEAST_MILLIVOLTS);
    // Nothing at all is nothing on any machine.
    let share = (scene.spreads.volts(a, b, volts) / volts.abs().max(1e-4)).min(1.0);
    Shown { level, spread: share * DECADE, restless: restless(scene.case.steadiness()) }
}

/// Amperes in a wire; a clamp adds nothing to the circuit.
pub(super) fn clamp(scene: &Scene<'_>, part: PartId) -> Shown {
    let link = scene.circuit.part(part).links.first();
    let amps = link.map_or(0.0, |&link| link_state(scene, link).1);
    let level = amps.abs().log10().max(LEAST_AMPS);
    let share = link.map_or(0.0, |&link| scene.spreads.amps_share(link));
    Shown { level, spread: share * DECADE, restless: restless(scene.case.steadiness()) }
}

/// A bulb across the holder of a fuse that is out.
pub(super) fn bulb(scene: &Scene<'_>, part: PartId) -> Result<Shown, SolveError> {
    let Some(&link) = scene.circuit.part(part).links.first() else {
        return Ok(Shown { level: 0.0, spread: 0.0, restless: false });
    };
    let (from, to) = scene.circuit.ends(link);
    let volts = scene.circuit.system_volts;
    let law = Law::Lamp { volts, watts: BULB_WATTS };
    let (from, to) = (scene.wiring.node(from), scene.wiring.node(to));
    let load = scene.case.with_load(from, to, &law)?;
    let level = load.volts.abs() / volts;
    let spread = lamp_spread(scene, (from, to), level);
    Ok(Shown { level, spread, restless: restless(&load.steadiness) })
}

/// Ohms of a meter on its 10 A range with its leads, and the fuse in it (from memory).
pub const AMMETER_OHMS: f64 = 0.03;
/// Rating of that fuse.
pub const AMMETER_AMPS: f64 = 10.0;

/// A meter on amperes across the holder of a fuse that is out; nothing once its own fuse has blown.
pub(super) fn ammeter(scene: &Scene<'_>, part: PartId) -> Result<Shown, SolveError> {
    let Some(&link) = scene.circuit.part(part).links.first() else {
        return Ok(Shown { level: LEAST_AMPS, spread: 0.0, restless: false });
    };
    let (from, to) = scene.circuit.ends(link);
    let law = Law::Fuse { ohms: AMMETER_OHMS, rated_amps: AMMETER_AMPS };
    let load = scene.case.with_load(scene.wiring.node(from), scene.wiring.node(to), &law)?;
    let level = load.amps.abs().log10().max(LEAST_AMPS);
    // What flows goes by the ohms of what it feeds.
    Ok(Shown { level, spread: LOAD_OHMS * DECADE, restless: restless(&load.steadiness) })
}

/// Minutes to take the battery's ground cable off, put a meter between it and its post, and put it on again
/// (common practice, no source).
const METER_IN_CABLE_MINUTES: f64 = 2.0;

/// Minutes a target takes beside those of its tester.
pub(super) fn more_minutes(circuit: &Circuit, tester: Tester, target: Target) -> f64 {
    let in_cable = tester == Tester::Amps && is_battery(circuit, target);
    if in_cable { METER_IN_CABLE_MINUTES } else { 0.0 }
}

/// The target is a battery: a meter on amperes then lies between its minus post and its ground cable.
pub fn is_battery(circuit: &Circuit, target: Target) -> bool {
    matches!(target, Target::Part(part) if circuit.part(part).kind == Kind::Battery)
}

/// A meter on amperes between the battery's minus post and its ground cable.
///
/// Its few hundredths of an ohm move nothing at the amperes it bears; with more its fuse opens and it shows
/// nothing, which a person takes for a drain: the sparks told.
pub(super) fn drain(scene: &Scene<'_>, part: PartId) -> Shown {
    let link = scene.circuit.part(part).links.first();
    let amps = link.map_or(0.0, |&link| link_state(scene, link).1);
    let share = link.map_or(0.0, |&link| scene.spreads.amps_share(link));
    let level = amps.abs().log10().max(LEAST_DRAIN);
    Shown { level, spread: share * DECADE, restless: restless(scene.case.steadiness()) }
}

/// What is watched while a connector is moved about; `expectations` turns it into whether it changes.
pub(super) fn watched(scene: &Scene<'_>, test: &Test) -> Shown {
    let still = Shown { level: 0.0, spread: 0.0, restless: false };
    let watched = watched_part(scene.circuit, &test.setup);
    watched.map_or(still, |(part, scale)| sense(scene, scale, part))
}

/// The first thing that acts in this setup when all is well, and how it is seen.
pub(super) fn watched_part(circuit: &Circuit, setup: &Setup) -> Option<(PartId, Scale)> {
    let work = circuit.works.iter().find(|work| Setup::for_work(circuit, work) == *setup)?;
    let sight = work.see.iter().find(|sight| sight.acts)?;
    Some((sight.part, looked_at(circuit, sight, setup)?.scale))
}

fn looked_at(circuit: &Circuit, sight: &Sight, setup: &Setup) -> Option<Test> {
    let tester = sense_for(&circuit.part(sight.part).kind)?;
    make(circuit, tester, Target::Part(sight.part), setup).ok()
}

/// Where the person has to be for a target that is no terminal.
pub(super) fn place(circuit: &Circuit, tester: Tester, target: Target) -> Option<PlaceId> {
    match (tester, target) {
        (Tester::Clamp | Tester::Amps | Tester::Bulb, Target::Part(part)) => {
            Some(circuit.part(part).place)
        }
        (_, Target::Connector(at)) => Some(circuit.connector(at).place),
        _ => None,
    }
}

/// Why such a test is not done, if it is not.
pub(super) fn refuse(
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

fn is_fuse(circuit: &Circuit, link: LinkId) -> bool {
    matches!(circuit.link(link).element, Element::Fuse { .. })
}

/// Clamp, millivolts and moving about, in the setups in which something works and at rest.
pub(super) fn looks(circuit: &Circuit, scope: &Scope, setup: &Setup) -> Vec<(Tester, Target)> {
    let works = working(circuit).any(|work| Setup::for_work(circuit, work) == *setup);
    if !works && *setup != Setup::rest(circuit) {
        return Vec::new();
    }
    let mut looks = Vec::new();
    for part in circuit.part_ids().filter(|&part| scope.has(part)) {
        if matches!(circuit.part(part).kind, Kind::Wire { .. }) {
            looks.push((Tester::Clamp, Target::Part(part)));
        }
        for &link in circuit.links_of(part).iter().filter(|link| is_fuse(circuit, **link)) {
            let (from, to) = circuit.ends(link);
            looks.push((Tester::Millivolts, Target::Pair(from, to)));
        }
    }
    if works {
        let connectors = (0..circuit.connectors.len() as u32).map(ConnectorId);
        let connectors = connectors.filter(|&at| scope.has_pin_of(circuit.connector(at)));
        looks.extend(connectors.map(|at| (Tester::Wiggle, Target::Connector(at))));
    }
    looks
}

fn working(circuit: &Circuit) -> impl Iterator<Item = &Work> {
    circuit.works.iter().filter(|work| work.see.iter().any(|sight| sight.acts))
}

/// Tests in setups of their own: bulbs and ammeters for fuses, jumpers for switches and pins, spares.
pub(super) fn tests(circuit: &Circuit, scope: &Scope, kit: &[Instrument]) -> Vec<Test> {
    let mut list = Vec::new();
    if kit.contains(&Instrument::Meter) {
        list.extend(ammeters(circuit, scope));
    }
    if kit.contains(&Instrument::Bulb) {
        list.extend(bulbs(circuit, scope));
    }
    if kit.contains(&Instrument::Jumper) {
        let jumped = |part| scope.has(part) && jumped(circuit, part).is_some();
        list.extend(substitutes(circuit, jumped, |setup, part| setup.bridged.push(part)));
    }
    if kit.contains(&Instrument::Spares) {
        let swaps = |part| scope.has(part) && swaps(circuit, part);
        list.extend(substitutes(circuit, swaps, |setup, part| setup.swapped.push(part)));
    }
    list
}

/// An ammeter for each fuse it bears, at rest: what drains the battery. Where something works, millivolts
/// across the fuse tell as much with nothing taken out.
fn ammeters(circuit: &Circuit, scope: &Scope) -> Vec<Test> {
    let fuses = circuit.part_ids().filter(|&part| scope.has(part) && comes_out(circuit, part));
    let test = |fuse| {
        let mut setup = Setup::rest(circuit);
        setup.out.push(fuse);
        make(circuit, Tester::Amps, Target::Part(fuse), &setup).ok()
    };
    fuses.filter_map(test).collect()
}

/// A bulb for each fuse, at rest and where something should work, and the same with one connector
/// parted: where it goes dark, the short lies behind that connector.
fn bulbs(circuit: &Circuit, scope: &Scope) -> Vec<Test> {
    let mut bases = vec![Setup::rest(circuit)];
    for setup in working(circuit).map(|work| Setup::for_work(circuit, work)) {
        if !bases.contains(&setup) {
            bases.push(setup);
        }
    }
    let mut list = Vec::new();
    let fuses = circuit.part_ids().filter(|&part| scope.has(part) && comes_out(circuit, part));
    for fuse in fuses {
        for base in &bases {
            let mut setup = base.clone();
            setup.out.push(fuse);
            list.extend(make(circuit, Tester::Bulb, Target::Part(fuse), &setup));
            let connectors = (0..circuit.connectors.len() as u32).map(ConnectorId);
            for at in connectors.filter(|&at| scope.has_pin_of(circuit.connector(at))) {
                let mut parted = setup.clone();
                parted.parted.push(at);
                list.extend(make(circuit, Tester::Bulb, Target::Part(fuse), &parted));
            }
        }
    }
    list
}

/// What should work is tried with something else in the place of one part: a jumper, or a good one.
fn substitutes(
    circuit: &Circuit,
    can: impl Fn(PartId) -> bool,
    substitute: impl Fn(&mut Setup, PartId),
) -> Vec<Test> {
    let mut list = Vec::new();
    for work in working(circuit) {
        let base = Setup::for_work(circuit, work);
        for part in circuit.part_ids().filter(|&part| can(part)) {
            let mut setup = base.clone();
            substitute(&mut setup, part);
            for test in work.see.iter().filter_map(|sight| looked_at(circuit, sight, &setup)) {
                if !list.iter().any(|one: &Test| one.id == test.id) {
                    list.push(test);
                }
            }
        }
    }
    list
}
