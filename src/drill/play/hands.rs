//! Hands on the machine: controls, connectors, cables, places.

use super::{Drill, Told};
use crate::circuit::PlaceId;
use crate::drill::log::{What, done_words};
use crate::drill::safety::{self, Danger};
use crate::job::{study::turns, words};
use crate::setup::Setup;
use crate::setup::moves::{Act, moves};
use crate::tester::Instrument;
use crate::tester::expectations::BenchError;

impl Drill<'_> {
    /// Opens a place.
    pub fn open(&mut self, place: PlaceId) -> Told {
        let lines = self.reach(&[place]);
        if lines.is_empty() {
            Told::no("It is open already.")
        } else {
            Told { lines, ..Told::default() }
        }
    }

    /// The person says: neutral, chocks, everybody clear.
    pub fn say_clear(&mut self) -> Told {
        self.clear = true;
        Told::line(if self.may_crank() {
            "Neutral, chocked, everybody clear: it may crank now."
        } else {
            "Nothing cranks here; to say so does no harm."
        })
    }

    /// The engine may crank in one of the works, all of which a proof tries.
    pub fn may_crank(&self) -> bool {
        let circuit = self.study.circuit();
        let setups = circuit.works.iter().map(|work| Setup::for_work(circuit, work));
        let mut cranks = setups.map(|setup| turns::may_turn(self.study, &setup, &self.study.prior));
        cranks.any(|may| may)
    }

    /// The starter rests.
    pub fn rest(&mut self) -> Told {
        self.cranked_seconds = 0.0;
        self.resting_minutes += safety::REST_MINUTES;
        self.note(What::Rest, "The starter rests.", "", safety::REST_MINUTES);
        // Nor do they make the next look dearer.
        self.decided.minutes += safety::REST_MINUTES;
        Told::line("Two minutes of rest. They do not count.")
    }

    /// A hand on the machine.
    ///
    /// # Errors
    /// Where the machine has no operating point then.
    pub fn act(&mut self, act: &Act) -> Result<Told, BenchError> {
        let circuit = self.study.circuit();
        let order = done_words(circuit, act);
        let Some(next) = after(&self.course.setup, act) else {
            return Ok(Told::no("That is so already."));
        };
        if let Some(danger) = safety::of_act(circuit, &self.course.setup, act) {
            return Ok(self.stop(danger, &words::act_words(circuit, act)));
        }
        let needed = |instrument| self.study.kit().contains(&instrument);
        if matches!(act, Act::Bridge(_)) && !needed(Instrument::Jumper) {
            return Ok(Told::no("There is no fused jumper at hand (`--kit jumper`)."));
        }
        if matches!(act, Act::Swap(_)) && !needed(Instrument::Spares) {
            return Ok(Told::no("There are no known good spares at hand (`--kit spares`)."));
        }
        if self.would_crank(act, &next) {
            return Ok(self.stop(Danger::NotClear, &words::act_words(circuit, act)));
        }
        let mut lines = self.reach(&next.places(circuit));
        let minutes = moves(circuit, &self.course.setup, &next)
            .iter()
            .find(|one| one.act == *act)
            .map_or(0.0, |one| one.minutes);
        self.course.setup = next;
        let gone = self.machine.bring_about(&self.course.setup)?;
        let names: Vec<&str> = gone.iter().map(|part| circuit.part(*part).name.as_str()).collect();
        let flash = if names.is_empty() {
            String::new()
        } else {
            format!("A small flash: the {} has blown.", names.join(" and the "))
        };
        self.note(What::Act, order.clone(), flash.clone(), minutes);
        lines.push(order);
        lines.extend((!flash.is_empty()).then_some(flash));
        Ok(Told { lines, ..Told::default() })
    }

    /// The engine may crank by this act, and nobody has said that all is clear: by a control always, by any
    /// other hand on the machine where it makes a difference.
    fn would_crank(&self, act: &Act, next: &Setup) -> bool {
        let (study, now) = (self.study, &self.course.setup);
        let may = || match act {
            Act::Control(..) => turns::may_turn(study, next, &study.prior),
            _ => turns::may_start(study, now, next, &study.prior),
        };
        !self.clear && may()
    }

    /// Lets go of everything and switches off.
    ///
    /// # Errors
    /// As [`Drill::act`].
    pub fn off(&mut self) -> Result<Told, BenchError> {
        let mut rest = self.course.setup.clone();
        for (position, control) in rest.positions.iter_mut().zip(&self.study.circuit().controls) {
            if !control.by_machine {
                *position = control.rest;
            }
        }
        self.go(&rest)
    }

    /// Brings a setup about in the safe order; stops where an order is stopped.
    ///
    /// # Errors
    /// As [`Drill::act`].
    pub fn go(&mut self, setup: &Setup) -> Result<Told, BenchError> {
        let mut told = Told::default();
        for step in moves(self.study.circuit(), &self.course.setup, setup) {
            let more = self.act(&step.act)?;
            told = told.and(more);
            if !told.is_done() {
                break;
            }
        }
        Ok(told)
    }
}

/// The setup after an act; `None` where it is so already or makes no sense.
fn after(setup: &Setup, act: &Act) -> Option<Setup> {
    let mut next = setup.clone();
    match *act {
        Act::Control(at, position) => *next.positions.get_mut(at)? = position,
        Act::Part(at) => put(&mut next.parted, at),
        Act::Join(at) => next.parted.retain(|one| *one != at),
        Act::Lift(at) => put(&mut next.lifted, at),
        Act::Bolt(at) => next.lifted.retain(|one| *one != at),
        Act::TakeOut(at) => put(&mut next.out, at),
        Act::PutIn(at) => next.out.retain(|one| *one != at),
        Act::Bridge(at) => put(&mut next.bridged, at),
        Act::Unbridge(at) => next.bridged.retain(|one| *one != at),
        Act::Swap(at) => put(&mut next.swapped, at),
        Act::SwapBack(at) => next.swapped.retain(|one| *one != at),
        Act::GroundOff => next.ground_off = true,
        Act::GroundOn => next.ground_off = false,
    }
    (next != *setup).then_some(next)
}

fn put<T: Ord + Copy>(list: &mut Vec<T>, one: T) {
    if !list.contains(&one) {
        list.push(one);
        list.sort_unstable();
    }
}
