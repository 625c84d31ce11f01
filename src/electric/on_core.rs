//! A changed network on a core: put into a state and solved there.

use std::borrow::Cow;

use super::base::{Base, Place, Watched};
use super::changed::Changed;
use super::error::SolveError;
use super::law::{Form, Row};
use super::moves::Moves;
use super::network::{Branch, BranchId, Law, NodeId, Relay};
use super::newton::{CorePoint, on_core};
use super::residual::Added;
use super::resting::{Known, Met, Ports, Rester, Resting};
use super::settle::{Plant, State};
use super::short::{PerPort, each};
use super::touched::{foreseen, nodes_of, ties_at};
use super::unit::Unit;
use super::update::Core;

/// Why a core gave no answer.
#[derive(Debug)]
pub(super) enum Stop {
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

/// A port this far from its curve has left its tangent; less tells no tester anything.
const BENT_VOLTS: f64 = 1e-4;

/// A changed network on a core: its ports are the branches that bend, move or were changed.
#[derive(Debug, Clone)]
pub(super) struct OnCore<'net> {
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
        let known = ports.known.as_ref().filter(|_| base.is_vast());
        // Made where it stays, as it is large.
        let mut plant = Box::new(OnCore {
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
        });
        plant.choose_ports(&ports.always, changed, state);
        let own = changed.network.branches.len();
        let is_changed =
            |branch: usize| changed.laws.iter().any(|(other, _)| other.0 as usize == branch);
        for port in 0..plant.core.places.len() {
            let moves = match plant.core.places[port] {
                Place::Branch(branch) if branch >= own => Moves::Never(Form::OPEN),
                Place::Branch(branch) => match plant.resting.of_branch(branch) {
                    Some(rester) if !is_changed(branch) => plant.resting.get(rester).moves,
                    _ => Moves::of(BranchId(branch as u32), changed.law(branch)),
                },
                Place::Pair(..) => {
                    let index = plant.added.len();
                    plant.added.push(port);
                    Moves::of(BranchId((own + index) as u32), &changed.across[index].law)
                }
            };
            plant.moves.push(moves);
        }
        plant
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

