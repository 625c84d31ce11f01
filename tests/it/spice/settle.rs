//! Relays, inputs of control units and fuses by hand: who moves next, from the amperes the simulator found.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use halfsplit::circuit::{Circuit, Element, LinkId, PartId, TerminalId};
use halfsplit::setup::Setup;
use halfsplit::suspect::damage::Damage;

use super::netlist::{Mover, Scene, islands, jumpers, left_over, netlist};
use super::simulator::{Answer, Simulator};

/// A fuse opens for good above so many times its rating: ISO 8820-3 as quoted in
/// `tests/data/physics/fuses.yaml`.
const BLOW_FACTOR: f64 = 1.35;

/// Rating of the fuse in a jumper: documented in `setup`.
const JUMPER_AMPS: f64 = 10.0;

/// A breaker that resets itself opens above so many times its rating, and closes when nothing flows:
/// documented in `setup`, from memory there.
const TRIP_TIMES: f64 = 1.35;

/// What moves: armatures pulled (inputs fed) and fuses blown.
type State = (BTreeSet<Mover>, BTreeSet<LinkId>);

/// One circuit on its way to rest, in one setup with one thing wrong.
pub struct Walk<'a> {
    circuit: &'a Circuit,
    setup: &'a Setup,
    damage: Vec<Damage>,
    state: State,
    past: Vec<(State, Arc<Answer>)>,
    ended: bool,
}

impl<'a> Walk<'a> {
    /// Armatures and inputs at rest unless jammed, fuses whole unless `blown` before.
    pub fn new(
        circuit: &'a Circuit,
        setup: &'a Setup,
        damage: &'a [Damage],
        blown: &BTreeSet<LinkId>,
    ) -> Walk<'a> {
        let left = damage.iter().filter(|damage| left_over(circuit, setup, damage));
        let damage: Vec<Damage> = left.cloned().collect();
        let jammed = damage.iter().filter_map(|damage| match damage {
            Damage::Jammed(part, true) => Some(Mover::Armature(*part)),
            Damage::Deaf(input, true) => Some(Mover::Input(*input)),
            _ => None,
        });
        let mut blown = blown.clone();
        blown.retain(|fuse| !setup.swapped.contains(&circuit.link(*fuse).part));
        let state = (jammed.collect(), blown);
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

    /// Armatures that are pulled and inputs that are fed for good.
    pub fn pulled(&self) -> BTreeSet<Mover> {
        let mut pulled = self.past[0].0.0.clone();
        pulled.retain(|mover| self.past.iter().all(|((pulled, _), _)| pulled.contains(mover)));
        pulled
    }

    /// Armatures and inputs that move for ever.
    pub fn chattering(&self) -> BTreeSet<Mover> {
        let any: BTreeSet<Mover> =
            self.past.iter().flat_map(|((pulled, _), _)| pulled.iter().copied()).collect();
        any.difference(&self.pulled()).copied().collect()
    }

    /// Fuses that have blown, those that had before included.
    pub fn blown(&self) -> &BTreeSet<LinkId> {
        &self.state.1
    }

    /// The terminals of each island that floats, where all stands still.
    pub fn floating(&self) -> Vec<Vec<TerminalId>> {
        if self.past.len() > 1 {
            return Vec::new();
        }
        let island = islands(self.scene());
        let chassis = island[self.circuit.chassis.index()];
        let mut floating: BTreeMap<usize, Vec<TerminalId>> = BTreeMap::new();
        for terminal in self.circuit.terminal_ids() {
            floating.entry(island[terminal.index()]).or_default().push(terminal);
        }
        floating.remove(&chassis);
        floating.into_values().collect()
    }

    fn netlist(&self) -> String {
        netlist(self.scene())
    }

