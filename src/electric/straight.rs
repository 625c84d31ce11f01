//! A case in which nothing bends and nothing moves otherwise than in the network without changes: one drive
//! on top of a kept solution.
//!
//! A reading is then the kept one plus the drive times an entry of a kept column.

use super::changed::{Change, check_branch, check_law};
use super::law::Row;
use super::level::Level;
use super::limits::Limits;
use super::moves::Moves;
use super::network::{BranchId, Law, Network, NodeId};
use super::settle::State;
use super::unit::Unit;
use super::update::{Base, Place, Values};

/// Sums that stay below are right to a nanovolt.
pub(super) const REACH_VOLTS: f64 = 1e6;

/// Sums that stay below are right to a nanoampere.
pub(super) const REACH_AMPS: f64 = 1e6;

/// An open branch carries no more than this, whatever the rounding.
pub(super) const TIGHT_AMPS: f64 = 1e-10;

/// A resistance this small beside what it is a difference of has lost its digits.
pub(super) const LEAST_SHARE: f64 = 1e-10;

/// The last level with at most one branch changed.
#[derive(Debug, Clone)]
pub(super) struct Straight<'solver> {
    pub level: &'solver Level,
    port: Option<Port<'solver>>,
}

/// The branch that is changed or added.
#[derive(Debug, Clone)]
struct Port<'solver> {
    place: Place,
    row: Row,
    unit: Unit<'solver>,
    /// What a unit does to its line.
    pivot: f64,
    drive: f64,
}

/// A change as far as it concerns one branch, before it is known how that behaves.
enum Changed<'change> {
    Nothing,
    Law(usize, &'change Law),
    Across(NodeId, NodeId, &'change Law),
}

impl<'change> Changed<'change> {
    /// `None` for what changes more than one branch, or nothing that has one, or is not allowed.
    fn of(network: &Network, changes: &'change [Change]) -> Option<Self> {
        match changes {
            [] => Some(Changed::Nothing),
            [Change::Law { branch, law }] => {
                let index = branch.0 as usize;
                let known = index < network.branches.len();
                let is_good = known && check_law(network, *branch, law).is_ok();
                is_good.then_some(Changed::Law(index, law))
            }
            [Change::Across { from, to, law }] if !matches!(law, Law::Fuse { .. }) => {
                let next = BranchId(network.branches.len() as u32);
                let is_good = check_branch(network, next, (*from, *to), law).is_ok();
                is_good.then_some(Changed::Across(*from, *to, law))
            }
            _ => None,
        }
    }
}

impl<'solver> Straight<'solver> {
    /// Goes through the levels; where one is left otherwise than by the network without changes, its
    /// position comes back.
    pub fn new(
        network: &Network,
        levels: &'solver [Level],
        changes: &[Change],
    ) -> Result<Self, usize> {
        let changed = Changed::of(network, changes).ok_or(0_usize)?;
        for (index, level) in levels.iter().enumerate() {
            let (port, except) = match changed {
                Changed::Nothing => (None, None),
                Changed::Law(branch, law) => {
                    let port = own(level, branch, law).ok_or(index)?;
                    (Some(port), exempt(network, level, branch, law))
                }
                Changed::Across(from, to, law) => (added(level, from, to, law), None),
            };
            if port.is_none() && !matches!(changed, Changed::Nothing) {
                return Err(index);
            }
            let straight = Straight { level, port };
            if !straight.holds(except) {
                return Err(index);
            }
            if index + 1 == levels.len() {
                return Ok(straight);
            }
        }
        Err(0)
    }

    fn holds(&self, except: Option<usize>) -> bool {
        let level = self.level;
        let within = |port: &Port<'_>| match &port.unit {
            Unit::Kept(column) => {
                let limits = limits(level, port.place, column);
                let (low, high) = if except.is_some() { limits.others } else { limits.all };
                low <= port.drive && port.drive <= high
            }
            Unit::Asked(_) => {
                port.is_within_reach(&level.base)
                    && port.is_held(level, except)
                    && level.shared_hold(|unknown| self.unknown(unknown))
            }
        };
        level.is_sure() && self.port.as_ref().is_none_or(within)
    }

    fn base(&self) -> &'solver Base {
        &self.level.base
    }

    fn unknown(&self, unknown: usize) -> f64 {
        let rest = self.base().rest.all[unknown];
        self.port.as_ref().map_or(rest, |port| rest + port.drive * port.unit.unknown(unknown))
    }

    /// Volts of a node that the network has.
    pub fn node_volts(&self, node: NodeId) -> f64 {
        self.unknown(node.0 as usize)
    }

    /// Amperes of one of the network's own branches; none where it was opened.
    pub fn branch_amps(&self, branch: BranchId) -> f64 {
        let branch = branch.0 as usize;
        match &self.port {
            Some(port) if port.place == Place::Branch(branch) && port.row == Row::OPEN => 0.0,
            _ => self.unknown(self.base().layout.nodes + branch),
        }
    }

    /// Amperes of the added branch; none without.
    pub fn across_amps(&self) -> f64 {
        match &self.port {
            Some(Port { place: Place::Pair(..), row, drive, .. }) if *row != Row::OPEN => *drive,
            _ => 0.0,
        }
    }

    /// The slope between two nodes; `None` when it has to be found with more care.
    pub fn ohms(&self, from: NodeId, to: NodeId) -> Option<f64> {
        let level = self.level;
        if [from, to].into_iter().any(|node| level.ports.resting.tie_at(node).is_some()) {
            return None;
        }
        let unit = Unit::new(&level.base, Place::Pair(from, to));
        let (from, to) = (from.0 as usize, to.0 as usize);
        let met = unit.unknown(to) - unit.unknown(from);
        let Some(port) = &self.port else { return (met > 0.0).then_some(met) };
        let (volts, amps) = unit.at(&level.base, port.place);
        let drive = -(port.row.alpha * volts + port.row.beta * amps) / port.pivot;
        let ohms = met + drive * (port.unit.unknown(to) - port.unit.unknown(from));
        (ohms >= LEAST_SHARE * met.abs()).then_some(ohms)
    }
}

