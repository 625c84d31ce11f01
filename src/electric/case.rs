//! A case of a network: settled, ready to be asked and to have testers put across it.

pub(super) mod full;
mod loaded;
mod lone;
mod response;
pub(super) mod still;
pub(super) mod straight;

use std::cell::OnceCell;

use self::full::{Full, settle_case};
use self::lone::Lone;
use self::still::Still;
use self::straight::Straight;
use super::changed::Change;
use super::error::SolveError;
use super::network::{BranchId, Law, NodeId, RelayId};
use super::ready::Ready;
use super::sensitivity::Sensitivity;
use super::settle::Steadiness;

/// A network with changes made, settled.
///
/// While relays chatter, volts and amperes are the mean over the states of the cycle, which is what a
/// lamp's eye and a meter's needle make of it.
#[derive(Debug, Clone)]
pub struct Case<'solver> {
    ready: &'solver Ready,
    way: Way<'solver>,
}

/// How it was found.
#[derive(Debug, Clone)]
enum Way<'solver> {
    Straight(Straight<'solver>, Later<'solver>),
    /// Boxed, as it is larger than what nearly all others need.
    Still(Box<Still<'solver>>, Later<'solver>),
    Full(Box<Full<'solver>>),
}

/// The same the long way, for what a short one cannot tell.
#[derive(Debug, Clone)]
struct Later<'solver> {
    change: Option<Change>,
    full: OnceCell<Option<Box<Full<'solver>>>>,
}

/// What a tester does when it is put across two nodes.
#[derive(Debug, Clone, PartialEq)]
pub struct Load {
    /// Volts across the tester, first node over second.
    pub volts: f64,
    /// Amperes through the tester, first node to second.
    pub amps: f64,
    /// How the network ended up with it.
    pub steadiness: Steadiness,
    /// Relays that moved for the tester, or chatter with it.
    pub moved_relays: Vec<RelayId>,
    /// Fuses that blew for the tester; its own, if it has one, comes as the branch after the last.
    pub blown: Vec<BranchId>,
}

impl<'solver> Case<'solver> {
    /// Settles the network with changes made.
    pub(super) fn new(ready: &'solver Ready, changes: &[Change]) -> Result<Self, SolveError> {
        match Straight::new(&ready.network, &ready.levels, changes) {
            Ok(found) => {
                let later = Later { change: changes.first().copied(), full: OnceCell::new() };
                Ok(Case { ready, way: Way::Straight(found, later) })
            }
            Err(left) => Case::long(ready, changes, left),
        }
    }

    /// From the level on at which something is otherwise than without changes.
    // Beside it, the straight way has few instructions.
    #[inline(never)]
    fn long(ready: &'solver Ready, changes: &[Change], left: usize) -> Result<Self, SolveError> {
        let still = Lone::of(&ready.network, changes).map(|lone| Still::new(ready, &lone, left));
        let begin = match still {
            None => (left, None),
            Some(Err(begin)) => begin,
            Some(Ok(found)) => {
                let later = Later { change: changes.first().copied(), full: OnceCell::new() };
                return Ok(Case { ready, way: Way::Still(found, later) });
            }
        };
        let full = settle_case(&ready.levels, begin, ready.changed(changes)?)?;
        Ok(Case { ready, way: Way::Full(full) })
    }

    /// A case that was settled the long way.
    #[cfg(test)]
    pub(super) fn of_full(ready: &'solver Ready, full: Box<Full<'solver>>) -> Self {
        Case { ready, way: Way::Full(full) }
    }

