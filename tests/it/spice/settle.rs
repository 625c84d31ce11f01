//! Relays and fuses by hand: who moves next, from volts and amperes the simulator found.

use std::collections::BTreeSet;
use std::sync::Arc;

use halfsplit::circuit::{Circuit, Element, LinkId, PartId, TerminalId};
use halfsplit::setup::Setup;
use halfsplit::suspect::damage::Damage;

use super::netlist::{Scene, netlist};
use super::simulator::{Answer, Simulator};

/// A fuse opens for good above so many times its rating: ISO 8820-3 as quoted in
/// `tests/data/physics/fuses.yaml`.
const BLOW_FACTOR: f64 = 1.35;

/// What moves: armatures pulled and fuses blown.
type State = (BTreeSet<PartId>, BTreeSet<LinkId>);

/// One circuit on its way to rest, in one setup with one thing wrong.
pub struct Walk<'a> {
    circuit: &'a Circuit,
    setup: &'a Setup,
    damage: &'a [Damage],
    state: State,
    past: Vec<(State, Arc<Answer>)>,
    ended: bool,
}

impl<'a> Walk<'a> {
    /// Armatures at rest unless jammed, fuses whole unless `blown` before.
    pub fn new(
        circuit: &'a Circuit,
        setup: &'a Setup,
        damage: &'a [Damage],
        blown: &BTreeSet<LinkId>,
    ) -> Walk<'a> {
        let jammed = damage.iter().filter_map(|damage| match damage {
            Damage::Jammed(part, true) => Some(*part),
            _ => None,
        });
        let state = (jammed.collect(), blown.clone());
        Walk { circuit, setup, damage, state, past: Vec::new(), ended: false }
    }

    /// Mean volts of a terminal over the states it ends in.
    pub fn node_volts(&self, terminal: TerminalId) -> f64 {
        if terminal == self.circuit.chassis {
            return 0.0;
        }
        let sum: f64 =
            self.past.iter().map(|(_, answer)| answer.node_volts(terminal.index())).sum();
        sum / self.past.len() as f64
    }

    /// Armatures that are pulled for good.
    pub fn pulled(&self) -> BTreeSet<PartId> {
        let mut pulled = self.past[0].0.0.clone();
        pulled.retain(|part| self.past.iter().all(|((pulled, _), _)| pulled.contains(part)));
        pulled
    }

    /// Armatures that move for ever.
    pub fn chattering(&self) -> BTreeSet<PartId> {
        let any: BTreeSet<PartId> =
            self.past.iter().flat_map(|((pulled, _), _)| pulled.iter().copied()).collect();
        any.difference(&self.pulled()).copied().collect()
    }

    /// Fuses that have blown, those that had before included.
    pub fn blown(&self) -> &BTreeSet<LinkId> {
        &self.state.1
    }

    fn netlist(&self) -> String {
        netlist(Scene {
            circuit: self.circuit,
            setup: self.setup,
            damage: self.damage,
            pulled: &self.state.0,
            blown: &self.state.1,
        })
    }

    /// Takes the operating point of the present state and moves on from it, or ends.
    fn take(&mut self, answer: Arc<Answer>) {
        let next = self.most_urgent(&answer);
        self.past.push((self.state.clone(), answer));
        if let Some(part) = next {
            if !self.state.0.remove(&part) {
                self.state.0.insert(part);
            }
            let Some(first) = self.past.iter().position(|(state, _)| *state == self.state) else {
                return;
            };
            self.past.drain(..first);
        } else {
            self.past.drain(..self.past.len() - 1);
        }
        // Nothing moves, or the same moves come again: time enough for a fuse.
        match self.overloaded() {
            Some(fuse) => {
                self.state.1.insert(fuse);
                self.past.clear();
            }
            None => self.ended = true,
        }
    }

    /// The armature furthest beyond its limit.
    fn most_urgent(&self, answer: &Answer) -> Option<PartId> {
        let mut found: Option<(f64, PartId)> = None;
        for part in self.circuit.part_ids() {
            if let Some(urgency) = self.urgency(answer, part)
                && found.is_none_or(|(most, _)| urgency > most)
            {
                found = Some((urgency, part));
            }
        }
        found.map(|(_, part)| part)
    }

    /// How far an armature is beyond the limit that keeps it, if it is beyond and can move.
    fn urgency(&self, answer: &Answer, part: PartId) -> Option<f64> {
        let pulled = self.state.0.contains(&part);
        let (mut times, mut share) = (1.0, 0.0);
        for damage in self.damage {
            match damage {
                Damage::Jammed(jammed, _) if *jammed == part => return None,
                Damage::Sluggish(sluggish, more) if *sluggish == part => times = *more,
                _ => {}
            }
        }
        let mut has_coil = false;
        for &link in self.circuit.links_of(part) {
            if let Element::Coil { ohms, pull_in_volts, drop_out_volts } =
                self.circuit.link(link).element
            {
                has_coil = true;
                let limit_volts = if pulled { drop_out_volts } else { pull_in_volts };
                share += answer.amps(link.index()) * ohms / (limit_volts * times);
            }
        }
        let share = share.abs();
        match (has_coil, pulled) {
            (true, false) if share >= 1.0 => Some(share),
            (true, true) if share < 1.0 => Some(1.0 / share.max(1e-12)),
            _ => None,
        }
    }

    /// The fuse with the most heat for its rating, if it is too much; the mean over what is repeated.
    fn overloaded(&self) -> Option<LinkId> {
        let mut found: Option<(f64, LinkId)> = None;
        for link in self.circuit.link_ids() {
            let Element::Fuse { rated_amps, .. } = self.circuit.link(link).element else {
                continue;
            };
            let squares: f64 =
                self.past.iter().map(|(_, answer)| answer.amps(link.index()).powi(2)).sum();
            let load = (squares / self.past.len() as f64).sqrt() / rated_amps;
            if load > BLOW_FACTOR && found.is_none_or(|(most, _)| load > most) {
                found = Some((load, link));
            }
        }
        found.map(|(_, link)| link)
    }
}

/// Brings all of them to rest, or to chatter, side by side.
pub fn settle(simulator: &mut Simulator, walks: &mut [Walk<'_>]) {
    loop {
        let mut moving: Vec<&mut Walk<'_>> = walks.iter_mut().filter(|walk| !walk.ended).collect();
        if moving.is_empty() {
            return;
        }
        let netlists: Vec<String> = moving.iter().map(|walk| walk.netlist()).collect();
        let answers = simulator.solve(&netlists);
        for (walk, answer) in moving.iter_mut().zip(answers) {
            walk.take(answer);
        }
    }
}
