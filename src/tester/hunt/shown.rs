//! What such testers show.

use super::allowed::{AMMETER_AMPS, watched_part};
use crate::circuit::PartId;
use crate::electric::{Law, NodeId, SolveError};
use crate::tester::Test;
use crate::tester::scale::{LEAST_AMPS, LEAST_DRAIN, LEAST_MILLIVOLTS, Shown};
use crate::tester::scene::{DECADE, METER_OHMS, Scene, lamp_spread, link_state};
use crate::tester::sense::sense;
use crate::tester::tolerance::LOAD_OHMS;

/// Watts of the bulb put in place of a fuse: that of a stop lamp (UN Regulation 37, category P21W, from
/// memory).
pub const BULB_WATTS: f64 = 21.0;

/// Ohms of a meter on its 10 A range with its leads (from memory).
pub const AMMETER_OHMS: f64 = 0.03;

/// Volts of a meter across a fuse.
pub(in crate::tester) fn millivolts(scene: &Scene<'_>, a: NodeId, b: NodeId) -> Shown {
    let (open_volts, source_ohms) = scene.case.thevenin(a, b);
    let volts = open_volts * METER_OHMS / (METER_OHMS + source_ohms.abs());
    let level = (1000.0 * volts.abs()).log10().max(LEAST_MILLIVOLTS);
    // Nothing at all is nothing on any machine.
    let share = (scene.spreads.volts(a, b, volts) / volts.abs().max(1e-4)).min(1.0);
    Shown { level, spread: share * DECADE, restless: scene.case.steadiness().chatters() }
}

/// Amperes in a wire; a clamp adds nothing to the circuit.
pub(in crate::tester) fn clamp(scene: &Scene<'_>, part: PartId) -> Shown {
    let link = scene.circuit.part(part).links.first();
    let amps = link.map_or(0.0, |&link| link_state(scene, link).1);
    let level = amps.abs().log10().max(LEAST_AMPS);
    let share = link.map_or(0.0, |&link| scene.spreads.amps_share(link));
    Shown { level, spread: share * DECADE, restless: scene.case.steadiness().chatters() }
}

/// A bulb across the holder of a fuse that is out.
pub(in crate::tester) fn bulb(scene: &Scene<'_>, part: PartId) -> Result<Shown, SolveError> {
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
    Ok(Shown { level, spread, restless: load.steadiness.chatters() })
}

/// A meter on amperes across the holder of a fuse that is out; nothing once its own fuse has blown.
pub(in crate::tester) fn ammeter(scene: &Scene<'_>, part: PartId) -> Result<Shown, SolveError> {
    let Some(&link) = scene.circuit.part(part).links.first() else {
        return Ok(Shown { level: LEAST_AMPS, spread: 0.0, restless: false });
    };
    let (from, to) = scene.circuit.ends(link);
    let law = Law::Fuse { ohms: AMMETER_OHMS, rated_amps: AMMETER_AMPS };
    let load = scene.case.with_load(scene.wiring.node(from), scene.wiring.node(to), &law)?;
    let level = load.amps.abs().log10().max(LEAST_AMPS);
    // What flows goes by the ohms of what it feeds.
    Ok(Shown { level, spread: LOAD_OHMS * DECADE, restless: load.steadiness.chatters() })
}

/// A meter on amperes between the battery's minus post and its ground cable.
///
/// Its few hundredths of an ohm move nothing at the amperes it bears; with more its fuse opens and it shows
/// nothing, which a person takes for a drain: the sparks told.
pub(in crate::tester) fn drain(scene: &Scene<'_>, part: PartId) -> Shown {
    let link = scene.circuit.part(part).links.first();
    let amps = link.map_or(0.0, |&link| link_state(scene, link).1);
    let share = link.map_or(0.0, |&link| scene.spreads.amps_share(link));
    let level = amps.abs().log10().max(LEAST_DRAIN);
    Shown { level, spread: share * DECADE, restless: scene.case.steadiness().chatters() }
}

/// What is watched while a connector is moved about; `expectations` turns it into whether it changes.
pub(in crate::tester) fn watched(scene: &Scene<'_>, test: &Test) -> Shown {
    let still = Shown { level: 0.0, spread: 0.0, restless: false };
    let watched = watched_part(scene.circuit, &test.setup);
    watched.map_or(still, |(part, scale)| sense(scene, scale, part))
}
