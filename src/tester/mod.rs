//! What people hold to a circuit and what they would see.
//!
//! `scale` knows what can be seen and how sharply people see it, `outcome` what that is called, `slips` how
//! often it is simply wrong. `make` makes one test, or gives the `refusal`; `shows` knows the scale it shows on, `id` is
//! what it is called, `name` finds it by that. `enumerate` lists the tests worth thinking of, `scope` which parts a job is
//! about; `hunt` are tests for shorts, drains and joints that come and go. `observe` reads a solved case, a `scene`, as
//! a tester would, `lamps` by test lamps, `sense` by eyes, ears and hands;
//! `tolerance` and `spread` know how far that differs between sound machines, `limits` what is sound and what
//! books allow, `likelihood` how likely each reading is, and `expectations` is the table of all tests under all
//! suspects.

pub mod enumerate;
pub mod expectations;
pub mod hunt;
pub mod id;
pub mod lamps;
pub mod likelihood;
pub mod limits;
pub mod make;
pub mod name;
pub mod observe;
pub mod outcome;
pub mod refusal;
pub mod scale;
pub mod scene;
pub mod scope;
pub mod sense;
pub mod shows;
pub mod slips;
pub mod spread;
pub mod tolerance;

use crate::circuit::{ConnectorId, PartId, PlaceId, TerminalId};
use crate::setup::Setup;
use scale::Scale;

/// Position of a test in a list of tests.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TestId(pub u32);

impl TestId {
    /// The same number as a position in the list.
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// A way to look at a circuit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Tester {
    /// Filament test lamp, clipped to the frame.
    LampGround,
    /// Filament test lamp, clipped to battery positive.
    LampPlus,
    /// Filament test lamp across two points.
    LampAcross,
    /// LED test lamp, clipped to the frame.
    LedGround,
    /// LED test lamp, clipped to battery positive.
    LedPlus,
    /// Meter on volts, black lead on the frame.
    Volts,
    /// Meter on volts across two points: what is lost between them.
    Drop,
    /// Meter on millivolts across a fuse: a measure of its current.
    Millivolts,
    /// Meter on ohms across two points of a dead circuit.
    Ohms,
    /// Old moving-coil meter on volts, black lead on the frame.
    OldVolts,
    /// Old moving-coil meter on volts across two points.
    OldDrop,
    /// Clamp meter around a wire: its current, without touching anything.
    Clamp,
    /// Meter on amps in place of a fuse: what flows, with the meter's own ohms in it.
    Amps,
    /// A bulb in place of a fuse: bright while what it feeds is shorted.
    Bulb,
    /// A connector moved about by hand, while what should work is watched.
    Wiggle,
    /// Eyes: a motor that turns, a lamp that glows.
    Watch,
    /// Ears: a click, a chatter, a horn.
    Hear,
}

/// What must be at hand for a tester.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Instrument {
    /// Filament test lamp of a few watts.
    Lamp,
    /// LED test lamp.
    Led,
    /// Digital meter.
    Meter,
    /// Moving-coil meter of 20 kilohm a volt.
    OldMeter,
    /// Clamp meter for direct current.
    Clamp,
    /// Headlamp or stop lamp bulb on two leads.
    Bulb,
    /// Jumper with a fuse in it.
    Jumper,
    /// Known good relays, bulbs and fuses.
    Spares,
    /// Eyes and ears: always at hand.
    Senses,
}

impl Instrument {
    /// All that may be at hand or not, in the order they are asked for.
    pub const KIT: [Instrument; 8] = [
        Instrument::Lamp,
        Instrument::Meter,
        Instrument::Led,
        Instrument::OldMeter,
        Instrument::Clamp,
        Instrument::Bulb,
        Instrument::Jumper,
        Instrument::Spares,
    ];

    /// Its name on the command line and in files.
    pub fn id(self) -> &'static str {
        match self {
            Instrument::Lamp => "lamp",
            Instrument::Led => "led",
            Instrument::Meter => "meter",
            Instrument::OldMeter => "old-meter",
            Instrument::Clamp => "clamp",
            Instrument::Bulb => "bulb",
            Instrument::Jumper => "jumper",
            Instrument::Spares => "spares",
            Instrument::Senses => "senses",
        }
    }

    /// For a person.
    pub fn words(self) -> &'static str {
        match self {
            Instrument::Lamp => "test lamp with a filament",
            Instrument::Led => "LED test lamp",
            Instrument::Meter => "digital meter",
            Instrument::OldMeter => "old meter with a needle",
            Instrument::Clamp => "clamp meter for direct current",
            Instrument::Bulb => "21 W bulb on two leads",
            Instrument::Jumper => "jumper with a fuse in it",
            Instrument::Spares => "known good relays, bulbs and fuses",
            Instrument::Senses => "eyes and ears",
        }
    }
}