    /// Whether a tester's amperes take a port so far that its curve has left the tangent. `unit` is what
    /// an ampere does: to the unknowns without drives, and to the drives; `met` what it and the drives of
    /// the point can have moved together.
    pub fn is_bent(
        &self,
        (state, point): (&State, &CorePoint),
        unit: (&Unit<'_>, &[f64]),
        amps: f64,
        met: &Met,
    ) -> bool {
        let ports = self.moves.iter().enumerate().any(|(port, moves)| {
            let form = moves.form(state);
            if matches!(form, Form::Line(_)) {
                return false;
            }
            let moved = self.core.moved_port(port, unit.0, unit.1);
            leaves_tangent(form, || point.at[port], moved, amps)
        });
        if ports {
            return true;
        }
        let is_bent = |rester: &Rester| {
            let form = rester.moves.form(state);
            if matches!(form, Form::Line(_)) || rester.is_tie {
                return false;
            }
            let (core, place) = (&self.core, rester.place);
            let moved = core.under(place, unit.0.at(core.base, place), unit.1);
            let rest = core.base.at(place, &core.base.rest.all);
            leaves_tangent(form, || core.under(place, rest, &point.drives), moved, amps)
        };
        if met.0.is_some() {
            return self.sleepers(met).any(|(_, rester)| is_bent(rester));
        }
        let Unit::Kept(column) = unit.0 else { return true };
        let Some(watched) = self.core.watched_under(column, unit.1) else { return true };
        self.resting
            .asleep(&self.awake)
            .any(|(index, rester)| (amps * watched[index]).abs() > BENT_VOLTS && is_bent(rester))
    }

    /// What rests among what was met.
    fn sleepers<'a>(&'a self, met: &'a Met) -> impl Iterator<Item = (usize, &'a Rester)> + 'a {
        let resters = met.0.iter().flatten().filter_map(|&(branch, _)| {
            let index = self.resting.of_branch(branch as usize)?;
            Some((index, self.resting.get(index)))
        });
        resters.filter(|(index, _)| !self.awake.contains(index))
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
            self.wake(&stirred);
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
        on_core(&self.core, &forms, start)
    }

    /// What the drives, and one elsewhere, can have moved.
    pub fn met(&self, drives: &[f64], beside: Option<(Place, f64)>) -> Met {
        let field = self.core.field(drives, beside);
        self.met_by(field.as_ref(), beside.map(|one| one.0))
    }

    fn met_by(&self, field: Option<&Unit<'_>>, beside: Option<Place>) -> Met {
        let (Some(known), Some(field)) = (self.known, field) else { return Met(None) };
        let base = self.core.base;
        let places = self.core.places.iter().copied().chain(beside);
        let seeds: Vec<usize> = places.flat_map(|place| base.ends(place)).collect();
        let mut met = Vec::new();
        known.regions.visit(
            &seeds,
            |node| field.unknown(node),
            |index| {
                let (Watched::Volts(branch) | Watched::Amps(branch)) = base.watched()[index];
                met.push(branch as u32);
                true
            },
        );
        met.sort_unstable();
        met.dedup();
        let with_amps = |branch: u32| {
            let unknown = base.layout.nodes + branch as usize;
            (branch, base.rest.all[unknown] + field.unknown(unknown))
        };
        Met(Some(met.into_iter().map(with_amps).collect()))
    }

    /// What rests, and does not in this state.
    fn displaced(&self, state: &State) -> PerPort<usize> {
        let contacts = self.resting.contacts().iter().copied();
        let asleep = contacts.filter(|index| !self.awake.contains(index));
        let rows = &self.core.base.rows;
        asleep.filter(|&index| self.resting.get(index).is_moved(state, rows)).collect()
    }

    /// What rests, and does not at this point.
    fn stirred(
        &self,
        state: &State,
        point: &CorePoint,
        field: Option<&Unit<'_>>,
    ) -> PerPort<usize> {
        let core = &self.core;
        let rest = |place: Place| core.base.at(place, &core.base.rest.all);
        if let Some(field) = field {
            let is_stirred = |rester: &Rester| {
                let (rest, moved) = (rest(rester.place), field.at(core.base, rester.place));
                let at = (rest.0 + moved.0, rest.1 + moved.1);
                rester.is_stirred(state, at.0, || at)
            };
            let sleepers = self.sleepers(&point.met);
            let stirred = sleepers.filter(|(_, rester)| !rester.is_tie && is_stirred(rester));
            return stirred.map(|(index, _)| index).collect();
        }
        let Some(watched) = core.watched_under(&core.base.rest, &point.drives) else {
            return PerPort::new();
        };
        let is_stirred = |&(index, rester): &(usize, &Rester)| {
            let at = || core.under(rester.place, rest(rester.place), &point.drives);
            rester.is_stirred(state, watched[index], at)
        };
        let asleep = self.resting.asleep(&self.awake);
        asleep.filter(is_stirred).map(|(index, _)| index).collect()
    }

    /// Whether nothing that was met decides over an armature, so that it stays as it is known to.
    pub fn relay_stays(&self, state: &State, met: &Met, relay: usize) -> bool {
        let Some(known) = self.known else { return false };
        let is_far = match self.relays[relay].windings[..] {
            [] => true,
            [(branch, share)] => share != 0.0 && self.is_far(met, branch),
            _ => false,
        };
        is_far
            && state.pulled[relay] == known.pulled[relay]
            && !known.leaving.contains(&relay)
            && self.sound.get(relay) == self.relays.get(relay)
    }

    /// Whether what was met leaves a fuse whole.
    pub fn fuse_stays(&self, met: &Met, fuse: BranchId) -> bool {
        let Some(known) = self.known else { return false };
        self.is_far(met, fuse) && !known.overloaded.contains(&fuse.0)
    }

    fn is_far(&self, met: &Met, branch: BranchId) -> bool {
        (branch.0 as usize) < self.core.base.own
            && met.is_far(branch.0)
            && !self.core.places.contains(&Place::Branch(branch.0 as usize))
    }

    /// All unknowns of a point; no current at all where a branch is open.
    pub fn unknowns(&self, point: &CorePoint) -> Vec<f64> {
        let base = self.core.base;
        let mut unknowns = base.rest.all.to_vec();
        self.core.add(&mut unknowns, &point.drives);
        for (place, line) in self.core.places.iter().zip(&point.lines) {
            if let (Place::Branch(branch), true) = (place, *line == Row::OPEN) {
                unknowns[base.layout.nodes + branch] = 0.0;
            }
        }
        unknowns
    }

    /// The added branches with their amperes.
    pub fn added(&self, point: &CorePoint) -> Vec<Added> {
        let one = |&port: &usize| match self.core.places[port] {
            Place::Pair(from, to) => {
                let amps = if point.lines[port] == Row::OPEN { 0.0 } else { point.at[port].1 };
                (from.0 as usize, to.0 as usize, amps)
            }
            Place::Branch(branch) => {
                let (from, to) = self.core.base.layout.ends[branch];
                (from, to, point.at[port].1)
            }
        };
        self.added.iter().map(one).collect()
    }

    /// One of the network's own unknowns at a point, as in [`OnCore::unknowns`].
    pub fn unknown(&self, point: &CorePoint, unknown: usize) -> f64 {
        let core = &self.core;
        if let Some(branch) = unknown.checked_sub(core.base.layout.nodes) {
            let port = core.places.iter().position(|place| *place == Place::Branch(branch));
            if port.is_some_and(|port| point.lines.get(port) == Some(&Row::OPEN)) {
                return 0.0;
            }
        }
        core.unknown(unknown, &point.drives)
    }

    /// Amperes of a branch at a point; added ones count on after the network's own.
    pub fn branch_amps(&self, point: &CorePoint, branch: BranchId) -> f64 {
        let (branch, own) = (branch.0 as usize, self.core.base.own);
        match branch.checked_sub(own) {
            None => point.met.amps(branch as u32).unwrap_or_else(|| {
                self.core.unknown(self.core.base.layout.nodes + branch, &point.drives)
            }),
            Some(added) => self.added.get(added).map_or(0.0, |&port| point.at[port].1),
        }
    }

    /// Amperes of a branch under an answer of the core.
    pub fn moved_amps(&self, branch: BranchId, unit: &Unit<'_>, drives: &[f64]) -> f64 {
        let (branch, layout) = (branch.0 as usize, &self.core.base.layout);
        match branch.checked_sub(self.core.base.own) {
            None => self.core.moved(layout.nodes + branch, unit, drives),
            Some(added) => self.added.get(added).map_or(0.0, |&port| drives[port]),
        }
    }

    /// The worst step a further refinement would make at a node.
    pub fn error_volts(&self, point: &CorePoint) -> f64 {
        let (core, layout) = (&self.core, &self.core.base.layout);
        let unknowns = self.unknowns(point);
        let mut right = layout.right(&core.base.rows);
        for (from, to, amps) in self.added(point) {
            right[from] -= amps;
            right[to] += amps;
        }
        right[0] = 0.0;
        let mut left = core.base.left_over(&right, &unknowns);
        let mut wanted = Vec::with_capacity(core.places.len());
        for (place, (line, &(volts, amps))) in
            core.places.iter().zip(point.lines.iter().zip(&point.at))
        {
            if let Place::Branch(branch) = *place {
                left[layout.nodes + branch] = 0.0;
            }
            wanted.push(line.gamma - line.alpha * volts - line.beta * amps);
        }
        let mut step = core.base.solve(left);
        let at = |place| core.base.at(place, &step);
        let drives = core.answer(&point.dense, &point.lines, at, Some(&wanted));
        core.add(&mut step, &drives);
        step[..layout.nodes].iter().fold(0.0, |worst: f64, volts| worst.max(volts.abs()))
    }
}

/// Whether a port that a tester's amperes move from `at` leaves its tangent; `moved` is what one ampere does.
fn leaves_tangent(
    form: &Form,
    at: impl FnOnce() -> (f64, f64),
    (unit_volts, unit_amps): (f64, f64),
    amps: f64,
) -> bool {
    if (amps * unit_volts).abs() <= BENT_VOLTS {
        return false;
    }
    let at = at();
    let moved = (at.0 + amps * unit_volts, at.1 + amps * unit_amps);
    let Some(curve) = form.meet(moved.0, moved.1) else { return false };
    // What the tangent gets wrong is a current at the port, and by reciprocity an ampere there is worth as
    // many volts at the tester as an ampere of the tester makes here.
    let off_volts = (curve.volts - moved.0).abs();
    let off_amps = off_volts * (1.0 / form.line_ohms() + curve.siemens);
    off_volts > BENT_VOLTS || off_amps * unit_volts.abs() > BENT_VOLTS
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

    fn is_safe(&self, point: &Box<CorePoint>, fuse: BranchId) -> bool {
        self.fuse_stays(&point.met, fuse)
    }
}
