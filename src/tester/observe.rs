//! Reading a solved case as a tester would: the tester is in the circuit.

use super::lamps::{Glow, Lamps};
use super::scale::{OVERLOAD_LEVEL, POINTER_RANGE, Scale, Shown};
use super::spread::Spreads;
use super::tolerance::{FORWARD_VOLTS, LAMP_AMPS, LOAD_OHMS};
use super::{Target, Test, Tester, hunt};
use crate::circuit::{Circuit, Element, Kind, LinkId, PartId, TerminalId};
use crate::electric::{Case, GROUND, NodeId, SolveError, Steadiness};
use crate::setup::wiring::Wiring;
use crate::suspect::damage::{Damage, JAMMED_AMPS, is_mute};

/// Watts of the filament test lamp at the system's volts: `a few watts` (common practice, no source;
/// published draw 0.1 to 0.3 A at 12 V).
pub const LAMP_WATTS: f64 = 3.0;
/// Amperes of the LED test lamp at the system's volts (2 to 20 mA in practice, from memory).
pub const LED_AMPS: f64 = 0.010;
/// Volts at which the LED of the test lamp starts to conduct: red, 1.5 to 2.4 V published.
pub const LED_VOLTS: f64 = 1.8;
/// Ohms of an old meter for each volt of its range: a movement of 50 microamperes (`OpenStax` College
/// Physics, voltmeters and ammeters: 200 kilohm on 10 V).
pub const OLD_OHMS_PER_VOLT: f64 = 20_000.0;
/// Input resistance of a digital meter on volts, as usually published.
pub const METER_OHMS: f64 = 10.0e6;
/// An ohm meter shows nothing above this.
const METER_TOP_OHMS: f64 = 20.0e6;
/// Ohms of a meter's leads and probe tips (from memory).
const LEAD_OHMS: f64 = 0.1;
/// A share of a number is this much of a decade.
pub(super) const DECADE: f64 = std::f64::consts::LOG10_E;
/// Volts on a circuit that counts as live to an ohm meter.
const LIVE_VOLTS: f64 = 0.05;

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

/// What `test` shows in this scene.
pub fn observe(scene: &Scene<'_>, test: &Test) -> Result<Shown, SolveError> {
    match (test.tester, test.target) {
        (Tester::Clamp, Target::Part(part)) => Ok(hunt::clamp(scene, part)),
        (Tester::Bulb, Target::Part(part)) => hunt::bulb(scene, part),
        (Tester::Amps, target @ Target::Part(part)) if hunt::is_battery(scene.circuit, target) => {
            Ok(hunt::drain(scene, part))
        }
        (Tester::Amps, Target::Part(part)) => hunt::ammeter(scene, part),
        (_, Target::Connector(_)) => Ok(hunt::watched(scene, test)),
        (_, Target::Part(part)) => Ok(sense(scene, test.scale, part)),
        (tester, Target::Point(at)) => {
            let point = scene.wiring.node(at);
            match tester {
                Tester::LampPlus => lamp(scene, scene.plus, point),
                Tester::LedPlus => Ok(led(scene, scene.plus, point)),
                Tester::LedGround => Ok(led(scene, point, GROUND)),
                Tester::Volts => Ok(volts(scene, point, GROUND, METER_OHMS)),
                Tester::OldVolts => Ok(volts(scene, point, GROUND, old_meter_ohms(scene))),
                _ => lamp(scene, point, GROUND),
            }
        }
        (tester, Target::Pair(a, b)) => {
            let (a, b) = (scene.wiring.node(a), scene.wiring.node(b));
            match tester {
                Tester::Ohms => Ok(ohms(scene, a, b)),
                Tester::Drop => Ok(volts(scene, a, b, METER_OHMS)),
                Tester::OldDrop => Ok(volts(scene, a, b, old_meter_ohms(scene))),
                Tester::Millivolts => Ok(hunt::millivolts(scene, a, b)),
                _ => lamp(scene, a, b),
            }
        }
    }
}

pub(super) fn restless(steadiness: &Steadiness) -> bool {
    matches!(steadiness, Steadiness::Chatters { .. })
}

