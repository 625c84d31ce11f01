//! Which of such tests are worth thinking of.

use super::allowed::is_fuse;
use crate::circuit::{Circuit, ConnectorId, Kind, PartId, Sight, Work};
use crate::setup::Setup;
use crate::setup::bridge::{comes_out, jumped, swaps};
use crate::tester::make::make;
use crate::tester::scope::Scope;
use crate::tester::shows::sense_for;
use crate::tester::{Instrument, Target, Test, Tester};

/// Clamp, millivolts and moving about, in the setups in which something works and at rest.
pub(in crate::tester) fn looks(
    circuit: &Circuit,
    scope: &Scope,
    setup: &Setup,
) -> Vec<(Tester, Target)> {
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
pub(in crate::tester) fn tests(circuit: &Circuit, scope: &Scope, kit: &[Instrument]) -> Vec<Test> {
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

fn looked_at(circuit: &Circuit, sight: &Sight, setup: &Setup) -> Option<Test> {
    let tester = sense_for(&circuit.part(sight.part).kind)?;
    make(circuit, tester, Target::Part(sight.part), setup).ok()
}