impl Port<'_> {
    fn is_within_reach(&self, base: &Base) -> bool {
        let (rest, drive) = (&base.rest, self.drive.abs());
        let (volts, amps) = self.unit.most(base, self.place);
        drive.is_finite()
            && rest.most_volts + drive * volts <= REACH_VOLTS
            && rest.most_amps + drive * amps <= REACH_AMPS
    }

    fn is_held(&self, level: &Level, except: Option<usize>) -> bool {
        let ends = level.base.ends(self.place);
        let moved = |unknown| self.drive * self.unit.unknown(unknown);
        // A tie or the like that has no place in a region: all would have to be looked at.
        level.holds_far(ends, except, moved).unwrap_or(false)
    }
}

/// One of the network's own branches by another law; `None` if that bends, or touches what floats.
fn own<'solver>(level: &'solver Level, branch: usize, law: &Law) -> Option<Port<'solver>> {
    port(level, Place::Branch(branch), row(law, branch, &level.state)?)
}

/// One more branch.
fn added<'solver>(
    level: &'solver Level,
    from: NodeId,
    to: NodeId,
    law: &Law,
) -> Option<Port<'solver>> {
    let next = level.base.own;
    port(level, Place::Pair(from, to), row(law, next, &level.state)?)
}

/// The line of a law that does not bend.
fn row(law: &Law, branch: usize, state: &State) -> Option<Row> {
    Moves::of(BranchId(branch as u32), law).form(state).line()
}

fn port(level: &Level, place: Place, row: Row) -> Option<Port<'_>> {
    let base = &level.base;
    let unit = Unit::new(base, place);
    let (floats, (volts, amps), (unit_volts, unit_amps)) = match &unit {
        Unit::Kept(column) => {
            let limits = limits(level, place, column);
            (limits.floats, limits.rest, limits.unit)
        }
        Unit::Asked(_) => {
            let (volts, amps) = unit.at(base, place);
            let amps = if matches!(place, Place::Pair(..)) { 1.0 } else { amps };
            (level.floats(base.ends(place)), base.at(place, &base.rest.all), (volts, amps))
        }
    };
    if floats {
        return None;
    }
    let pivot = row.alpha * unit_volts + row.beta * unit_amps;
    let drive = (row.gamma - row.alpha * volts - row.beta * amps) / pivot;
    let is_tight = row != Row::OPEN || (amps + drive * unit_amps).abs() <= TIGHT_AMPS;
    is_tight.then_some(Port { place, row, unit, pivot, drive })
}

fn limits<'column>(level: &Level, place: Place, column: &'column Values) -> &'column Limits {
    column.limits.get_or_init(|| level.limits(place, column))
}

/// The branch, if what is watched of it no longer counts: its curve, or a fuse that is none any more.
fn exempt(network: &Network, level: &Level, branch: usize, law: &Law) -> Option<usize> {
    let was = &network.branches[branch].law;
    let no_fuse = matches!(was, Law::Fuse { .. }) && !matches!(law, Law::Fuse { .. });
    (no_fuse || level.ports.resting.of_branch(branch).is_some()).then_some(branch)
}
