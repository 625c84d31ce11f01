//! What a tester's ampere does at an operating point.

use crate::electric::base::Column;
use crate::electric::base::unit::Unit;
use crate::electric::network::{BranchId, NodeId};
use crate::electric::point::newton::CorePoint;
use crate::electric::point::on_core::OnCore;
use crate::electric::residual::LEAST_SHARE;
use crate::electric::sensitivity::Answer;
use crate::electric::short::PerPort;

/// What an ampere through a tester does at an operating point.
pub(in crate::electric) struct Response<'point, 'net> {
    pub plant: &'point OnCore<'net>,
    unit: &'point Unit<'net>,
    pub drives: PerPort<f64>,
}

impl<'point, 'net> Response<'point, 'net> {
    pub fn new(plant: &'point OnCore<'net>, point: &CorePoint, unit: &'point Unit<'net>) -> Self {
        let at = |place| unit.beside(plant.core.base, place);
        let drives = plant.core.answer(&point.dense, &point.lines, at, None);
        Response { plant, unit, drives }
    }

    /// Resistance between two nodes; `None` when it is a difference that lost its digits.
    pub fn ohms(&self, from: NodeId, to: NodeId) -> Option<f64> {
        let (from, to) = (from.0 as usize, to.0 as usize);
        let ohms = self.moved(to) - self.moved(from);
        let met = self.unit.unknown(to) - self.unit.unknown(from);
        (ohms >= LEAST_SHARE * met.abs()).then_some(ohms)
    }

    /// All unknowns per ampere of the tester, which does `column` without drives, beside those of the point;
    /// `None` as for the ohms.
    pub fn answer(
        &self,
        column: &Column<'net>,
        point: &CorePoint,
        (from, to): (NodeId, NodeId),
    ) -> Option<Answer<'static>> {
        self.ohms(from, to)?;
        let core = &self.plant.core;
        let mut unit = column.all.to_vec();
        core.add(&mut unit, &self.drives);
        let (nodes, at) = (core.base.layout.nodes, self.plant.unknowns(point));
        Some(Answer::Whole { nodes, unit, at })
    }

    /// An unknown, per ampere of the tester.
    fn moved(&self, unknown: usize) -> f64 {
        self.plant.core.moved(unknown, self.unit, &self.drives)
    }

    /// Amperes of a branch, per ampere of the tester.
    pub fn amps(&self, branch: BranchId) -> f64 {
        let base = self.plant.core.base;
        match (branch.0 as usize).checked_sub(base.own) {
            None => self.moved(base.layout.nodes + branch.0 as usize),
            Some(added) => self.plant.added_port(added).map_or(0.0, |port| self.drives[port]),
        }
    }
}
