//! A case in which nothing bends and nothing moves otherwise than in the network without changes: one drive
//! on top of a kept solution.
//!
//! A reading is then the kept one plus the drive times an entry of a kept column.

use crate::electric::base::unit::Unit;
use crate::electric::base::values::Place;
use crate::electric::base::{Base, Column};
use crate::electric::changed::{Change, check_branch, check_law};
use crate::electric::law::{Form, Row};
use crate::electric::level::Level;
use crate::electric::network::{BranchId, Law, Network, NodeId};
use crate::electric::residual::{LEAST_SHARE, REACH_AMPS, REACH_VOLTS, TIGHT_AMPS};
use crate::electric::settle::State;

/// The last level with at most one branch changed.
#[derive(Debug, Clone)]
pub(in crate::electric) struct Straight<'solver> {
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

/// A change as far as it concerns one branch, which does not bend.
struct One {
    pub place: Place,
    pub line: Line,
    /// A fuse that is none any more.
    pub is_no_fuse: bool,
}

/// The line of a law that does not bend.
struct Line {
    /// Of a contact, closed.
    row: Row,
    /// Of a contact: its relay, and whether it rests closed.
    contact: Option<(usize, bool)>,
}

impl Line {
    fn of(law: &Law) -> Option<Line> {
        let row = Form::of(law, true).line()?;
        let contact = match *law {
            Law::Contact { relay, rests_closed, .. } => Some((relay.0 as usize, rests_closed)),
            _ => None,
        };
        Some(Line { row, contact })
    }

    pub fn row(&self, state: &State) -> Row {
        match self.contact {
            Some((relay, rests_closed)) if state.pulled[relay] == rests_closed => Row::OPEN,
            _ => self.row,
        }
    }
}

impl One {
    /// `None` for what is not allowed, bends, or cannot be told so.
    pub fn of(network: &Network, change: &Change) -> Option<One> {
        match change {
            Change::Law { branch, law } => {
                let was = &network.branches.get(branch.0 as usize)?.law;
                check_law(network, *branch, law).ok()?;
                let (place, line) = (Place::Branch(branch.0 as usize), Line::of(law)?);
                let rating = |law: &Law| match *law {
                    Law::Fuse { rated_amps, .. } => Some(rated_amps),
                    _ => None,
                };
                // What a new rating bears is not what is watched.
                let is_held = rating(law).is_none() || rating(law) == rating(was);
                let is_no_fuse = rating(was).is_some() && rating(law).is_none();
                is_held.then_some(One { place, line, is_no_fuse })
            }
            Change::Across { from, to, law } if !matches!(law, Law::Fuse { .. }) => {
                let next = BranchId(network.branches.len() as u32);
                check_branch(network, next, (*from, *to), law).ok()?;
                let place = Place::Pair(*from, *to);
                Some(One { place, line: Line::of(law)?, is_no_fuse: false })
            }
            _ => None,
        }
    }

    /// The port it is at a level, if that stays as it is.
    fn port<'solver>(&self, level: &'solver Level) -> Option<Port<'solver>> {
        let (base, row) = (&level.base, self.line.row(&level.state));
        if let Some(column) = base.kept(self.place) {
            let limits = column.limits.get_or_init(|| level.limits(self.place, column));
            let (drive, pivot) = drive(row, limits.rest, limits.unit)?;
            // What is watched of the branch itself no longer counts: its curve, or its fuse.
            let is_exempt = self.is_no_fuse || limits.rests;
            let (low, high) = if is_exempt { limits.others } else { limits.all };
            let holds = low <= drive && drive <= high && !limits.floats;
            let unit = Unit::Kept(Column::Kept(column));
            return holds.then_some(Port { place: self.place, row, unit, pivot, drive });
        }
        let port = self.asked(level, row)?;
        let except = match self.place {
            Place::Branch(branch) => {
                let rests = level.ports.resting.of_branch(branch).is_some();
                (self.is_no_fuse || rests).then_some(branch)
            }
            Place::Pair(..) => None,
        };
        let unknown =
            |unknown: usize| base.rest.all[unknown] + port.drive * port.unit.unknown(unknown);
        let holds =
            port.is_within_reach(base) && port.is_held(level, except) && level.shared_hold(unknown);
        holds.then_some(port)
    }

    /// The port of a network of which whole columns are not kept.
    fn asked<'solver>(&self, level: &'solver Level, row: Row) -> Option<Port<'solver>> {
        let (base, place) = (&level.base, self.place);
        if level.floats(base.ends(place)) {
            return None;
        }
        let unit = Unit::new(base, place);
        let (volts, mut amps) = unit.at(base, place);
        if matches!(place, Place::Pair(..)) {
            amps = 1.0;
        }
        let (drive, pivot) = drive(row, base.at(place, &base.rest.all), (volts, amps))?;
        Some(Port { place, row, unit, pivot, drive })
    }
}

/// The drive that puts a place on its line, and what a unit of it does to that line; `None` where an open branch
/// would carry something by rounding.
fn drive(row: Row, rest: (f64, f64), unit: (f64, f64)) -> Option<(f64, f64)> {
    let (drive, pivot) = (row.drive(rest, unit), row.pivot(unit));
    let is_tight = row != Row::OPEN || (rest.1 + drive * unit.1).abs() <= TIGHT_AMPS;
    is_tight.then_some((drive, pivot))
}

impl<'solver> Straight<'solver> {
    /// Goes through the levels; where one is left otherwise than by the network without changes, its position
    /// comes back.
    pub fn new(
        network: &Network,
        levels: &'solver [Level],
        changes: &[Change],
    ) -> Result<Self, usize> {
        let (last, before) = levels.split_last().ok_or(0_usize)?;
        let one = match changes {
            [] => None,
            [change] => Some(One::of(network, change).ok_or(0_usize)?),
            _ => return Err(0),
        };
        let holds = |level: &Level| {
            level.is_sure() && one.as_ref().is_none_or(|one| one.port(level).is_some())
        };
        if let Some(level) = before.iter().position(|level| !holds(level)) {
            return Err(level);
        }
        let level = before.len();
        if !last.is_sure() {
            return Err(level);
        }
        let port = match one {
            None => None,
            Some(one) => Some(one.port(last).ok_or(level)?),
        };
        Ok(Straight { level: last, port })
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