fn lamp(scene: &Scene<'_>, a: NodeId, b: NodeId) -> Result<Shown, SolveError> {
    let Glow { level, restless } = scene.lamps.across(scene.case, a, b)?;
    let spread = lamp_spread(scene, (a, b), level);
    Ok(Shown { level, spread, restless })
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

/// The LED lamp works with either clip on plus (two LEDs back to back behind one resistor).
fn led(scene: &Scene<'_>, a: NodeId, b: NodeId) -> Shown {
    let ohms = (scene.circuit.system_volts - LED_VOLTS) / LED_AMPS;
    let (open_volts, source_ohms) = scene.case.thevenin(a, b);
    let amps = (open_volts.abs() - LED_VOLTS).max(0.0) / (ohms + source_ohms);
    let level = (amps * 1000.0).max(1e-3).log10();
    let restless = restless(scene.case.steadiness());
    let room_volts = (open_volts.abs() - LED_VOLTS).max(0.01 * LED_VOLTS);
    let open_share = scene.spreads.volts(a, b, open_volts) / room_volts;
    let own_share = LOAD_OHMS.hypot(FORWARD_VOLTS * LED_VOLTS / room_volts);
    // Below its knee it takes as good as nothing, on any machine.
    let lit = if amps > 0.0 { 1.0 } else { 0.0 };
    let spread = (lit * DECADE * open_share.hypot(own_share)).min(1.0);
    Shown { level, spread, restless }
}

fn volts(scene: &Scene<'_>, a: NodeId, b: NodeId, meter_ohms: f64) -> Shown {
    // A meter's hundred kilohms or more move nothing, so the small-signal source at the points is exact
    // enough.
    let (open_volts, source_ohms) = scene.case.thevenin(a, b);
    let read = open_volts * meter_ohms / (meter_ohms + source_ohms.abs());
    // While relays chatter, a meter shows anything between the volts of their states: how long each lasts is
    // not reckoned.
    let swing = scene.case.swing(a, b) / 12.0_f64.sqrt();
    let spread = scene.spreads.volts(a, b, read).hypot(swing);
    Shown { level: read, spread, restless: false }
}

/// Of an old meter on the range of its system.
fn old_meter_ohms(scene: &Scene<'_>) -> f64 {
    OLD_OHMS_PER_VOLT * POINTER_RANGE * scene.circuit.system_volts
}

fn ohms(scene: &Scene<'_>, a: NodeId, b: NodeId) -> Shown {
    let (open_volts, ohms) = scene.case.thevenin(a, b);
    let shows_nothing = ohms > METER_TOP_OHMS || open_volts.abs() > LIVE_VOLTS;
    let level =
        if shows_nothing { OVERLOAD_LEVEL } else { (ohms + LEAD_OHMS).log10().min(OVERLOAD_LEVEL) };
    // Leads and probe tips come and go by half of what they are (from memory).
    let differs = scene.spreads.ohms(a, b, ohms).hypot(0.5 * LEAD_OHMS);
    let spread = if shows_nothing { 0.0 } else { DECADE * differs / (ohms + LEAD_OHMS) };
    Shown { level, spread, restless: false }
}

/// What eyes, ears or hands make of a part.
pub(super) fn sense(scene: &Scene<'_>, scale: Scale, part: PartId) -> Shown {
    let chatters = restless(scene.case.steadiness());
    let level = match scale {
        Scale::Click => click(scene, part),
        _ if is_mute(scene.damage, part) => 0.0,
        Scale::Turning | Scale::Cranking => turning(scene, part, chatters),
        Scale::Needle | Scale::Beat => share_of_amps(scene, part),
        _ => share_of_rated(scene, part),
    };
    let spread = if scale == Scale::Click { 0.0 } else { sense_spread(scene, part, level) };
    let turns = matches!(scale, Scale::Turning | Scale::Cranking);
    Shown { level, spread, restless: chatters && !turns }
}

/// Spread of what a part does: that of the volts it is fed with, as a share of them. (A part that takes
/// more amperes than another of its kind does its work all the same.)
fn sense_spread(scene: &Scene<'_>, part: PartId, level: f64) -> f64 {
    let Some(&link) = scene.circuit.part(part).links.last() else { return 0.0 };
    let (from, to) = scene.circuit.ends(link);
    let (from, to) = (scene.wiring.node(from), scene.wiring.node(to));
    let volts = (scene.case.node_volts(from) - scene.case.node_volts(to)).abs();
    if volts <= 0.0 { 0.0 } else { level * scene.spreads.volts(from, to, volts) / volts }
}

/// 0 nothing, 1 one click, 2 chatter.
fn click(scene: &Scene<'_>, part: PartId) -> f64 {
    let Some(relay) = scene.wiring.relay(part) else { return 0.0 };
    if let Steadiness::Chatters { relays } = scene.case.steadiness()
        && relays.contains(&relay)
    {
        return 2.0;
    }
    let moved = scene.case.pulled(relay) && !scene.pulled_at_rest.contains(&part);
    f64::from(u8::from(moved))
}

/// A motor with less than this share of its amperes stands still (common practice, no source).
const DEAD_SHARE: f64 = 0.02;
/// A starter with less than this share of its amperes has nothing to turn: one that spins free takes two fifths
/// of them (`suspect::modes`).
const FREE_SHARE: f64 = 0.8;

/// Speed over rated speed: back-EMF over back-EMF at rated volts.
fn turning(scene: &Scene<'_>, part: PartId, chatters: bool) -> f64 {
    let motor = scene.circuit.parts[part.index()].links.iter().find_map(|&link| {
        match scene.circuit.graph[link].element {
            Element::Motor { stall_ohms, running_amps, rated_volts } => {
                Some((link, stall_ohms, running_amps, rated_volts))
            }
            _ => None,
        }
    });
    let Some((link, stall_ohms, running_amps, rated_volts)) = motor else { return 0.0 };
    // A solenoid that chatters never lets the motor get going.
    if chatters || jammed(scene, link) {
        return 0.0;
    }
    let (volts, amps) = link_state(scene, link);
    if amps < DEAD_SHARE * running_amps {
        return 0.0;
    }
    let emf = volts - amps * (stall_ohms + added_ohms(scene, link));
    let rated_emf = rated_volts - running_amps * stall_ohms;
    // A starter is wound in series: fewer amperes are less field, and so much more speed.
    let series_wound = scene.circuit.parts[part.index()].kind == Kind::StarterMotor;
    let spins_free = series_wound && amps < FREE_SHARE * running_amps;
    let field = if spins_free { amps / running_amps } else { 1.0 };
    if rated_emf <= 0.0 { 0.0 } else { (emf / rated_emf / field).clamp(0.0, 2.0) }
}

/// What the suspect put in series with a link, as part of it.
fn added_ohms(scene: &Scene<'_>, link: LinkId) -> f64 {
    let added = |damage: &Damage| match damage {
        Damage::Series(at, ohms) if *at == link => *ohms,
        _ => 0.0,
    };
    scene.damage.iter().map(added).sum()
}

/// The suspect replaced the motor by one that cannot turn.
fn jammed(scene: &Scene<'_>, link: LinkId) -> bool {
    scene.damage.iter().any(|damage| {
        matches!(damage, Damage::Instead(at, Element::Motor { running_amps, .. })
            if *at == link && *running_amps >= JAMMED_AMPS)
    })
}

/// Amperes through a gauge or flasher over those it is made for.
fn share_of_amps(scene: &Scene<'_>, part: PartId) -> f64 {
    let owner = &scene.circuit.parts[part.index()];
    let (Kind::Gauge { full_amps: rated } | Kind::Flasher { rated_amps: rated }) = owner.kind
    else {
        return 0.0;
    };
    // The last link is the one that feeds; an electronic flasher's own supply comes before it.
    let amps = owner.links.last().map_or(0.0, |&link| link_state(scene, link).1);
    (amps / rated).clamp(0.0, 2.0)
}

fn share_of_rated(scene: &Scene<'_>, part: PartId) -> f64 {
    let owner = &scene.circuit.parts[part.index()];
    let Some(&link) = owner.links.first() else { return 0.0 };
    if owner.kind == Kind::Led {
        return led_share(scene, &owner.links);
    }
    let rated = match scene.circuit.graph[link].element {
        Element::Lamp { volts, .. } => volts,
        _ => scene.circuit.system_volts,
    };
    let (volts, amps) = link_state(scene, link);
    let own_volts = volts - amps * added_ohms(scene, link);
    if amps.abs() < 1e-4 { 0.0 } else { own_volts.abs() / rated }
}

/// Amperes of a light-emitting diode over those it is made for: what its resistor lets through at the
/// system's volts, but no more than its rating.
fn led_share(scene: &Scene<'_>, links: &[LinkId]) -> f64 {
    let mut rated_amps = f64::INFINITY;
    let mut room_volts = scene.circuit.system_volts;
    for &link in links {
        if let Element::Diode { forward_volts, at_amps } = scene.circuit.graph[link].element {
            rated_amps = at_amps;
            room_volts -= forward_volts;
        }
    }
    if let Some(&link) = links.first()
        && let Element::Resistance { ohms } = scene.circuit.graph[link].element
    {
        let made_for = rated_amps.min(room_volts.max(0.0) / ohms);
        return link_state(scene, link).1 / made_for.max(1e-6);
    }
    0.0
}

/// Volts across a link, amperes in it.
pub(super) fn link_state(scene: &Scene<'_>, link: LinkId) -> (f64, f64) {
    let Some((from, to)) = scene.circuit.graph.edge_endpoints(link) else { return (0.0, 0.0) };
    let node = |at: TerminalId| scene.case.node_volts(scene.wiring.node(at));
    (node(from) - node(to), scene.case.branch_amps(scene.wiring.branch(link)))
}
