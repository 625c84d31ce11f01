//! A case in which nothing bends and nothing moves otherwise than in the network without changes: one drive
//! on top of a kept solution.
//!
//! A reading is then the kept one plus the drive times an entry of a kept column.

use super::changed::{Change, check_branch, check_law};
use super::law::{Form, Row};
use super::level::Level;
use super::moves::Moves;
use super::network::{BranchId, Law, Network, NodeId};
use super::settle::State;
use super::update::{Base, Column, Place};

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
    column: Column<'solver>,
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
            if !straight.holds(network, except) {
                return Err(index);
            }
            if index + 1 == levels.len() {
                return Ok(straight);
            }
        }
        Err(0)
    }

    fn holds(&self, network: &Network, except: Option<usize>) -> bool {
        let level = self.level;
        let within = match &self.port {
            None => level.holds(&level.base.rest.watched, 0.0, None),
            Some(port) => {
                port.is_within_reach(&level.base)
                    && level.holds(&port.column.watched, port.drive, except)
            }
        };
        within && level.shared_hold(&network.relays, |branch| self.branch_amps(branch))
    }

    fn base(&self) -> &'solver Base {
        &self.level.base
    }

    fn unknown(&self, unknown: usize) -> f64 {
        let rest = self.base().rest.all[unknown];
        self.port.as_ref().map_or(rest, |port| rest + port.drive * port.column.all[unknown])
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
        let column = level.base.column(Place::Pair(from, to));
        let met = column.all[to.0 as usize] - column.all[from.0 as usize];
        let Some(port) = &self.port else { return (met > 0.0).then_some(met) };
        let (volts, amps) = level.base.at(port.place, &column.all);
        let drive = -(port.row.alpha * volts + port.row.beta * amps) / port.pivot(&level.base);
        let moved = &port.column.all;
        let ohms = met + drive * (moved[to.0 as usize] - moved[from.0 as usize]);
        (ohms >= LEAST_SHARE * met.abs()).then_some(ohms)
    }
}

impl Port<'_> {
    /// What a unit of drive does to its line.
    fn pivot(&self, base: &Base) -> f64 {
        let (volts, amps) = base.at(self.place, &self.column.all);
        let amps = if matches!(self.place, Place::Pair(..)) { 1.0 } else { amps };
        self.row.alpha * volts + self.row.beta * amps
    }

    fn is_within_reach(&self, base: &Base) -> bool {
        let (rest, drive) = (&base.rest, self.drive.abs());
        drive.is_finite()
            && rest.most_volts + drive * self.column.most_volts <= REACH_VOLTS
            && rest.most_amps + drive * self.column.most_amps <= REACH_AMPS
    }
}

/// One of the network's own branches by another law; `None` if that bends, or touches what floats.
fn own<'solver>(level: &'solver Level, branch: usize, law: &Law) -> Option<Port<'solver>> {
    let (from, to) = level.base.layout.ends[branch];
    port(level, Place::Branch(branch), [from, to], row(law, branch, &level.state)?)
}

/// One more branch.
fn added<'solver>(
    level: &'solver Level,
    from: NodeId,
    to: NodeId,
    law: &Law,
) -> Option<Port<'solver>> {
    let next = level.base.own;
    let ends = [from.0 as usize, to.0 as usize];
    port(level, Place::Pair(from, to), ends, row(law, next, &level.state)?)
}

/// The line of a law that does not bend.
fn row(law: &Law, branch: usize, state: &State) -> Option<Row> {
    match Moves::of(BranchId(branch as u32), law).form(state) {
        Form::Line(row) => Some(row),
        Form::Curve(..) => None,
    }
}

fn port(level: &Level, place: Place, ends: [usize; 2], row: Row) -> Option<Port<'_>> {
    let base = &level.base;
    let floats = |node: usize| level.ports.resting.tie_at(NodeId(node as u32)).is_some();
    if ends.into_iter().any(floats) {
        return None;
    }
    let column = base.column(place);
    let mut port = Port { place, row, column, drive: 0.0 };
    let (volts, amps) = base.at(place, &base.rest.all);
    port.drive = (row.gamma - row.alpha * volts - row.beta * amps) / port.pivot(base);
    let tight = || match place {
        Place::Branch(_) => {
            (amps + port.drive * base.at(place, &port.column.all).1).abs() <= TIGHT_AMPS
        }
        Place::Pair(..) => port.drive.abs() <= TIGHT_AMPS,
    };
    (row != Row::OPEN || tight()).then_some(port)
}

/// The branch, if what is watched of it no longer counts: its curve, or a fuse that is none any more.
fn exempt(network: &Network, level: &Level, branch: usize, law: &Law) -> Option<usize> {
    let was = &network.branches[branch].law;
    let no_fuse = matches!(was, Law::Fuse { .. }) && !matches!(law, Law::Fuse { .. });
    (no_fuse || level.ports.resting.of_branch(branch).is_some()).then_some(branch)
}
