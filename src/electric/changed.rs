//! A network with its changes beside it, checked.

use std::borrow::Cow;

use super::error::SolveError;
use super::law;
use super::network::{Branch, BranchId, Law, Network, NodeId, Relay, RelayId};

/// A change to a network.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Change {
    /// Another law for a branch: open it, other ohms, a contact welded into a resistor.
    Law {
        /// The branch.
        branch: BranchId,
        /// What it is now.
        law: Law,
    },
    /// One more branch: a short to ground, a bridge, a tester.
    Across {
        /// First node.
        from: NodeId,
        /// Second node.
        to: NodeId,
        /// How it behaves.
        law: Law,
    },
    /// Other limits for an armature.
    Relay {
        /// The relay.
        relay: RelayId,
        /// Weighted amperes at which it pulls in.
        pull_in_amps: f64,
        /// Weighted amperes below which it drops out.
        drop_out_amps: f64,
    },
    /// A jammed armature.
    Stuck {
        /// The relay.
        relay: RelayId,
        /// Pulled for ever (true) or released for ever (false).
        pulled: bool,
    },
}

/// A network with changes: the network itself stays as it is.
#[derive(Debug, Clone)]
pub(super) struct Changed<'net> {
    pub network: &'net Network,
    /// Other laws, each branch once.
    pub laws: Vec<(BranchId, Law)>,
    /// Added branches, numbered on after the network's own.
    pub across: Vec<Branch>,
    pub relays: Cow<'net, [Relay]>,
    /// Fuses that can blow, with their ratings, in the order of their branches.
    pub fuses: Cow<'net, [(BranchId, f64)]>,
}

impl<'net> Changed<'net> {
    /// The network as it is; `fuses` are its fuses.
    pub fn none(network: &'net Network, fuses: &'net [(BranchId, f64)]) -> Self {
        Changed {
            network,
            laws: Vec::new(),
            across: Vec::new(),
            relays: Cow::Borrowed(&network.relays),
            fuses: Cow::Borrowed(fuses),
        }
    }

    /// Makes a change, after those made before; the last one counts.
    pub fn make(&mut self, change: &Change) -> Result<(), SolveError> {
        match *change {
            Change::Law { branch, ref law } => self.change_law(branch, law),
            Change::Across { from, to, ref law } => self.add(from, to, law),
            Change::Relay { relay, pull_in_amps, drop_out_amps } => {
                check_limits(relay.0, pull_in_amps, drop_out_amps)?;
                let changed = self.relay(relay)?;
                changed.pull_in_amps = pull_in_amps;
                changed.drop_out_amps = drop_out_amps;
                Ok(())
            }
            Change::Stuck { relay, pulled } => {
                self.relay(relay)?.stuck = Some(pulled);
                Ok(())
            }
        }
    }

    fn change_law(&mut self, branch: BranchId, law: &Law) -> Result<(), SolveError> {
        let branches = self.network.branches.len() as u32;
        if branch.0 >= branches {
            return Err(SolveError::NoSuchBranch { branch: branch.0, branches });
        }
        check_law(self.network, branch, law)?;
        if self.fuses.iter().any(|(fuse, _)| *fuse == branch) {
            self.fuses.to_mut().retain(|(fuse, _)| *fuse != branch);
        }
        self.note_fuse(branch, law);
        self.laws.retain(|(other, _)| *other != branch);
        self.laws.push((branch, *law));
        Ok(())
    }

    /// Adds a branch.
    pub fn add(&mut self, from: NodeId, to: NodeId, law: &Law) -> Result<(), SolveError> {
        let branch = BranchId((self.network.branches.len() + self.across.len()) as u32);
        check_branch(self.network, branch, (from, to), law)?;
        self.note_fuse(branch, law);
        self.across.push(Branch { from, to, law: *law });
        Ok(())
    }

    fn note_fuse(&mut self, branch: BranchId, law: &Law) {
        if let Law::Fuse { rated_amps, .. } = *law {
            let at = self.fuses.partition_point(|(fuse, _)| *fuse < branch);
            self.fuses.to_mut().insert(at, (branch, rated_amps));
        }
    }

    fn relay(&mut self, relay: RelayId) -> Result<&mut Relay, SolveError> {
        let relays = self.relays.len() as u32;
        let missing = SolveError::NoSuchRelay { relay: relay.0, relays };
        self.relays.to_mut().get_mut(relay.0 as usize).ok_or(missing)
    }

    /// The law of one of the network's own branches.
    pub fn law(&self, branch: usize) -> &Law {
        let other = self.laws.iter().find(|(changed, _)| changed.0 as usize == branch);
        other.map_or(&self.network.branches[branch].law, |(_, law)| law)
    }
}

/// Checks a whole network and lists its fuses.
pub(super) fn check_network(network: &Network) -> Result<Vec<(BranchId, f64)>, SolveError> {
    let mut fuses = Vec::new();
    for (index, branch) in network.branches.iter().enumerate() {
        let id = BranchId(index as u32);
        check_branch(network, id, (branch.from, branch.to), &branch.law)?;
        if let Law::Fuse { rated_amps, .. } = branch.law {
            fuses.push((id, rated_amps));
        }
    }
    let branches = network.branches.len() as u32;
    for (index, relay) in network.relays.iter().enumerate() {
        check_limits(index as u32, relay.pull_in_amps, relay.drop_out_amps)?;
        for &(branch, share) in &relay.windings {
            if branch.0 >= branches {
                return Err(SolveError::NoSuchBranch { branch: branch.0, branches });
            }
            if !share.is_finite() {
                let quantity = "winding share";
                return Err(SolveError::BadRelay { relay: index as u32, quantity, value: share });
            }
        }
    }
    Ok(fuses)
}

/// Checks one branch.
pub(super) fn check_branch(
    network: &Network,
    branch: BranchId,
    ends: (NodeId, NodeId),
    law: &Law,
) -> Result<(), SolveError> {
    check_ends(network, ends.0, ends.1)?;
    check_law(network, branch, law)
}

fn check_ends(network: &Network, from: NodeId, to: NodeId) -> Result<(), SolveError> {
    let nodes = network.nodes.max(1);
    let missing = [from, to].into_iter().find(|node| node.0 >= nodes);
    missing.map_or(Ok(()), |node| Err(SolveError::NoSuchNode { node: node.0, nodes }))
}

pub(super) fn check_law(network: &Network, branch: BranchId, law: &Law) -> Result<(), SolveError> {
    law::check(branch.0, law)?;
    let relays = network.relays.len() as u32;
    match *law {
        Law::Contact { relay, .. } if relay.0 >= relays => {
            Err(SolveError::NoSuchRelay { relay: relay.0, relays })
        }
        _ => Ok(()),
    }
}

fn check_limits(relay: u32, pull_in_amps: f64, drop_out_amps: f64) -> Result<(), SolveError> {
    for (quantity, value) in
        [("pull-in amperes", pull_in_amps), ("drop-out amperes", drop_out_amps)]
    {
        if value.is_nan() || value < 0.0 {
            return Err(SolveError::BadRelay { relay, quantity, value });
        }
    }
    Ok(())
}
