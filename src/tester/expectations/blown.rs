//! The fuses that have blown under each suspect, and those that go when something is switched on.

use super::{Bench, BenchError, is_fresh};
use crate::electric::{BranchId, Change, Law};
use crate::setup::Setup;
use crate::suspect::SuspectId;
use crate::suspect::damage::{changes, left};

impl Bench {
    /// Fuses that trying the circuit has blown under a suspect, as branches of its wiring, in that order.
    pub fn blown(&self, suspect: SuspectId) -> &[BranchId] {
        self.blown.get(suspect.index()).map_or(&[], Vec::as_slice)
    }

    /// The fuses that go in this setup under a suspect, beside those that have gone before.
    ///
    /// # Errors
    /// Where the setup has no operating point.
    pub fn blows(&self, setup: &Setup, suspect: SuspectId) -> Result<Vec<BranchId>, BenchError> {
        let Some(one) = self.lineup.suspects.get(suspect.index()) else { return Ok(Vec::new()) };
        let ready = self.ready(setup)?;
        let damage = left(&self.circuit, setup, &one.damage);
        let mut list = changes(&self.circuit, setup, &ready.wiring, &damage);
        let gone = self.blown(suspect).iter();
        let gone = gone.filter(|branch| !is_fresh(&self.circuit, setup, **branch));
        list.extend(gone.map(|&branch| Change::Law { branch, law: Law::Open }));
        let case = ready.solver.case(&list).map_err(|cause| self.error(setup, &one.id, cause))?;
        Ok(case.blown().to_vec())
    }

    /// These fuses have blown, whatever is wrong.
    pub fn blow(&mut self, fuses: &[BranchId]) {
        for gone in &mut self.blown {
            for fuse in fuses {
                if !gone.contains(fuse) {
                    gone.push(*fuse);
                }
            }
        }
    }
}
