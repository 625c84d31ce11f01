//! Which parts count as the same kind when a shop's jobs are pooled.

use crate::circuit::{Circuit, Kind, PartId};
use crate::suspect::{Nature, Suspect};

/// The family of a suspect: that of its part, or `sound` and `outside`.
pub fn of_suspect(circuit: &Circuit, suspect: &Suspect) -> &'static str {
    match (suspect.nature, suspect.part) {
        (Nature::Outside, _) => "outside",
        (_, Some(part)) => of_part(circuit, part),
        (_, None) => "sound",
    }
}

/// The family of a part. What fails in the same way for the same reasons is one: all switches worked by hand
/// or by the machine, all loads that are only a winding or an element.
pub fn of_part(circuit: &Circuit, part: PartId) -> &'static str {
    match circuit.parts[part.index()].kind {
        Kind::Battery => "battery",
        Kind::ChargingSource => "charging source",
        Kind::Fuse => "fuse",
        Kind::FusibleLink => "fusible link",
        Kind::Breaker => "breaker",
        Kind::Switch { .. } => "switch",
        Kind::Relay => "relay",
        Kind::Solenoid => "solenoid",
        Kind::Flasher { .. } => "flasher",
        Kind::StarterMotor => "starter motor",
        Kind::Motor => "motor",
        Kind::Lamp => "lamp",
        Kind::Led => "led",
        Kind::Horn => "horn",
        Kind::Heater | Kind::Load => "load",
        Kind::IgnitionCoil => "ignition coil",
        Kind::Gauge { .. } => "gauge",
        Kind::Sender { .. } => "sender",
        Kind::Resistor => "resistor",
        Kind::Diode | Kind::Zener => "diode",
        Kind::ControlBox => "box",
        Kind::Strap => "strap",
        Kind::Splice => "splice",
        Kind::GroundPoint => "ground point",
        Kind::Pin { .. } => "connector",
        Kind::Wire { heavy: true, .. } => "heavy cable",
        Kind::Wire { heavy: false, .. } => "wire",
    }
}

/// The fault mode of a suspect, the last half of its id; names of parts have no dots.
pub fn mode(suspect: &Suspect) -> &str {
    suspect.id.split_once('.').map_or(suspect.id.as_str(), |(_, mode)| mode)
}
