//! A changed network on a core: put into a state and solved there. `asleep` is what is no port of it, `answers` what
//! is asked of it at a point.

use std::borrow::Cow;

use super::newton::{CorePoint, on_ports};
use super::touched::{foreseen, nodes_of, ties_at};
use super::update::Core;
use crate::electric::base::Base;
use crate::electric::base::values::Place;
use crate::electric::changed::Changed;
use crate::electric::error::SolveError;
use crate::electric::law::Form;
use crate::electric::level::resting::{Known, Ports, Resting};
use crate::electric::moves::Moves;
use crate::electric::network::{Branch, BranchId, Law, NodeId, Relay};
use crate::electric::settle::{Plant, State};
use crate::electric::short::{PerPort, each};

mod answers;
mod asleep;

/// Why a core gave no answer.
#[derive(Debug)]
pub(in crate::electric) enum Stop {
    /// Its digits are not to be trusted, or it would not come to rest: take the whole network.
    Distrusted,
    /// There is none.
    Failed(SolveError),
}

impl From<SolveError> for Stop {
    fn from(error: SolveError) -> Self {
        Stop::Failed(error)
    }
}

/// An operating point of a changed network, found before there was a core.
#[derive(Debug)]
pub(in crate::electric) struct Early {
    pub places: PerPort<Place>,
    pub point: Box<CorePoint>,
}

/// A changed network on a core: its ports are the branches that bend, move or were changed.
#[derive(Debug, Clone)]
pub(in crate::electric) struct OnCore<'net> {
    pub core: Core<'net>,
    moves: PerPort<Moves>,
    /// Where the ports of added branches are, in their order.
    added: PerPort<usize>,
    relays: Cow<'net, [Relay]>,
    fuses: Cow<'net, [(BranchId, f64)]>,
    /// Volts and amperes of the ports to begin from.
    start: PerPort<(f64, f64)>,
    /// What is no port as long as nothing moves it.
    resting: &'net Resting,
    /// Of a large network.
    known: Option<&'net Known>,
    /// The armatures as they are without changes.
    sound: &'net [Relay],
    /// Those of `resting` that are ports here.
    awake: PerPort<usize>,
}

impl<'net> OnCore<'net> {
    /// The changed network with its branches as they were, to be put into `state` first.
    pub fn new(
        base: &'net Base,
        ports: &'net Ports,
        changed: &Changed<'net>,
        state: &State,
    ) -> Box<Self> {
        let mut plant = OnCore::bare(base, ports, changed);
        plant.choose_ports(&ports.always, changed, state);
        plant.note_moves(changed);
        plant
    }

    /// The same with these ports, the changed ones among them.
    pub fn with_ports(
        base: &'net Base,
        ports: &'net Ports,
        changed: &Changed<'net>,
        places: &[Place],
    ) -> Box<Self> {
        let mut plant = OnCore::bare(base, ports, changed);
        for &place in places {
            let rester = match place {
                Place::Branch(branch) => plant.resting.of_branch(branch),
                Place::Pair(..) => None,
            };
            plant.start.push(rester.map_or((0.0, 0.0), |index| plant.resting.get(index).at));
            plant.awake.extend(rester);
        }
        plant.core.add_ports(places);
        plant.note_moves(changed);
        plant
    }

    fn bare(base: &'net Base, ports: &'net Ports, changed: &Changed<'net>) -> Box<Self> {
        let known = ports.known.as_ref();
        // Made where it stays, as it is large.
        Box::new(OnCore {
            core: Core::new(base, known.is_some()),
            moves: PerPort::new(),
            added: PerPort::new(),
            relays: changed.relays.clone(),
            fuses: changed.fuses.clone(),
            start: PerPort::from_slice(&ports.start),
            resting: &ports.resting,
            known,
            sound: &changed.network.relays,
            awake: PerPort::new(),
        })
    }