    fn scene(&self) -> Scene<'_> {
        Scene {
            circuit: self.circuit,
            setup: self.setup,
            damage: &self.damage,
            pulled: &self.state.0,
            blown: &self.state.1,
        }
    }

    /// Takes the operating point of the present state and moves on from it, or ends.
    fn take(&mut self, answer: Arc<Answer>) {
        let next = self.most_urgent(&answer);
        self.past.push((self.state.clone(), answer));
        if let Some(mover) = next {
            if !self.state.0.remove(&mover) {
                self.state.0.insert(mover);
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

    /// The armature or input furthest beyond its limit.
    fn most_urgent(&self, answer: &Answer) -> Option<Mover> {
        let mut found: Option<(f64, Mover)> = None;
        for mover in self.circuit.part_ids().flat_map(|part| movers(self.circuit, part)) {
            if let Some(urgency) = self.urgency(answer, mover)
                && found.is_none_or(|(most, _)| urgency > most)
            {
                found = Some((urgency, mover));
            }
        }
        found.map(|(_, mover)| mover)
    }

    /// How far a mover is beyond the limit that keeps it, if it is beyond and can move.
    fn urgency(&self, answer: &Answer, mover: Mover) -> Option<f64> {
        let mut times = 1.0;
        for damage in &self.damage {
            match damage {
                Damage::Jammed(part, _) if Mover::Armature(*part) == mover => return None,
                Damage::Deaf(input, _) if Mover::Input(*input) == mover => return None,
                Damage::Sluggish(part, more) if Mover::Armature(*part) == mover => times = *more,
                _ => {}
            }
        }
        let pulled = self.state.0.contains(&mover);
        let amps: f64 = self.windings(mover).map(|(link, _, _)| answer.amps(link.index())).sum();
        let limit_amps: f64 = self
            .windings(mover)
            .map(
                |(_, pull_in_amps, drop_out_amps)| {
                    if pulled { drop_out_amps } else { pull_in_amps }
                },
            )
            .sum();
        let share = amps.abs() / (limit_amps * times);
        match pulled {
            false if share >= 1.0 => Some(share),
            true if share < 1.0 => Some(1.0 / share.max(1e-12)),
            _ => None,
        }
    }

    /// The links a mover feels with the amperes at which each alone would have it pull in and drop out.
    ///
    /// All coils of one part have as many turns and sit on one core: what counts is the sum of their
    /// amperes, with its sign, beside the sum of those they have at their limits.
    fn windings(&self, mover: Mover) -> impl Iterator<Item = (LinkId, f64, f64)> {
        let links = match mover {
            Mover::Armature(part) => self.circuit.links_of(part).to_vec(),
            Mover::Input(link) => vec![link],
        };
        let is_armature = matches!(mover, Mover::Armature(_));
        links.into_iter().filter_map(move |link| match self.circuit.link(link).element {
            Element::Coil { ohms, pull_in_volts, drop_out_volts } if is_armature => {
                Some((link, pull_in_volts / ohms, drop_out_volts / ohms))
            }
            Element::Sense { ohms, on_volts, off_volts } if !is_armature => {
                Some((link, on_volts / ohms, off_volts / ohms))
            }
            Element::Cutout { rated_amps, .. } if !is_armature => {
                Some((link, TRIP_TIMES * rated_amps, TRIP_TIMES * rated_amps))
            }
            _ => None,
        })
    }

    /// The fuse with the most heat for its rating, if it is too much; the mean over what is repeated.
    fn overloaded(&self) -> Option<LinkId> {
        let mut found: Option<(f64, LinkId)> = None;
        let fuses =
            self.circuit.link_ids().filter_map(|link| match self.circuit.link(link).element {
                Element::Fuse { rated_amps, .. } => Some((link, rated_amps)),
                _ => None,
            });
        let jumpers = jumpers(self.circuit, self.setup).into_iter();
        for (link, rated_amps) in fuses.chain(jumpers.map(|(at, _)| (LinkId::new(at), JUMPER_AMPS)))
        {
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

/// What moves contacts in a part: its armature, then its inputs.
pub fn movers(circuit: &Circuit, part: PartId) -> Vec<Mover> {
    let links = circuit.links_of(part);
    let has_coil =
        links.iter().any(|&link| matches!(circuit.link(link).element, Element::Coil { .. }));
    let is_input = |link: &LinkId| {
        matches!(circuit.link(*link).element, Element::Sense { .. } | Element::Cutout { .. })
    };
    let armature = has_coil.then_some(Mover::Armature(part));
    armature.into_iter().chain(links.iter().copied().filter(is_input).map(Mover::Input)).collect()
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
