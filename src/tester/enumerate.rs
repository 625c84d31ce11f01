//! The tests worth thinking of.

use std::collections::BTreeSet;

use super::hunt::listed;
use super::make::make;
use super::scope::Scope;
use super::shows::sense_for;
use super::{Instrument, Target, Test, Tester};
use crate::circuit::{
    Circuit, ConnectorId, Control, Element, Kind, LinkId, PartId, TerminalId, Work,
};
use crate::setup::Setup;
use crate::setup::wiring::{is_battery_ground, negative_post};

/// All tests on a part of a circuit worth thinking of with `kit` at hand, grouped by setup.
pub fn tests(circuit: &Circuit, scope: &Scope, kit: &[Instrument]) -> Vec<Test> {
    let mut list = tests_in(circuit, scope, kit, &setups(circuit, scope));
    list.extend(listed::tests(circuit, scope, kit));
    list
}

/// The tests worth thinking of in these setups, grouped by setup.
pub fn tests_in(
    circuit: &Circuit,
    scope: &Scope,
    kit: &[Instrument],
    setups: &[Setup],
) -> Vec<Test> {
    let seen = seen_parts(circuit, scope);
    let (points, pairs) = (points(circuit, scope), pairs(circuit, scope));
    let mut list = Vec::new();
    for setup in setups {
        let mut add = |tester: Tester, target: Target| {
            if tester.instrument() == Instrument::Senses || kit.contains(&tester.instrument()) {
                list.extend(make(circuit, tester, target, setup));
            }
        };
        if setup.ground_off {
            for (a, b) in ohm_pairs(circuit, scope, &points) {
                add(Tester::Ohms, Target::Pair(a, b));
            }
            continue;
        }
        for &(tester, part) in &seen {
            add(tester, Target::Part(part));
        }
        for &point in &points {
            use Tester::{LampGround, LampPlus, LedGround, LedPlus, OldVolts, Volts};
            for tester in [LampGround, LampPlus, LedGround, LedPlus, Volts, OldVolts] {
                add(tester, Target::Point(point));
            }
        }
        for &(a, b) in &pairs {
            // A lamp across a wire, pin or ground tells no more than one at each of its ends.
            if !joined_thinly(circuit, a, b) {
                add(Tester::LampAcross, Target::Pair(a, b));
            }
            add(Tester::Drop, Target::Pair(a, b));
            add(Tester::OldDrop, Target::Pair(a, b));
        }
        for (tester, target) in listed::looks(circuit, scope, setup) {
            add(tester, target);
        }
    }
    list
}

/// The setups in which a complaint is first looked into: rest, what should work, and that let go of.
pub fn first_setups(circuit: &Circuit, work: &Work) -> Vec<Setup> {
    let setup = Setup::for_work(circuit, work);
    let setups = BTreeSet::from([Setup::rest(circuit), setup.let_go(circuit), setup]);
    setups.into_iter().collect()
}

/// A setup, and the same with one control put back to rest.
fn around(circuit: &Circuit, setup: &Setup) -> Vec<Setup> {
    let let_go = |(at, control): (usize, &Control)| {
        let mut near = setup.clone();
        near.positions[at] = control.rest;
        near
    };
    let near = circuit.controls.iter().enumerate().map(let_go);
    near.chain([setup.clone()]).collect()
}

fn joined_thinly(circuit: &Circuit, a: TerminalId, b: TerminalId) -> bool {
    circuit
        .graph
        .edges_connecting(a, b)
        .any(|edge| matches!(circuit.parts[edge.weight().part.index()].kind, Kind::Wire { .. }))
}

/// Parts that can be seen or heard: those in scope, and all by which something is seen to work.
fn seen_parts(circuit: &Circuit, scope: &Scope) -> Vec<(Tester, PartId)> {
    let sights = circuit.works.iter().flat_map(|work| &work.see);
    let works: BTreeSet<PartId> = sights.map(|sight| sight.part).collect();
    let senses = circuit.part_ids().filter_map(|part| {
        let tester = sense_for(&circuit.part(part).kind)?;
        let in_scope = scope.has(part) && tester.instrument() == Instrument::Senses;
        (in_scope || works.contains(&part)).then_some((tester, part))
    });
    senses.collect()
}

