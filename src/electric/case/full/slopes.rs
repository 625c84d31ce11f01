//! What is behind two nodes of a case, and what their volts owe to each branch.

use super::{Full, Settled};
use crate::electric::base::unit::Unit;
use crate::electric::base::values::Place;
use crate::electric::case::response::Response;
use crate::electric::network::NodeId;
use crate::electric::point::newton::{CorePoint, WholePoint};
use crate::electric::point::on_core::OnCore;
use crate::electric::point::whole::Whole;
use crate::electric::sensitivity::{Answer, Sensitivity};
use crate::electric::settle::{Cycle, Plant, State};

impl Full<'_> {
    /// Volts and ohms a small tester sees between two nodes, at the operating point: open-circuit volts of
    /// `from` over `to`, and the slope there. While relays chatter, the mean of each over the cycle.
    /// Nothing and no ohms for nodes the network does not have.
    pub fn thevenin(&self, from: NodeId, to: NodeId) -> (f64, f64) {
        if !self.has(from) || !self.has(to) {
            return (0.0, 0.0);
        }
        let volts = self.node_volts(from) - self.node_volts(to);
        let ohms = match &self.settled {
            Settled::Core(plant, cycle) => {
                let unit = plant.core.unit(Place::Pair(from, to));
                let ties = plant.ties_at([from, to]);
                let ohms = |(state, point): &(State, Box<CorePoint>)| {
                    if ties.is_empty() {
                        return Response::new(plant, point, &unit).ohms(from, to);
                    }
                    let (plant, point) = plant.with_awake(&ties, state, point)?;
                    Response::new(&plant, &point, &unit).ohms(from, to)
                };
                let sum: Option<f64> = cycle.iter().map(ohms).sum();
                sum.map(|sum| sum / cycle.len() as f64)
            }
            Settled::Whole(plant, cycle) => {
                let ohms = cycle.iter().map(|(_, point)| plant.ohms(point, from, to));
                Some(ohms.sum::<f64>() / cycle.len() as f64)
            }
        };
        (volts, ohms.unwrap_or_else(|| self.whole_ohms(from, to)))
    }

    /// What the volts of `from` over `to` owe to each branch. `None` for nodes the network does not have.
    ///
    /// Costs about as much as a column of the inverse; what is then asked of it costs nothing.
    pub fn sensitivity(&self, from: NodeId, to: NodeId) -> Option<Sensitivity<'_>> {
        if !self.has(from) || !self.has(to) {
            return None;
        }
        let on_core = match &self.settled {
            Settled::Core(plant, cycle) => self.core_answers(plant, cycle, (from, to)),
            Settled::Whole(plant, cycle) => {
                let answer = |(_, point): &(State, Box<WholePoint>)| plant.answer(point, from, to);
                Some(cycle.iter().map(answer).collect())
            }
        };
        let answers = on_core.unwrap_or_else(|| {
            let mut plant = Whole::new(&self.changed);
            let points = self.states().into_iter().filter_map(|state| {
                let point = plant.operate(state, None).ok()?;
                Some(plant.answer(&point, from, to))
            });
            points.collect()
        });
        Some(Sensitivity::new(self.base.layout.ends.as_slice(), &self.changed, answers))
    }

    fn core_answers<'case>(
        &'case self,
        plant: &'case OnCore,
        cycle: &Cycle<Box<CorePoint>>,
        (from, to): (NodeId, NodeId),
    ) -> Option<Vec<Answer<'case>>> {
        let column = plant.core.base.column(Place::Pair(from, to));
        let unit = Unit::Kept(column.clone());
        let ties = plant.ties_at([from, to]);
        if let ([(_, point)], true) = (cycle.as_slice(), ties.is_empty()) {
            let response = Response::new(plant, point, &unit);
            response.ohms(from, to)?;
            let drives = response.drives.into_vec();
            let at = self.unknowns();
            let (base, driven) = (self.base, plant.core.columns());
            return Some(vec![Answer::Core { base, column, driven, drives, at }]);
        }
        let answer = |(state, point): &(State, Box<CorePoint>)| {
            if ties.is_empty() {
                return Response::new(plant, point, &unit).answer(&column, point, (from, to));
            }
            let (plant, point) = plant.with_awake(&ties, state, point)?;
            Response::new(&plant, &point, &unit).answer(&column, &point, (from, to))
        };
        cycle.iter().map(answer).collect()
    }

    /// The ohms between two nodes, of the whole network: where those of the core lose their digits.
    fn whole_ohms(&self, from: NodeId, to: NodeId) -> f64 {
        let mut plant = Whole::new(&self.changed);
        let states = self.states();
        let ohms = states.iter().filter_map(|state| {
            let point = plant.operate(state, None).ok()?;
            Some(plant.ohms(&point, from, to))
        });
        ohms.sum::<f64>() / states.len() as f64
    }
}
