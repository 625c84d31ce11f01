//! A single branch that is not as in the network.

use crate::electric::base::values::Place;
use crate::electric::changed::{Change, check_branch, check_law};
use crate::electric::moves::Moves;
use crate::electric::network::{BranchId, Law, Network};

/// The one branch that is not as in the network.
pub(in crate::electric) struct Lone {
    pub place: Place,
    pub moves: Moves,
    /// A fuse that is none any more.
    pub is_no_fuse: bool,
}

impl Lone {
    /// `None` for what is not allowed, for more than one branch, and for a fuse: that is to be asked whether it
    /// blows.
    pub fn of(network: &Network, changes: &[Change]) -> Option<Lone> {
        match changes {
            [
                Change::Law { law: Law::Fuse { .. }, .. }
                | Change::Across { law: Law::Fuse { .. }, .. },
            ] => None,
            [Change::Law { branch, law }] => {
                let was = &network.branches.get(branch.0 as usize)?.law;
                check_law(network, *branch, law).ok()?;
                let place = Place::Branch(branch.0 as usize);
                let is_no_fuse = matches!(was, Law::Fuse { .. });
                Some(Lone { place, moves: Moves::of(*branch, law), is_no_fuse })
            }
            [Change::Across { from, to, law }] => {
                let next = BranchId(network.branches.len() as u32);
                check_branch(network, next, (*from, *to), law).ok()?;
                let place = Place::Pair(*from, *to);
                Some(Lone { place, moves: Moves::of(next, law), is_no_fuse: false })
            }
            _ => None,
        }
    }
}
