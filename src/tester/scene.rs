//! One solved case as testers find it.

use super::lamps::Lamps;
use super::spread::Spreads;
use super::tolerance::LAMP_AMPS;
use crate::circuit::{Circuit, LinkId, PartId, TerminalId};
use crate::electric::{Case, NodeId};
use crate::setup::wiring::Wiring;
use crate::suspect::damage::Damage;

/// Input resistance of a digital meter on volts, as usually published.
pub const METER_OHMS: f64 = 10.0e6;

/// A share of a number is this much of a decade.
pub(super) const DECADE: f64 = std::f64::consts::LOG10_E;

/// One solved case, and what is needed to read it.
pub struct Scene<'a> {
    /// The circuit.
    pub circuit: &'a Circuit,
    /// Network numbers of this setup.
    pub wiring: &'a Wiring,
    /// The battery's plus, where a clip goes.
    pub plus: NodeId,
    /// The operating point.
    pub case: &'a Case<'a>,
    /// The lamps tried on it so far.
    pub lamps: Lamps,
    /// How far readings of this setup spread between sound machines.
    pub spreads: &'a Spreads,
    /// What is wrong, for faults that only senses meet.
    pub damage: &'a [Damage],
    /// Parts whose armature is pulled already when nobody touches a control.
    pub pulled_at_rest: &'a [PartId],
}

/// Spread of a lamp's level: that of the volts it is put on, as far as it leaves them, and its own amperes
/// where it pulls them down.
pub(super) fn lamp_spread(scene: &Scene<'_>, (a, b): (NodeId, NodeId), level: f64) -> f64 {
    let rated_volts = scene.circuit.system_volts;
    let open_volts = (scene.case.node_volts(a) - scene.case.node_volts(b)).abs();
    let left = if open_volts > 0.0 { (level * rated_volts / open_volts).min(1.0) } else { 1.0 };
    let put_on = left * scene.spreads.volts(a, b, open_volts) / rated_volts;
    put_on.hypot(LAMP_AMPS * level * (1.0 - left))
}

/// Volts across a link, amperes in it.
pub(super) fn link_state(scene: &Scene<'_>, link: LinkId) -> (f64, f64) {
    let Some((from, to)) = scene.circuit.graph.edge_endpoints(link) else { return (0.0, 0.0) };
    let node = |at: TerminalId| scene.case.node_volts(scene.wiring.node(at));
    (node(from) - node(to), scene.case.branch_amps(scene.wiring.branch(link)))
}
