//! From one setup to another: what to do, in a safe order, and the minutes it takes.
//!
//! The order is fixed by safety: let go of what is held and switch off before anything is parted;
//! battery ground cable off before a heavy cable is lifted and on again last; switch on only then; what makes
//! an engine turn is pressed after all that shall keep it from driving.

use super::Setup;
use crate::circuit::{Circuit, ConnectorId, ControlId, PartId};

/// Minutes to take the battery's ground cable off, or to put it on (common practice, no source).
const GROUND_CABLE_MINUTES: f64 = 1.0;
/// Minutes to lift a heavy cable off its stud, or to bolt it on again (common practice, no source).
const LIFT_MINUTES: f64 = 2.0;
/// Minutes to pull a fuse out of its holder, or to put it back (common practice, no source).
const FUSE_MINUTES: f64 = 0.3;
/// Minutes to clip a fused jumper on, or to take it off (common practice, no source).
const JUMPER_MINUTES: f64 = 0.4;
/// Minutes to put a known good relay, bulb or fuse in, or the old one back, beside what it takes to get at
/// the part (common practice, no source).
const SWAP_MINUTES: f64 = 0.7;

/// One thing to do to the machine.
#[derive(Debug, Clone, PartialEq)]
pub struct Move {
    /// What is done.
    pub act: Act,
    /// Minutes it takes, beside opening places.
    pub minutes: f64,
}

/// What can be done to a setup.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Act {
    /// Put a control (by its number) into a position.
    Control(usize, usize),
    /// Part a connector.
    Part(ConnectorId),
    /// Join a connector.
    Join(ConnectorId),
    /// Lift a heavy cable; the ground cable is off.
    Lift(PartId),
    /// Bolt a heavy cable on; the ground cable is off.
    Bolt(PartId),
    /// Take a fuse out of its holder.
    TakeOut(PartId),
    /// Put a fuse back.
    PutIn(PartId),
    /// Bridge a switch, relay or pin with a fused jumper.
    Bridge(PartId),
    /// Take the jumper off.
    Unbridge(PartId),
    /// Put a known good one in the place of a relay, bulb or fuse.
    Swap(PartId),
    /// Put the old one back.
    SwapBack(PartId),
    /// Take the battery's ground cable off.
    GroundOff,
    /// Put the battery's ground cable on.
    GroundOn,
}

/// What to do to get from `from` to `to`, in a safe order.
pub fn moves(circuit: &Circuit, from: &Setup, to: &Setup) -> Vec<Move> {
    let mut list = Moves { circuit, list: Vec::new(), positions: from.positions.clone() };
    let lift: Vec<PartId> = missing(&from.lifted, &to.lifted);
    let bolt: Vec<PartId> = missing(&to.lifted, &from.lifted);
    let part: Vec<ConnectorId> = missing(&from.parted, &to.parted);
    let join: Vec<ConnectorId> = missing(&to.parted, &from.parted);
    let cables = !lift.is_empty() || !bolt.is_empty();
    let (unbridge, bridge) =
        (missing(&to.bridged, &from.bridged), missing(&from.bridged, &to.bridged));
    let (put_in, take_out) = (missing(&to.out, &from.out), missing(&from.out, &to.out));
    let (swap_back, swap) =
        (missing(&to.swapped, &from.swapped), missing(&from.swapped, &to.swapped));
    let small = [&unbridge, &bridge, &put_in, &take_out, &swap_back, &swap]
        .iter()
        .any(|list| !list.is_empty());
    let hands_on =
        small || cables || !part.is_empty() || !join.is_empty() || from.ground_off != to.ground_off;
    if hands_on {
        list.all_to_rest();
    }
    if !from.ground_off && (to.ground_off || cables) {
        list.push(Act::GroundOff, GROUND_CABLE_MINUTES);
    }
    for at in bolt {
        list.push(Act::Bolt(at), LIFT_MINUTES);
    }
    for at in lift {
        list.push(Act::Lift(at), LIFT_MINUTES);
    }
    for at in unbridge {
        list.push(Act::Unbridge(at), JUMPER_MINUTES);
    }
    for at in take_out {
        list.push(Act::TakeOut(at), FUSE_MINUTES);
    }
    for at in join {
        list.push(Act::Join(at), circuit.connectors[at.index()].part_minutes);
    }
    for at in part {
        list.push(Act::Part(at), circuit.connectors[at.index()].part_minutes);
    }
    for at in put_in {
        list.push(Act::PutIn(at), FUSE_MINUTES);
    }
    for at in bridge {
        list.push(Act::Bridge(at), JUMPER_MINUTES);
    }
    let swap_minutes = |at: PartId| SWAP_MINUTES + circuit.part(at).open_up_minutes;
    for at in swap_back {
        list.push(Act::SwapBack(at), swap_minutes(at));
    }
    for at in swap {
        list.push(Act::Swap(at), swap_minutes(at));
    }
    if !to.ground_off && (from.ground_off || cables) {
        list.push(Act::GroundOn, GROUND_CABLE_MINUTES);
    }
    list.controls_to(to);
    list.list
}

/// The minutes of [`moves`].
pub fn minutes(circuit: &Circuit, from: &Setup, to: &Setup) -> f64 {
    moves(circuit, from, to).iter().map(|step| step.minutes).sum()
}

fn missing<T: Copy + PartialEq>(have: &[T], want: &[T]) -> Vec<T> {
    want.iter().filter(|item| !have.contains(item)).copied().collect()
}

struct Moves<'a> {
    circuit: &'a Circuit,
    list: Vec<Move>,
    positions: Vec<usize>,
}

impl Moves<'_> {
    fn push(&mut self, act: Act, minutes: f64) {
        self.list.push(Move { act, minutes });
    }

    fn turn(&mut self, control: usize, position: usize) {
        if self.positions[control] != position {
            self.positions[control] = position;
            let minutes = self.circuit.controls[control].minutes;
            self.push(Act::Control(control, position), minutes);
        }
    }

    /// What springs back is let go first, then the rest is switched off, last control first.
    fn all_to_rest(&mut self) {
        let order = self.held_last();
        for &control in order.iter().rev() {
            self.turn(control, self.circuit.controls[control].rest);
        }
    }

    /// What springs back is held last, when all else stands right.
    fn controls_to(&mut self, to: &Setup) {
        let order = self.held_last();
        for &control in order.iter().rev() {
            let released = self.circuit.controls[control].springs_back
                && to.positions[control] == self.circuit.controls[control].rest;
            if released {
                self.turn(control, to.positions[control]);
            }
        }
        for control in order {
            self.turn(control, to.positions[control]);
        }
    }

    /// Of what is held, that last without which nothing works: a clutch is pulled before the start button is
    /// pressed, and let go of after it.
    fn held_last(&self) -> Vec<usize> {
        let works = |at: usize| {
            let works =
                self.circuit.works.iter().filter(|work| work.see.iter().any(|one| one.acts));
            let off_rest = |&(control, to): &(ControlId, usize)| {
                control.index() == at && to != self.circuit.controls[at].rest
            };
            works.filter(|work| work.when.iter().any(off_rest)).count()
        };
        let mut order: Vec<usize> = (0..self.circuit.controls.len()).collect();
        order.sort_by_key(|&at| {
            let held = self.circuit.controls[at].springs_back;
            (held, if held { works(at) } else { 0 })
        });
        order
    }
}