    /// The same, found the long way.
    fn settled(&self) -> Result<Box<Full<'solver>>, SolveError> {
        let later = match &self.way {
            Way::Full(full) => return Ok(full.clone()),
            Way::Straight(_, later) | Way::Still(_, later) => later,
        };
        settle_case(&self.ready.levels, (0, None), self.ready.changed(later.change.as_slice())?)
    }

    fn full(&self) -> Option<&Full<'solver>> {
        match &self.way {
            Way::Full(full) => Some(full),
            Way::Straight(_, later) | Way::Still(_, later) => {
                later.full.get_or_init(|| self.settled().ok()).as_deref()
            }
        }
    }

    /// Volts of a node over ground; zero for a node the network does not have.
    pub fn node_volts(&self, node: NodeId) -> f64 {
        match &self.way {
            Way::Straight(found, _) if self.has(node) => found.node_volts(node),
            Way::Still(found, _) if self.has(node) => found.node_volts(node),
            Way::Straight(..) | Way::Still(..) => 0.0,
            Way::Full(full) => full.node_volts(node),
        }
    }

    fn has(&self, node: NodeId) -> bool {
        node.0 < self.ready.network.nodes.max(1)
    }

    /// Amperes of a branch, first node to second; added branches count on after the network's own. Zero
    /// for a branch the network does not have.
    pub fn branch_amps(&self, branch: BranchId) -> f64 {
        let own = self.ready.network.branches.len();
        match (&self.way, (branch.0 as usize).checked_sub(own)) {
            (Way::Straight(found, _), None) => found.branch_amps(branch),
            (Way::Still(found, _), None) => found.branch_amps(branch),
            (_, Some(n)) => self.across_amps(n),
            (Way::Full(full), _) => full.branch_amps(branch),
        }
    }

    /// Amperes of the `n`-th `Change::Across`, counted from zero.
    pub fn across_amps(&self, n: usize) -> f64 {
        match &self.way {
            Way::Straight(found, _) if n == 0 => found.across_amps(),
            Way::Still(found, _) if n == 0 => found.across_amps(),
            Way::Straight(..) | Way::Still(..) => 0.0,
            Way::Full(full) => full.across_amps(n),
        }
    }

    /// The relay is pulled for good; one that chatters is not.
    pub fn pulled(&self, relay: RelayId) -> bool {
        let level = match &self.way {
            Way::Straight(found, _) => found.level,
            Way::Still(found, _) => found.level,
            Way::Full(full) => return full.pulled(relay),
        };
        level.state.pulled.get(relay.0 as usize) == Some(&true)
    }

    /// Between how many volts those of `from` over `to` swing while relays chatter: the greatest over the
    /// states of the cycle less the least. None while nothing moves.
    pub fn swing(&self, from: NodeId, to: NodeId) -> f64 {
        match &self.way {
            Way::Straight(..) | Way::Still(..) => 0.0,
            Way::Full(full) => full.swing(from, to),
        }
    }

    /// Whether it came to rest.
    pub fn steadiness(&self) -> &Steadiness {
        match &self.way {
            Way::Straight(..) | Way::Still(..) => &Steadiness::Steady,
            Way::Full(full) => full.steadiness(),
        }
    }

    /// Nothing bends and nothing moves for the changes: relays do as in the network without them, no fuse
    /// blows, and every lamp, diode and motor stays on the tangent it has there.
    pub fn is_straight(&self) -> bool {
        matches!(self.way, Way::Straight(..))
    }

    /// Found without a core, though it is no straight one.
    #[cfg(test)]
    pub(super) fn is_still(&self) -> bool {
        matches!(self.way, Way::Still(..))
    }

    /// Fuses that blew on the way, in that order.
    pub fn blown(&self) -> &[BranchId] {
        match &self.way {
            Way::Straight(..) | Way::Still(..) => &[],
            Way::Full(full) => full.blown(),
        }
    }

    /// Volts and ohms a small tester sees between two nodes, at the operating point: open-circuit volts of
    /// `from` over `to`, and the slope there. While relays chatter, the mean of each over the cycle.
    /// Nothing and no ohms for nodes the network does not have.
    pub fn thevenin(&self, from: NodeId, to: NodeId) -> (f64, f64) {
        let ohms = match &self.way {
            _ if !self.has(from) || !self.has(to) => None,
            Way::Straight(found, _) => found.ohms(from, to),
            Way::Still(found, _) => found.ohms(from, to),
            Way::Full(_) => None,
        };
        if let Some(ohms) = ohms {
            return (self.node_volts(from) - self.node_volts(to), ohms);
        }
        self.full().map_or((0.0, 0.0), |full| full.thevenin(from, to))
    }

    /// What the volts of `from` over `to` owe to each branch. `None` for nodes the network does not have.
    ///
    /// Costs about as much as a column of the inverse; what is then asked of it costs nothing.
    pub fn sensitivity(&self, from: NodeId, to: NodeId) -> Option<Sensitivity<'_>> {
        self.full()?.sensitivity(from, to)
    }

    /// A tester put across two nodes: everything settles again from the present state, relays keeping
    /// their hysteresis and fuses staying blown. While relays chatter, from one state of their cycle.
    pub fn with_load(&self, from: NodeId, to: NodeId, law: &Law) -> Result<Load, SolveError> {
        match self.full() {
            Some(full) => full.with_load(from, to, law),
            None => self.settled()?.with_load(from, to, law),
        }
    }

    /// The worst error of Kirchhoff's current law over all nodes, amperes.
    pub fn residual_amps(&self) -> f64 {
        self.full().map_or(0.0, Full::residual_amps)
    }

    /// How far the volts of a node may be off, from what is left over in the equations: the worst of all
    /// nodes. A floating island without a way to ground has the largest, as only its leak holds it.
    pub fn error_volts(&self) -> f64 {
        self.full().map_or(0.0, Full::error_volts)
    }
}
