//! Which symbol stands for a step of a chain.

use super::chains::Step;
use crate::circuit::{Circuit, ClosedWhen, Element, Kind};

/// The symbols, after those of IEC 60617.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// A line in its colours.
    Wire,
    /// Where two halves of a connector meet.
    Pin,
    /// Where wires are joined.
    Dot,
    /// Bolted to the frame.
    Ground,
    /// A part's own metal on the frame.
    Body,
    /// A bare braid.
    Strap,
    /// A battery.
    Battery,
    /// A generator with its rectifier.
    Generator,
    /// A fuse.
    Fuse,
    /// A fusible link.
    FusibleLink,
    /// A circuit breaker.
    Breaker,
    /// A contact that is open at rest.
    Open,
    /// A contact that is closed at rest.
    Closed,
    /// The winding of a relay or solenoid.
    Coil,
    /// The same with a diode across it.
    CoilDiode,
    /// The same with a resistor across it.
    CoilResistor,
    /// The beating contact of a flasher.
    Flasher,
    /// A filament lamp.
    Lamp,
    /// A light-emitting diode.
    Led,
    /// A motor.
    Motor,
    /// A horn.
    Horn,
    /// A heater.
    Heater,
    /// The primary winding of an ignition coil.
    Winding,
    /// Anything else that is fed.
    Load,
    /// A gauge.
    Gauge,
    /// A resistance that something moves.
    Sender,
    /// A resistor.
    Resistor,
    /// A diode.
    Diode,
    /// A Zener diode.
    Zener,
    /// What feeds a control unit, or what it hears.
    Unit,
}

/// The symbol of a step.
pub fn of(circuit: &Circuit, step: &Step) -> Shape {
    let Some(link) = step.links.first().map(|link| circuit.link(*link)) else { return Shape::Dot };
    match (&link.element, link.role) {
        (Element::Contact { .. }, _) if is_flasher(circuit, step) => return Shape::Flasher,
        (Element::Contact { closed_when, .. }, _) => return contact(circuit, closed_when),
        (Element::Coil { .. }, _) => return coil(circuit, step),
        (_, "body joint") => return Shape::Body,
        (Element::Sense { .. }, _) => return Shape::Unit,
        _ => {}
    }
    match &circuit.part(step.part).kind {
        Kind::Battery => Shape::Battery,
        Kind::ChargingSource => Shape::Generator,
        Kind::Fuse => Shape::Fuse,
        Kind::FusibleLink => Shape::FusibleLink,
        Kind::Breaker => Shape::Breaker,
        Kind::Switch { .. } => Shape::Open,
        Kind::Relay | Kind::Solenoid => Shape::Coil,
        Kind::Flasher { .. } => Shape::Flasher,
        Kind::StarterMotor | Kind::Motor => Shape::Motor,
        Kind::Lamp => Shape::Lamp,
        Kind::Led => Shape::Led,
        Kind::Horn => Shape::Horn,
        Kind::Heater => Shape::Heater,
        Kind::IgnitionCoil => Shape::Winding,
        Kind::Load => Shape::Load,
        Kind::Gauge { .. } => Shape::Gauge,
        Kind::Sender { .. } => Shape::Sender,
        Kind::Resistor => Shape::Resistor,
        Kind::Diode => Shape::Diode,
        Kind::Zener => Shape::Zener,
        Kind::ControlBox => Shape::Unit,
        Kind::Strap => Shape::Strap,
        Kind::Splice => Shape::Dot,
        Kind::GroundPoint => Shape::Ground,
        Kind::Pin { .. } => Shape::Pin,
        Kind::Wire { .. } => Shape::Wire,
    }
}

fn is_flasher(circuit: &Circuit, step: &Step) -> bool {
    matches!(circuit.part(step.part).kind, Kind::Flasher { .. })
}

/// A contact is drawn as it stands with nothing switched on and nothing touched.
fn contact(circuit: &Circuit, closed_when: &ClosedWhen) -> Shape {
    let closed = match closed_when {
        ClosedWhen::Control { control, positions } => {
            positions.contains(&circuit.control(*control).rest)
        }
        ClosedWhen::Released => true,
        ClosedWhen::Pulled | ClosedWhen::Sensed { .. } => false,
    };
    if closed { Shape::Closed } else { Shape::Open }
}

fn coil(circuit: &Circuit, step: &Step) -> Shape {
    let across = |role: &str| step.links.iter().any(|link| circuit.link(*link).role == role);
    if across("suppression diode") {
        Shape::CoilDiode
    } else if across("suppression resistor") {
        Shape::CoilResistor
    } else {
        Shape::Coil
    }
}

impl Shape {
    /// It has a top and a bottom: upside down it is drawn turned.
    pub fn is_polar(self) -> bool {
        matches!(self, Shape::Battery | Shape::Diode | Shape::Zener | Shape::Led)
    }

    /// It does what the circuit is for: such parts stand near the ground rail.
    pub fn is_load(self) -> bool {
        matches!(
            self,
            Shape::Lamp
                | Shape::Led
                | Shape::Motor
                | Shape::Horn
                | Shape::Heater
                | Shape::Winding
                | Shape::Load
                | Shape::Coil
                | Shape::CoilDiode
                | Shape::CoilResistor
                | Shape::Battery
                | Shape::Generator
                | Shape::Unit
        )
    }

    /// Letters of room for what it has to its left; names of terminals stand beyond.
    pub fn wings(self) -> usize {
        match self {
            Shape::CoilDiode | Shape::CoilResistor | Shape::Flasher => 4,
            Shape::Unit | Shape::Load | Shape::Coil => 2,
            _ => 0,
        }
    }

    /// The names of its terminals stand beside it, unless they are the usual ones.
    pub fn names_terminals(self) -> bool {
        !matches!(self, Shape::Wire | Shape::Pin | Shape::Dot | Shape::Ground | Shape::Body)
    }
}
