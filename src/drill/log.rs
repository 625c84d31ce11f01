//! What was done in a drill, in order: what the review goes through afterwards.

use std::sync::Arc;

use super::open_set::OpenSet;
use super::safety::Danger;
use crate::circuit::{Circuit, PartId};
use crate::job::course::Course;
use crate::job::event::Answer;
use crate::setup::moves::Act;
use crate::tester::expectations::Column;

/// One thing done.
#[derive(Debug, Clone)]
pub struct Entry<'a> {
    /// What sort of thing.
    pub what: What<'a>,
    /// In words: `Test lamp to ground: solenoid, coil in; key on`.
    pub done: String,
    /// What came of it; empty where nothing was to be seen.
    pub seen: String,
    /// Minutes it took, getting there not counted.
    pub minutes: f64,
}

/// What was done.
#[derive(Debug, Clone)]
pub enum What<'a> {
    /// A hand on the machine: a control, a connector, a cable, a place.
    Act,
    /// A look or a measurement.
    Look(Look<'a>),
    /// A repair or a new part.
    Mend(Mend<'a>),
    /// Everything that should work was tried.
    Proof {
        /// And it does.
        passed: bool,
    },
    /// A part was named as the bad one.
    Claim {
        /// Which.
        part: PartId,
        /// It is.
        right: bool,
        /// Share of the suspicion on it, by what had been seen.
        share: f64,
        /// The reading that speaks loudest against it.
        against: Option<String>,
    },
    /// An order that was not carried out.
    Stopped(Danger),
    /// Help was asked for.
    Hint,
    /// What would be seen was foretold.
    Foretold {
        /// And so it was.
        right: bool,
        /// It was as good a guess as any.
        likeliest: bool,
    },
    /// The parts still under suspicion were named.
    Named(OpenSet),
    /// The starter had its rest.
    Rest,
}

/// A look, and the moment it was decided on.
#[derive(Debug, Clone)]
pub struct Look<'a> {
    /// What it shows under each suspect of the circuit as filed.
    pub column: Arc<Column>,
    /// What was seen.
    pub answer: Answer,
    /// How things stood when the last look or repair was over.
    pub before: Course<'a>,
    /// Minutes since then, its own included.
    pub minutes: f64,
    /// It looks at the complaint itself.
    pub confirms: bool,
}

/// A repair, and the moment it was decided on.
#[derive(Debug, Clone)]
pub struct Mend<'a> {
    /// Its number in the line-up.
    pub fix: usize,
    /// It mended something.
    pub right: bool,
    /// How things stood when the last look or repair was over.
    pub before: Course<'a>,
    /// Minutes since then, its own included.
    pub minutes: f64,
}

/// What was done to the machine, as told to who did it.
pub fn done_words(circuit: &Circuit, act: &Act) -> String {
    let part = |part: PartId| &circuit.part(part).name;
    match *act {
        Act::Control(at, position) => {
            let control = &circuit.controls[at];
            let to = &control.positions[position];
            match (control.springs_back, position == control.rest) {
                (true, true) => format!("The {} is let go.", control.name),
                (true, false) => format!("The {} is held: {to}.", control.name),
                _ => format!("{}: {to}.", capital(&control.name)),
            }
        }
        Act::Part(at) => format!("{} is parted.", circuit.connector(at).name),
        Act::Join(at) => format!("{} is joined again.", circuit.connector(at).name),
        Act::Lift(at) => format!("The {} is off its stud, its end covered.", part(at)),
        Act::Bolt(at) => format!("The {} is bolted on again.", part(at)),
        Act::TakeOut(at) => format!("The {} is out of its holder.", part(at)),
        Act::PutIn(at) => format!("The {} is in its holder again.", part(at)),
        Act::Bridge(at) => format!("The {} is bridged with the fused jumper.", part(at)),
        Act::Unbridge(at) => format!("The jumper is off the {}.", part(at)),
        Act::Swap(at) => format!("A known good one stands in for the {}.", part(at)),
        Act::SwapBack(at) => format!("The old {} is back in its place.", part(at)),
        Act::GroundOff => "The battery ground cable is off and tucked away.".to_owned(),
        Act::GroundOn => "The battery ground cable is on again.".to_owned(),
    }
}

/// The first letter as a capital.
pub fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