    /// Notes how each port moves.
    fn note_moves(&mut self, changed: &Changed<'net>) {
        let own = changed.network.branches.len();
        let is_changed =
            |branch: usize| changed.laws.iter().any(|(other, _)| other.0 as usize == branch);
        for port in 0..self.core.places.len() {
            let moves = match self.core.places[port] {
                Place::Branch(branch) if branch >= own => Moves::Never(Form::OPEN),
                Place::Branch(branch) => match self.resting.of_branch(branch) {
                    Some(rester) if !is_changed(branch) => self.resting.get(rester).moves,
                    _ => Moves::of(BranchId(branch as u32), changed.law(branch)),
                },
                Place::Pair(..) => {
                    let index = self.added.len();
                    self.added.push(port);
                    Moves::of(BranchId((own + index) as u32), &changed.across[index].law)
                }
            };
            self.moves.push(moves);
        }
    }

    /// Makes ports of what is one in every case, of what was changed, and of what will not rest for it.
    fn choose_ports(&mut self, always: &[Place], changed: &Changed<'net>, state: &State) {
        let (base, resting) = (self.core.base, self.resting);
        let mut places: PerPort<Place> = PerPort::from_slice(always);
        for branch in changed.laws.iter().map(|(branch, _)| branch.0 as usize) {
            if places.contains(&Place::Branch(branch)) {
                continue;
            }
            let rester = resting.of_branch(branch);
            self.start.push(rester.map_or((0.0, 0.0), |index| resting.get(index).at));
            self.awake.extend(rester);
            places.push(Place::Branch(branch));
        }
        for rester in foreseen(base, resting, changed, state) {
            if !self.awake.contains(&rester) {
                places.push(resting.get(rester).place);
                self.start.push(resting.get(rester).at);
                self.awake.push(rester);
            }
        }
        for branch in &changed.across {
            places.push(Place::Pair(branch.from, branch.to));
            self.start.push((0.0, 0.0));
        }
        let ties = self.ties_at(nodes_of(base, &places));
        for &tie in &ties {
            places.push(resting.get(tie).place);
            self.start.push(resting.get(tie).at);
        }
        self.awake.extend(ties);
        self.core.add_ports(&places);
    }

    /// Ties, not yet ports, of the islands that these nodes are on: a tester there needs them as they are.
    pub fn ties_at(&self, nodes: impl IntoIterator<Item = NodeId>) -> PerPort<usize> {
        ties_at(self.resting, &self.awake, nodes)
    }

    /// Makes ports of what rested, and of the ties of the islands it touches.
    fn wake(&mut self, resters: &[usize]) {
        if resters.is_empty() {
            return;
        }
        let resting = self.resting;
        let mut more = PerPort::from_slice(resters);
        let place =
            |more: &[usize]| each(more.len(), Place::Branch(0), |at| resting.get(more[at]).place);
        let places = place(&more);
        let ties = self.ties_at(nodes_of(self.core.base, &places));
        more.extend(ties.into_iter().filter(|tie| !resters.contains(tie)));
        let places = place(&more);
        self.core.add_ports(&places);
        for &index in &more {
            self.moves.push(resting.get(index).moves);
            self.start.push(resting.get(index).at);
        }
        self.awake.extend(more);
    }

    /// The same network with some more ports awake, at the operating point it has with them.
    pub fn with_awake(
        &self,
        resters: &[usize],
        state: &State,
        point: &CorePoint,
    ) -> Option<(Self, Box<CorePoint>)> {
        let mut more = self.clone();
        more.wake(resters);
        let point = more.found(state, Some(point)).ok()?;
        Some((more, point))
    }

