//! Orders that are not carried out, as nobody would at a real bench, and why.

use crate::circuit::Circuit;
use crate::setup::Setup;
use crate::setup::moves::Act;
use crate::tester::refusal::Refusal;

/// Seconds of cranking after which a starter rests: 15 s are published for one truck; see `job::words`.
pub const MOST_CRANKING_SECONDS: f64 = 15.0;
/// Seconds of cranking at a stretch.
pub const CRANKING_SECONDS: f64 = 5.0;
/// Minutes of rest after that (3 to 5 min are published after a full 15 s at once; two are common practice
/// after three short ones, no source).
pub const REST_MINUTES: f64 = 2.0;

/// What is wrong with an order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Danger {
    /// Ohms on a live circuit.
    OhmsLive,
    /// A lamp across heavy cables or the battery.
    LampAcrossHeavy,
    /// A heavy cable with the battery's ground cable on.
    CableLive,
    /// A part that is unbolted with the ground cable off only, with it on.
    RepairLive,
    /// A hand at the wiring while something is switched on.
    SwitchedOn,
    /// The engine may crank, and nobody has said that all is clear.
    NotClear,
    /// Cranking at a stretch for too long.
    TooLong,
    /// Cranking again and again without a rest.
    NoRest,
    /// A jumper where none belongs.
    Jumper,
    /// A meter on amperes that it does not bear.
    MeterAmps,
}

impl Danger {
    /// Its id in score files.
    pub fn id(self) -> &'static str {
        match self {
            Danger::OhmsLive => "ohms-live",
            Danger::LampAcrossHeavy => "lamp-across-heavy",
            Danger::CableLive => "cable-live",
            Danger::RepairLive => "repair-live",
            Danger::SwitchedOn => "hands-on-live",
            Danger::NotClear => "crank-not-clear",
            Danger::TooLong => "crank-too-long",
            Danger::NoRest => "crank-no-rest",
            Danger::Jumper => "jumper",
            Danger::MeterAmps => "meter-amps",
        }
    }

    /// Why it is stopped, and what to do instead.
    pub fn words(self) -> &'static str {
        match self {
            Danger::OhmsLive => {
                "ohms are for a dead circuit. On a live one the meter reads rubbish and may be \
                 damaged. Switch off, `ground off`, then measure."
            }
            Danger::LampAcrossHeavy => {
                "no lamp or probe across heavy cables or the battery's posts: a slip there is a short \
                 of hundreds of amperes. Use the meter's volts lost (`drop`) instead."
            }
            Danger::CableLive => {
                "a heavy cable comes off with the battery ground cable off only: one touch of the \
                 spanner on the frame would weld. First `ground off`."
            }
            Danger::RepairLive => {
                "this part is unbolted with the battery ground cable off only. First `ground off`, and \
                 on again last."
            }
            Danger::SwitchedOn => {
                "switch off before hands go to the wiring: contacts that part under current burn, and \
                 what hangs on them may start. First let go and switch off (`off`)."
            }
            Danger::NotClear => {
                "it may crank. Neutral, chocks, everybody clear of moving parts? Say so first: `clear`."
            }
            Danger::TooLong => {
                "five seconds of cranking at a stretch are enough: the starter and its cables get hot. \
                 See what there is to see sooner."
            }
            Danger::NoRest => {
                "it was cranked for a quarter of a minute by now; starter and battery need a rest: \
                 `rest`, two minutes, then go on."
            }
            Danger::Jumper => {
                "a jumper stands in for a switch, a relay contact or a pin, never for a load or a heavy \
                 cable: it would be a short."
            }
            Danger::MeterAmps => {
                "the meter bears 10 A; behind a larger fuse more may flow. Use a clamp."
            }
        }
    }
}

/// What is dangerous about a hand on the machine, as it stands.
pub fn of_act(circuit: &Circuit, setup: &Setup, act: &Act) -> Option<Danger> {
    match act {
        Act::Control(..) => None,
        _ if is_on(circuit, setup) => Some(Danger::SwitchedOn),
        Act::Lift(_) | Act::Bolt(_) if !setup.ground_off => Some(Danger::CableLive),
        Act::Bridge(part) if crate::setup::bridge::jumped(circuit, *part).is_none() => {
            Some(Danger::Jumper)
        }
        _ => None,
    }
}

/// Something that a person operates is not where it rests.
pub fn is_on(circuit: &Circuit, setup: &Setup) -> bool {
    let mut positions = circuit.controls.iter().zip(&setup.positions);
    positions.any(|(control, &at)| !control.by_machine && at != control.rest)
}

/// What is dangerous about a test that is refused; `None` where it is only of no use.
pub fn of_refusal(refusal: Refusal) -> Option<Danger> {
    match refusal {
        Refusal::OhmsLive => Some(Danger::OhmsLive),
        Refusal::LampAcrossHeavy => Some(Danger::LampAcrossHeavy),
        Refusal::MeterAmps => Some(Danger::MeterAmps),
        Refusal::Jumper => Some(Danger::Jumper),
        _ => None,
    }
}
