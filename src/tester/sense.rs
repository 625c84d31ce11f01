//! What eyes, ears or hands make of a part.

use super::scale::{Scale, Shown};
use super::scene::{Scene, link_state};
use crate::circuit::{Element, Kind, LinkId, PartId};
use crate::electric::Steadiness;
use crate::suspect::damage::{Damage, JAMMED_AMPS, is_mute};

/// A motor with less than this share of its amperes stands still (common practice, no source).
const DEAD_SHARE: f64 = 0.02;

/// A starter with less than this share of its amperes has nothing to turn: one that spins free takes two fifths
/// of them (`suspect::modes`).
const FREE_SHARE: f64 = 0.8;

/// What eyes, ears or hands make of a part.
pub(super) fn sense(scene: &Scene<'_>, scale: Scale, part: PartId) -> Shown {
    let chatters = scene.case.steadiness().chatters();
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