    /// The same network with one more branch, whose amperes begin at none and volts at `volts`.
    pub fn with_branch(&self, branch: &Branch, volts: f64) -> Self {
        let id = BranchId((self.core.base.own + self.added.len()) as u32);
        let mut core = self.core.clone();
        core.add_ports(&[Place::Pair(branch.from, branch.to)]);
        let mut more = OnCore {
            core,
            moves: with(&self.moves, Moves::of(id, &branch.law)),
            added: with(&self.added, self.core.places.len()),
            start: with(&self.start, (volts, 0.0)),
            relays: self.relays.clone(),
            fuses: self.fuses.clone(),
            resting: self.resting,
            known: self.known,
            sound: self.sound,
            awake: self.awake.clone(),
        };
        if let Law::Fuse { rated_amps, .. } = branch.law {
            more.fuses.to_mut().push((id, rated_amps));
        }
        more.wake(&more.ties_at([branch.from, branch.to]));
        more
    }

    /// The operating point in a state, what must not rest there awake.
    fn found(&mut self, state: &State, near: Option<&CorePoint>) -> Result<Box<CorePoint>, Stop> {
        for &fuse in &state.blown {
            let place = Place::Branch(fuse.0 as usize);
            if (fuse.0 as usize) < self.core.base.own && !self.core.places.contains(&place) {
                let row = self.core.base.rows[fuse.0 as usize];
                self.core.add_ports(&[place]);
                self.moves.push(Moves::Fuse { fuse, whole: Form::Line(row) });
                self.start.push((0.0, 0.0));
            }
        }
        self.wake(&self.displaced(state));
        let mut latest: Option<Box<CorePoint>> = None;
        loop {
            let mut point =
                self.solved(state, latest.as_deref().or(near)).ok_or(Stop::Distrusted)?;
            let field = self.core.field(&point.drives, None);
            point.met = self.met_by(field.as_ref(), None);
            let stirred = self.stirred(state, &point, field.as_ref());
            drop(field);
            if stirred.is_empty() {
                return Ok(point);
            }
            let first = self.start.len();
            self.wake(&each(stirred.len(), 0, |at| stirred[at].0));
            for (start, (_, at)) in self.start[first..].iter_mut().zip(stirred) {
                *start = at;
            }
            latest = Some(point);
        }
    }

    /// The ports on their curves, whatever that does to what rests.
    fn solved(&self, state: &State, near: Option<&CorePoint>) -> Option<Box<CorePoint>> {
        let forms = each(self.moves.len(), &Form::OPEN, |port| self.moves[port].form(state));
        let start = || {
            let mut start = self.start.clone();
            if let Some(near) = near {
                start[..near.at.len()].copy_from_slice(&near.at);
            }
            start
        };
        // Made where it stays, as it is large.
        let mut point = Box::new(CorePoint::default());
        on_ports(&self.core.table, &forms, start, &mut point)?;
        Some(point)
    }
}

/// A list with one more entry.
fn with<T: Clone>(list: &[T], more: T) -> PerPort<T> {
    let mut longer = PerPort::with_capacity(list.len() + 1);
    longer.extend(list.iter().cloned());
    longer.push(more);
    longer
}

impl Plant for OnCore<'_> {
    type Point = Box<CorePoint>;
    type Error = Stop;

    fn relays(&self) -> &[Relay] {
        &self.relays
    }

    fn fuses(&self) -> &[(BranchId, f64)] {
        &self.fuses
    }

    fn operate(
        &mut self,
        state: &State,
        near: Option<&Box<CorePoint>>,
    ) -> Result<Box<CorePoint>, Stop> {
        self.found(state, near.map(|near| &**near))
    }

    fn amps(&self, point: &Box<CorePoint>, branch: BranchId) -> f64 {
        self.branch_amps(point, branch)
    }

    fn stays(&self, state: &State, point: &Box<CorePoint>, relay: usize) -> bool {
        self.relay_stays(state, &point.met, relay)
    }

    fn fuses_at_risk<'a>(
        &self,
        points: impl Iterator<Item = &'a Box<CorePoint>>,
    ) -> Cow<'_, [(BranchId, f64)]> {
        self.fuses_near(points.map(|point| &point.met))
    }
}