/// Terminals of parts in scope that a probe can touch.
fn points(circuit: &Circuit, scope: &Scope) -> Vec<TerminalId> {
    let in_scope = |at: TerminalId| circuit.graph.edges(at).any(|one| scope.has(one.weight().part));
    circuit
        .graph
        .node_indices()
        .filter(|&at| at != circuit.chassis && circuit.graph[at].probe && in_scope(at))
        .collect()
}

/// Ends of links, red lead toward the supply as the file has it, and the battery's ground path.
fn pairs(circuit: &Circuit, scope: &Scope) -> Vec<(TerminalId, TerminalId)> {
    let mut pairs: Vec<(TerminalId, TerminalId)> = circuit
        .graph
        .edge_indices()
        .filter(|&link| scope.has(circuit.link(link).part))
        .filter_map(|link| circuit.graph.edge_endpoints(link))
        .collect();
    pairs.extend(negative_post(circuit).map(|post| (circuit.chassis, post)));
    let mut seen = BTreeSet::new();
    pairs.retain(|&(a, b)| seen.insert((a.min(b), a.max(b))));
    pairs
}

/// Where ohms are worth measuring: across single parts, and from loads to the frame.
fn ohm_pairs(
    circuit: &Circuit,
    scope: &Scope,
    points: &[TerminalId],
) -> Vec<(TerminalId, TerminalId)> {
    let whole = |link: LinkId| {
        scope.has(circuit.link(link).part)
            && !matches!(circuit.graph[link].element, Element::Emf { .. })
            && !is_battery_ground(circuit, link)
    };
    let mut pairs: Vec<(TerminalId, TerminalId)> = circuit
        .graph
        .edge_indices()
        .filter(|&link| whole(link))
        .filter_map(|link| circuit.graph.edge_endpoints(link))
        .collect();
    pairs.extend(points.iter().map(|&at| (at, circuit.chassis)));
    let mut seen = BTreeSet::new();
    pairs.retain(|&(a, b)| seen.insert((a.min(b), a.max(b))));
    pairs
}

/// The setups worth thinking of: those in which something should work, those with one control put back to rest, the
/// same with one connector parted or one starter cable lifted, and dead ones for ohms.
pub fn setups(circuit: &Circuit, scope: &Scope) -> Vec<Setup> {
    let mut whole: BTreeSet<Setup> = BTreeSet::from([Setup::rest(circuit)]);
    for work in &circuit.works {
        whole.extend(around(circuit, &Setup::for_work(circuit, work)));
    }
    let mut all = whole;
    for setup in &taken_apart(circuit) {
        let connectors = circuit.connectors.iter().enumerate();
        for (at, _) in connectors.filter(|(_, connector)| scope.has_pin_of(connector)) {
            let mut parted = setup.clone();
            parted.parted.push(ConnectorId(at as u32));
            all.insert(parted);
        }
        for cable in motor_cables(circuit).into_iter().filter(|&cable| scope.has(cable)) {
            let mut lifted = setup.clone();
            lifted.lifted.push(cable);
            all.insert(lifted);
        }
        let mut dead = setup.clone();
        dead.ground_off = true;
        all.insert(dead);
    }
    all.into_iter().collect()
}

/// The setups worth trying with something taken apart: rest, what should work, and that let go of.
fn taken_apart(circuit: &Circuit) -> BTreeSet<Setup> {
    let mut bases = BTreeSet::from([Setup::rest(circuit)]);
    for work in circuit.works.iter().filter(|work| work.see.iter().any(|sight| sight.acts)) {
        let setup = Setup::for_work(circuit, work);
        bases.extend([setup.let_go(circuit), setup]);
    }
    bases
}

/// Heavy cables on a motor's plus terminal: lifted, the rest can be tried without turning it.
fn motor_cables(circuit: &Circuit) -> Vec<PartId> {
    let is_cable =
        |part: PartId| matches!(circuit.parts[part.index()].kind, Kind::Wire { heavy: true, .. });
    let mut cables: Vec<PartId> = circuit
        .parts
        .iter()
        .filter(|part| part.kind == Kind::StarterMotor)
        .filter_map(|part| part.terminals.first())
        .flat_map(|&plus| circuit.graph.edges(plus).map(|edge| edge.weight().part))
        .filter(|&part| is_cable(part))
        .collect();
    cables.sort_unstable();
    cables.dedup();
    cables
}