impl Tester {
    /// Every tester, in the order of ids.
    pub const ALL: [Tester; 17] = [
        Tester::Watch,
        Tester::Hear,
        Tester::LampGround,
        Tester::LampPlus,
        Tester::LampAcross,
        Tester::LedGround,
        Tester::LedPlus,
        Tester::Volts,
        Tester::Drop,
        Tester::Millivolts,
        Tester::Ohms,
        Tester::OldVolts,
        Tester::OldDrop,
        Tester::Clamp,
        Tester::Amps,
        Tester::Bulb,
        Tester::Wiggle,
    ];

    /// First word of a test's id.
    pub fn id(self) -> &'static str {
        match self {
            Tester::LampGround => "lamp-ground",
            Tester::LampPlus => "lamp-plus",
            Tester::LampAcross => "lamp-across",
            Tester::LedGround => "led-ground",
            Tester::LedPlus => "led-plus",
            Tester::Volts => "volts",
            Tester::Drop => "drop",
            Tester::Millivolts => "millivolts",
            Tester::Ohms => "ohms",
            Tester::OldVolts => "old-volts",
            Tester::OldDrop => "old-drop",
            Tester::Clamp => "clamp",
            Tester::Amps => "amps",
            Tester::Bulb => "bulb",
            Tester::Wiggle => "wiggle",
            Tester::Watch => "watch",
            Tester::Hear => "hear",
        }
    }

    /// What must be at hand.
    pub fn instrument(self) -> Instrument {
        match self {
            Tester::LampGround | Tester::LampPlus | Tester::LampAcross => Instrument::Lamp,
            Tester::LedGround | Tester::LedPlus => Instrument::Led,
            Tester::Volts | Tester::Drop | Tester::Millivolts | Tester::Ohms | Tester::Amps => {
                Instrument::Meter
            }
            Tester::OldVolts | Tester::OldDrop => Instrument::OldMeter,
            Tester::Clamp => Instrument::Clamp,
            Tester::Bulb => Instrument::Bulb,
            Tester::Watch | Tester::Hear | Tester::Wiggle => Instrument::Senses,
        }
    }

    /// Minutes to apply it and look, once place and setup are right (common practice, no source).
    pub fn minutes(self) -> f64 {
        match self {
            Tester::Watch | Tester::Hear => 0.2,
            Tester::LampGround | Tester::LampPlus | Tester::LedGround | Tester::LedPlus => 0.4,
            Tester::LampAcross
            | Tester::Volts
            | Tester::OldVolts
            | Tester::Clamp
            | Tester::Amps
            | Tester::Bulb
            | Tester::Wiggle => 0.5,
            Tester::Drop | Tester::OldDrop => 0.6,
            // The range set, two fine tips on the fuse's test points, a few digits read in one go.
            Tester::Millivolts => 1.0,
            Tester::Ohms => 0.7,
        }
    }

    /// The unit of a number read with it, if it shows numbers.
    pub fn unit(self) -> Option<&'static str> {
        match self {
            Tester::Volts
            | Tester::Drop
            | Tester::Millivolts
            | Tester::OldVolts
            | Tester::OldDrop => Some("V"),
            Tester::Clamp | Tester::Amps => Some("A"),
            Tester::Ohms => Some("ohm"),
            _ => None,
        }
    }
}

/// What a test touches or looks at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Target {
    /// One terminal; the other lead is where the tester's name says.
    Point(TerminalId),
    /// Two terminals, red lead on the first.
    Pair(TerminalId, TerminalId),
    /// A part that is watched, listened to or clamped, or in whose holder the tester sits.
    Part(PartId),
    /// A connector that is moved about.
    Connector(ConnectorId),
}

/// A test: tester, target, setup.
#[derive(Debug, Clone, PartialEq)]
pub struct Test {
    /// `lamp-ground/solenoid.motor/key.on+starter-button.pressed`.
    pub id: String,
    /// What is held to it.
    pub tester: Tester,
    /// What it touches.
    pub target: Target,
    /// How the machine stands.
    pub setup: Setup,
    /// Minutes to apply it once place and setup are right.
    pub minutes: f64,
    /// Places that must be open, those of the setup included; sorted.
    pub places: Vec<PlaceId>,
    /// What can be seen.
    pub scale: Scale,
}

impl Test {
    /// Everything that must be at hand: the tester, a jumper where something is bridged, a spare where
    /// something is swapped.
    pub fn instruments(&self) -> impl Iterator<Item = Instrument> + use<> {
        let jumper = (!self.setup.bridged.is_empty()).then_some(Instrument::Jumper);
        let spare = (!self.setup.swapped.is_empty()).then_some(Instrument::Spares);
        [self.tester.instrument()].into_iter().chain(jumper).chain(spare)
    }
}
