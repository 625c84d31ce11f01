//! A settled case with a tester across it.

use super::Load;
use super::full::{Full, Settled};
use super::response::Response;
use crate::electric::base::values::Place;
use crate::electric::changed::check_branch;
use crate::electric::error::SolveError;
use crate::electric::law::{Form, Row};
use crate::electric::level::resting::Met;
use crate::electric::network::{Branch, BranchId, Law, NodeId};
use crate::electric::point::newton::CorePoint;
use crate::electric::point::on_core::{OnCore, Stop};
use crate::electric::point::whole::Whole;
use crate::electric::residual::check_tester;
use crate::electric::settle::{
    Cycle, Plant, State, Steadiness, blows, leaves, moving, settle, steadiness,
};
use crate::electric::short::PerPort;

impl Full<'_> {
    /// A tester put across two nodes: everything settles again from the present state, relays keeping
    /// their hysteresis and fuses staying blown. While relays chatter, from one state of their cycle.
    pub fn with_load(&self, from: NodeId, to: NodeId, law: &Law) -> Result<Load, SolveError> {
        check_branch(self.changed.network, self.next_branch(), (from, to), law)?;
        let branch = Branch { from, to, law: *law };
        if let Settled::Core(plant, cycle) = &self.settled {
            if let Some(load) = self.straight_load(plant, cycle, &branch) {
                return load;
            }
            let volts = self.node_volts(from) - self.node_volts(to);
            let port = plant.core.places.len();
            let mut plant = plant.with_branch(&branch, volts);
            match settle(&mut plant, cycle[0].0.clone(), Some(&cycle[0].1)) {
                Ok(after) => return self.load(&branch, &after, |point| point.at[port]),
                Err(Stop::Failed(error)) => return Err(error),
                Err(Stop::Distrusted) => {}
            }
        }
        let mut plant = match &self.settled {
            Settled::Whole(plant, _) => plant.with_branch(&branch),
            Settled::Core(..) => Whole::new(&self.changed).with_branch(&branch),
        };
        let after = settle(&mut plant, self.first_state().clone(), None)?;
        let last = plant.layout.ends.len() - 1;
        self.load(&branch, &after, |point| {
            (plant.layout.across(&point.unknowns, last), point.unknowns[plant.layout.nodes + last])
        })
    }

    fn load<Point>(
        &self,
        branch: &Branch,
        after: &Cycle<Point>,
        at: impl Fn(&Point) -> (f64, f64),
    ) -> Result<Load, SolveError> {
        let before = self.first_state();
        let share = 1.0 / after.len() as f64;
        let (mut volts, mut amps) = (0.0, 0.0);
        for (_, point) in after {
            let (more_volts, more_amps) = at(point);
            volts += share * more_volts;
            amps += share * more_amps;
        }
        let index = self.next_branch().0 as usize;
        check_tester(index, branch, volts, amps)?;
        Ok(Load {
            volts,
            amps,
            steadiness: steadiness(after),
            moved_relays: moving(after, before),
            blown: after[0].0.blown[before.blown.len()..].to_vec(),
        })
    }

    /// The short way: seen from the tester the network is a source behind a resistance, and the tester's
    /// curve meets its line in one point. `None` when that bends something further than its tangent
    /// reaches, moves a relay or blows a fuse.
    fn straight_load(
        &self,
        plant: &OnCore,
        cycle: &Cycle<Box<CorePoint>>,
        branch: &Branch,
    ) -> Option<Result<Load, SolveError>> {
        let [(state, point)] = cycle.as_slice() else { return None };
        let floats = !plant.ties_at([branch.from, branch.to]).is_empty();
        if floats || matches!(branch.law, Law::Contact { .. }) {
            return None;
        }
        let place = Place::Pair(branch.from, branch.to);
        let unit = plant.core.unit(place);
        let response = Response::new(plant, point, &unit);
        let ohms = response.ohms(branch.from, branch.to)?;
        let open_volts = self.node_volts(branch.from) - self.node_volts(branch.to);
        let amps = match Form::of(&branch.law, true) {
            Form::Line(Row { alpha, beta, gamma }) => {
                (alpha * open_volts - gamma) / (alpha * ohms - beta)
            }
            curve @ Form::Curve(..) => curve.on_line(open_volts, ohms, open_volts)?.amps,
        };
        let own_blows =
            matches!(branch.law, Law::Fuse { rated_amps, .. } if blows(amps, rated_amps));
        let drives = point.drives.iter().zip(&response.drives);
        let drives: PerPort<f64> = drives.map(|(drive, more)| drive + amps * more).collect();
        let met = plant.met(&drives, (place, (&unit, amps)));
        if own_blows
            || plant.is_bent((state, point), (&unit, &response.drives), amps, &met)
            || self.is_upset(state, &response, amps, &met)
        {
            return None;
        }
        let volts = open_volts - ohms * amps;
        let index = self.next_branch().0 as usize;
        Some(check_tester(index, branch, volts, amps).map(|()| Load {
            volts,
            amps,
            steadiness: Steadiness::Steady,
            moved_relays: Vec::new(),
            blown: Vec::new(),
        }))
    }

    /// Whether a tester's amperes move a relay or blow a fuse.
    fn is_upset(&self, state: &State, response: &Response, amps: f64, met: &Met) -> bool {
        let plant = response.plant;
        let after = |branch: BranchId| self.branch_amps(branch) + amps * response.amps(branch);
        let moves = plant.relays().iter().enumerate().any(|(index, relay)| {
            let pull = || -> f64 {
                relay.windings.iter().map(|&(winding, share)| share * after(winding)).sum()
            };
            !plant.relay_stays(state, met, index)
                && leaves(relay, state.pulled[index], pull().abs())
        });
        let blows = |&(fuse, rated_amps): &(BranchId, f64)| blows(after(fuse), rated_amps);
        moves || plant.fuses_near(std::iter::once(met)).iter().any(blows)
    }
}
