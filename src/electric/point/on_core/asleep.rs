//! What is no port of a core: what drives can have moved of it, and whether it still rests.

use std::borrow::Cow;

use super::OnCore;
use crate::electric::base::unit::Unit;
use crate::electric::base::values::{Place, Watched};
use crate::electric::law::Form;
use crate::electric::level::resting::{Met, Rester};
use crate::electric::network::BranchId;
use crate::electric::point::newton::CorePoint;
use crate::electric::settle::State;
use crate::electric::short::PerPort;

/// A port this far from its curve has left its tangent; less tells no tester anything.
const BENT_VOLTS: f64 = 1e-4;

impl<'net> OnCore<'net> {
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
            let moved = core.under(place, unit.0.beside(core.base, place), unit.1);
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

    /// What the drives, and so much of a unit at a place, can have moved.
    pub fn met(&self, drives: &[f64], (place, unit): (Place, (&Unit<'net>, f64))) -> Met {
        let field = self.core.field(drives, Some(unit));
        self.met_by(field.as_ref(), Some(place))
    }

    pub(super) fn met_by(&self, field: Option<&Unit<'_>>, beside: Option<Place>) -> Met {
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
    pub(super) fn displaced(&self, state: &State) -> PerPort<usize> {
        if self.known.is_some_and(|known| known.pulled[..] == state.pulled[..]) {
            return PerPort::new();
        }
        let contacts = self.resting.contacts().iter().copied();
        let asleep = contacts.filter(|index| !self.awake.contains(index));
        let rows = &self.core.base.rows;
        asleep.filter(|&index| self.resting.get(index).is_moved(state, rows)).collect()
    }

    /// What rests, and does not at this point; with volts and amperes to begin from.
    pub(super) fn stirred(
        &self,
        state: &State,
        point: &CorePoint,
        field: Option<&Unit<'_>>,
    ) -> PerPort<(usize, (f64, f64))> {
        let core = &self.core;
        let rest = |place: Place| core.base.at(place, &core.base.rest.all);
        if let Some(field) = field {
            // On their tangents all have made a first step together already: here is where it led.
            let stirred = |(index, rester): (usize, &Rester)| {
                let (rest, moved) = (rest(rester.place), field.beside(core.base, rester.place));
                let at = (rest.0 + moved.0, rest.1 + moved.1);
                rester.is_stirred(state, at.0, || at).then_some((index, at))
            };
            let sleepers = self.sleepers(&point.met).filter(|(_, rester)| !rester.is_tie);
            return sleepers.filter_map(stirred).collect();
        }
        let Some(watched) = core.watched_under(&core.base.rest, &point.drives) else {
            return PerPort::new();
        };
        let is_stirred = |&(index, rester): &(usize, &Rester)| {
            let at = || core.under(rester.place, rest(rester.place), &point.drives);
            rester.is_stirred(state, watched[index], at)
        };
        let asleep = self.resting.asleep(&self.awake);
        asleep.filter(is_stirred).map(|(index, rester)| (index, rester.at)).collect()
    }

    /// Whether nothing that was met decides over an armature, so that it stays as it is known to.
    pub fn relay_stays(&self, state: &State, met: &Met, relay: usize) -> bool {
        let Some(known) = self.known else { return false };
        let is_sound = || {
            matches!(self.relays, Cow::Borrowed(_))
                || self.sound.get(relay) == self.relays.get(relay)
        };
        let is_far = || match self.relays[relay].windings[..] {
            [] => true,
            [(branch, share)] => share != 0.0 && self.is_far(met, branch),
            _ => false,
        };
        state.pulled[relay] == known.pulled[relay]
            && !known.leaving.contains(&relay)
            && is_far()
            && is_sound()
    }

    /// The branches that do not stay as they are known to at some points, in order; `None` where all have to be
    /// looked at.
    fn near<'a>(&self, met: impl Iterator<Item = &'a Met>) -> Option<Vec<u32>> {
        let known = self.known?;
        let mut near = known.overloaded.clone();
        for met in met {
            near.extend(met.0.as_ref()?.iter().map(|one| one.0));
        }
        let own = self.core.base.own as u32;
        near.extend(own..own + self.added.len() as u32);
        near.extend(self.core.places.iter().filter_map(|place| match place {
            Place::Branch(branch) => Some(*branch as u32),
            Place::Pair(..) => None,
        }));
        near.sort_unstable();
        near.dedup();
        Some(near)
    }

    /// The fuses that what was met at some points need not leave whole, in their order.
    pub fn fuses_near<'a>(&self, met: impl Iterator<Item = &'a Met>) -> Cow<'_, [(BranchId, f64)]> {
        let Some(near) = self.near(met) else { return Cow::Borrowed(&self.fuses) };
        let rated = |branch: &u32| {
            let at = self.fuses.binary_search_by_key(branch, |(fuse, _)| fuse.0).ok()?;
            Some(self.fuses[at])
        };
        Cow::Owned(near.iter().filter_map(rated).collect())
    }

    fn is_far(&self, met: &Met, branch: BranchId) -> bool {
        (branch.0 as usize) < self.core.base.own
            && met.is_far(branch.0)
            && !self.core.places.contains(&Place::Branch(branch.0 as usize))
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
