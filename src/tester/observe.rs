//! Reading a solved case as a tester would: the tester is in the circuit.

use super::hunt::shown;
use super::lamps::Glow;
use super::scale::{OVERLOAD_LEVEL, POINTER_RANGE, Shown};
use super::scene::{DECADE, METER_OHMS, Scene, lamp_spread};
use super::sense::sense;
use super::shows::is_battery;
use super::tolerance::{FORWARD_VOLTS, LOAD_OHMS};
use super::{Target, Test, Tester};
use crate::electric::{GROUND, NodeId, SolveError};

/// Amperes of the LED test lamp at the system's volts (2 to 20 mA in practice, from memory).
pub const LED_AMPS: f64 = 0.010;
/// Volts at which the LED of the test lamp starts to conduct: red, 1.5 to 2.4 V published.
pub const LED_VOLTS: f64 = 1.8;
/// Ohms of an old meter for each volt of its range: a movement of 50 microamperes (`OpenStax` College
/// Physics, voltmeters and ammeters: 200 kilohm on 10 V).
pub const OLD_OHMS_PER_VOLT: f64 = 20_000.0;
/// An ohm meter shows nothing above this.
const METER_TOP_OHMS: f64 = 20.0e6;
/// Ohms of a meter's leads and probe tips (from memory).
const LEAD_OHMS: f64 = 0.1;
/// Volts on a circuit that counts as live to an ohm meter.
const LIVE_VOLTS: f64 = 0.05;

/// What `test` shows in this scene.
pub fn observe(scene: &Scene<'_>, test: &Test) -> Result<Shown, SolveError> {
    match (test.tester, test.target) {
        (Tester::Clamp, Target::Part(part)) => Ok(shown::clamp(scene, part)),
        (Tester::Bulb, Target::Part(part)) => shown::bulb(scene, part),
        (Tester::Amps, target @ Target::Part(part)) if is_battery(scene.circuit, target) => {
            Ok(shown::drain(scene, part))
        }
        (Tester::Amps, Target::Part(part)) => shown::ammeter(scene, part),
        (_, Target::Connector(_)) => Ok(shown::watched(scene, test)),
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
                Tester::Millivolts => Ok(shown::millivolts(scene, a, b)),
                _ => lamp(scene, a, b),
            }
        }
    }
}

fn lamp(scene: &Scene<'_>, a: NodeId, b: NodeId) -> Result<Shown, SolveError> {
    let Glow { level, restless } = scene.lamps.across(scene.case, a, b)?;
    let spread = lamp_spread(scene, (a, b), level);
    Ok(Shown { level, spread, restless })
}

/// The LED lamp works with either clip on plus (two LEDs back to back behind one resistor).
fn led(scene: &Scene<'_>, a: NodeId, b: NodeId) -> Shown {
    let ohms = (scene.circuit.system_volts - LED_VOLTS) / LED_AMPS;
    let (open_volts, source_ohms) = scene.case.thevenin(a, b);
    let amps = (open_volts.abs() - LED_VOLTS).max(0.0) / (ohms + source_ohms);
    let level = (amps * 1000.0).max(1e-3).log10();
    let restless = scene.case.steadiness().chatters();
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
