//! What people hold to a circuit and what they would see.
//!
//! `scale` knows what can be seen and how sharply people see it, `enumerate` lists the tests worth
//! thinking of, `observe` reads a solved case as a tester would, `expectations` is the table of all
//! tests under all suspects.

pub mod enumerate;
pub mod expectations;
pub mod likelihood;
pub mod name;
pub mod observe;
pub mod scale;

use crate::circuit::{PartId, PlaceId, TerminalId};
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
    /// Meter on ohms across two points of a dead circuit.
    Ohms,
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
    /// Digital multimeter.
    Meter,
    /// Eyes and ears: always at hand.
    Senses,
}

impl Tester {
    /// Every tester, in the order of ids.
    pub const ALL: [Tester; 10] = [
        Tester::Watch,
        Tester::Hear,
        Tester::LampGround,
        Tester::LampPlus,
        Tester::LampAcross,
        Tester::LedGround,
        Tester::LedPlus,
        Tester::Volts,
        Tester::Drop,
        Tester::Ohms,
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
            Tester::Ohms => "ohms",
            Tester::Watch => "watch",
            Tester::Hear => "hear",
        }
    }

    /// What must be at hand.
    pub fn instrument(self) -> Instrument {
        match self {
            Tester::LampGround | Tester::LampPlus | Tester::LampAcross => Instrument::Lamp,
            Tester::LedGround | Tester::LedPlus => Instrument::Led,
            Tester::Volts | Tester::Drop | Tester::Ohms => Instrument::Meter,
            Tester::Watch | Tester::Hear => Instrument::Senses,
        }
    }

    /// Minutes to apply it and look, once place and setup are right (common practice, no source).
    pub fn minutes(self) -> f64 {
        match self {
            Tester::Watch | Tester::Hear => 0.2,
            Tester::LampGround | Tester::LampPlus | Tester::LedGround | Tester::LedPlus => 0.4,
            Tester::LampAcross | Tester::Volts => 0.5,
            Tester::Drop => 0.6,
            Tester::Ohms => 0.7,
        }
    }

    /// The unit of a number read with it, if it shows numbers.
    pub fn unit(self) -> Option<&'static str> {
        match self {
            Tester::Volts | Tester::Drop => Some("V"),
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
    /// A part that is watched or listened to.
    Part(PartId),
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
