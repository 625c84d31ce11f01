//! What is asked of a core at an operating point.

use super::OnCore;
use crate::electric::base::unit::Unit;
use crate::electric::base::values::Place;
use crate::electric::law::Row;
use crate::electric::network::BranchId;
use crate::electric::point::newton::CorePoint;
use crate::electric::residual::Added;

impl OnCore<'_> {
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

    /// One of the network's own unknowns at a point, as in [`OnCore::unknowns`]; `field` is what the drives do.
    pub fn unknown(&self, point: &CorePoint, field: Option<&Unit<'_>>, unknown: usize) -> f64 {
        let core = &self.core;
        if let Some(branch) = unknown.checked_sub(core.base.layout.nodes) {
            let port = core.places.iter().position(|place| *place == Place::Branch(branch));
            if port.is_some_and(|port| point.lines.get(port) == Some(&Row::OPEN)) {
                return 0.0;
            }
        }
        match field {
            Some(field) => core.base.rest.all[unknown] + field.unknown(unknown),
            None => core.unknown(unknown, &point.drives),
        }
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

    /// Where the port of an added branch is.
    pub fn added_port(&self, added: usize) -> Option<usize> {
        self.added.get(added).copied()
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
