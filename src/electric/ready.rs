//! A network made ready: what is kept of it.

use super::changed::{Change, Changed};
use super::error::SolveError;
use super::level::Level;
use super::network::{BranchId, Network};

/// What is kept of a network.
#[derive(Debug)]
pub(super) struct Ready {
    pub network: Network,
    pub fuses: Vec<(BranchId, f64)>,
    /// At least one; the first begins from rest.
    pub levels: Vec<Level>,
}

impl Ready {
    /// The network with changes made.
    pub fn changed(&self, changes: &[Change]) -> Result<Changed<'_>, SolveError> {
        let mut changed = Changed::none(&self.network, &self.fuses);
        changes.iter().try_for_each(|change| changed.make(change))?;
        Ok(changed)
    }
}
