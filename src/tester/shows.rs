//! On which scale a tester shows something at a target, and by what a part is looked at.

use super::scale::Scale;
use super::{Target, Tester};
use crate::circuit::{Circuit, Kind, PartId};

/// The scale of a tester at a target; none where it shows nothing.
pub(super) fn scale(circuit: &Circuit, tester: Tester, target: Target) -> Option<Scale> {
    let system = circuit.system_volts.round().clamp(1.0, 60.0) as u8;
    match tester {
        Tester::LampGround | Tester::LampPlus | Tester::LampAcross | Tester::Bulb => {
            Some(Scale::Glow)
        }
        Tester::LedGround | Tester::LedPlus => Some(Scale::Led),
        Tester::Volts | Tester::Drop => Some(Scale::Volts { system }),
        Tester::OldVolts | Tester::OldDrop => Some(Scale::Pointer { system }),
        Tester::Millivolts => Some(Scale::Millivolts),
        Tester::Amps if is_battery(circuit, target) => Some(Scale::Drain),
        Tester::Clamp | Tester::Amps => Some(Scale::Amps),
        Tester::Wiggle => Some(Scale::Steadiness),
        Tester::Ohms => Some(Scale::Ohms),
        Tester::Watch | Tester::Hear => {
            let Target::Part(part) = target else { return None };
            seen(circuit, tester, part)
        }
    }
}

fn seen(circuit: &Circuit, tester: Tester, part: PartId) -> Option<Scale> {
    match (tester, &circuit.parts[part.index()].kind) {
        (Tester::Watch, Kind::StarterMotor) => Some(Scale::Cranking),
        (Tester::Watch, Kind::Motor) => Some(Scale::Turning),
        (Tester::Watch, Kind::Lamp | Kind::Led) => Some(Scale::Glow),
        (Tester::Watch, Kind::Heater | Kind::IgnitionCoil | Kind::Load) => Some(Scale::Works),
        (Tester::Watch, Kind::Gauge { .. }) => Some(Scale::Needle),
        (Tester::Hear, Kind::Horn) => Some(Scale::Sound),
        (Tester::Hear, Kind::Flasher { .. }) => Some(Scale::Beat),
        (Tester::Hear, Kind::Relay | Kind::Solenoid) => Some(Scale::Click),
        _ => None,
    }
}

/// How a part is looked at: eyes or ears; a battery by the amperes that it gives.
pub fn sense_for(kind: &Kind) -> Option<Tester> {
    match kind {
        Kind::StarterMotor
        | Kind::Motor
        | Kind::Lamp
        | Kind::Led
        | Kind::Heater
        | Kind::IgnitionCoil
        | Kind::Load
        | Kind::Gauge { .. } => Some(Tester::Watch),
        Kind::Horn | Kind::Relay | Kind::Solenoid | Kind::Flasher { .. } => Some(Tester::Hear),
        Kind::Battery => Some(Tester::Amps),
        _ => None,
    }
}

/// The target is a battery: a meter on amperes then lies between its minus post and its ground cable.
pub fn is_battery(circuit: &Circuit, target: Target) -> bool {
    matches!(target, Target::Part(part) if circuit.part(part).kind == Kind::Battery)
}
