//! A case of one branch changed or added in which nothing moves but as in the network without it, and little bends.
//!
//! Its change is a drive on a kept column, as in a straight case, and so is each curve that leaves its tangent and
//! each tie that lets go.

mod bent;

use std::cell::OnceCell;

use super::lone::Lone;
use crate::electric::base::Base;
use crate::electric::base::values::{Place, Values};
use crate::electric::law::{Form, Row};
use crate::electric::level::{Level, Turn};
use crate::electric::linear::dense::Dense;
use crate::electric::network::{BranchId, NodeId};
use crate::electric::point::newton::CorePoint;
use crate::electric::point::on_core::Early;
use crate::electric::ready::Ready;
use crate::electric::residual::{LEAST_SHARE, REACH_AMPS, REACH_VOLTS};
use crate::electric::settle::blows;
use crate::electric::short::{PerPort, each};

/// The change, the curves it bends, and the ties of the islands that it touches.
const MOST: usize = 5;

/// A network with one branch changed or added, at rest in the state of a level.
#[derive(Debug, Clone)]
pub(in crate::electric) struct Still<'solver> {
    pub level: &'solver Level,
    /// The changed branch first.
    ports: [Port<'solver>; MOST],
    count: usize,
    /// The ports factored with their rows, once that is asked for.
    dense: OnceCell<Option<Box<Dense>>>,
}

/// A branch that is not as the level has it.
#[derive(Debug, Clone, Copy)]
struct Port<'solver> {
    place: Place,
    column: &'solver Values,
    /// Its line, or the tangent where it is.
    row: Row,
    /// Volts and amperes without any drive.
    rest: (f64, f64),
    /// Volts and amperes where it is.
    at: (f64, f64),
    drive: f64,
}

impl Port<'_> {
    /// Volts and amperes here, at the port of number `at`, under a unit of drive at another.
    fn moved_by(&self, at: usize, (drive, column): (usize, &Values), base: &Base) -> (f64, f64) {
        let (volts, amps) = base.at(self.place, &column.all);
        match self.place {
            Place::Branch(_) => (volts, amps),
            Place::Pair(..) => (volts, f64::from(u8::from(at == drive))),
        }
    }
}

impl<'solver> Still<'solver> {
    /// Goes on through the levels from `first`, behind those that are left as without the change. Where a case is
    /// not of this kind, the level comes back up to which it does as without, and its operating point there if it
    /// is known.
    pub fn new(
        ready: &'solver Ready,
        lone: &Lone,
        first: usize,
    ) -> Result<Box<Self>, (usize, Option<Early>)> {
        let level = ready.levels.get(first).ok_or((first, None))?;
        let column = level.base.kept(lone.place).ok_or((first, None))?;
        let (place, row, zero) = (lone.place, Row::OPEN, (0.0, 0.0));
        let none = Port { place, column, row, rest: zero, at: zero, drive: 0.0 };
        // Made where it stays, as it is large.
        let mut still =
            Box::new(Still { level, ports: [none; MOST], count: 0, dense: OnceCell::new() });
        for (index, level) in ready.levels.iter().enumerate().skip(first) {
            still.go_to(level, lone).ok_or((index, None))?;
            let amps = |branch: BranchId| still.own_amps(branch);
            match level.turn(&ready.network.relays, |_| false, amps) {
                Turn::Next if index + 1 < ready.levels.len() => {}
                Turn::Stay => {
                    let is_fuse = |fuse| !lone.is_no_fuse || lone.place != fuse;
                    let goes = |&(fuse, rated_amps): &(BranchId, f64)| {
                        is_fuse(Place::Branch(fuse.0 as usize)) && blows(amps(fuse), rated_amps)
                    };
                    let goes = ready.fuses.iter().any(goes);
                    return if goes { Err((index, still.early())) } else { Ok(still) };
                }
                Turn::Next | Turn::Otherwise => return Err((index, still.early())),
            }
        }
        Err((first, None))
    }

    /// The same for a core.
    fn early(&self) -> Option<Early> {
        let ports = &self.ports[..];
        let mut point = Box::new(CorePoint::default());
        point.lines = each(self.count, Row::OPEN, |port| ports[port].row);
        point.at = each(self.count, (0.0, 0.0), |port| ports[port].at);
        point.drives = each(self.count, 0.0, |port| ports[port].drive);
        point.dense = self.factored(&self.moved())?;
        let places = each(self.count, Place::Branch(0), |port| ports[port].place);
        Some(Early { places, point })
    }

    /// Settles in the state of a level.
    fn go_to(&mut self, level: &'solver Level, lone: &Lone) -> Option<()> {
        let base = &level.base;
        if !level.ports.always.is_empty() {
            return None;
        }
        (self.level, self.count) = (level, 0);
        let resting = &level.ports.resting;
        let mut forms = [&Form::OPEN; MOST];
        let rester = match lone.place {
            Place::Branch(branch) => resting.of_branch(branch),
            Place::Pair(..) => None,
        };
        let start = rester.map_or((0.0, 0.0), |index| resting.get(index).at);
        self.add(lone.place, start, &mut forms, lone.moves.form(&level.state))?;
        for place in level.ties_at(base.ends(lone.place)) {
            if !self.has(place) {
                self.add(place, (0.0, 0.0), &mut forms, &Form::OPEN)?;
            }
        }
        loop {
            self.settle(&forms)?;
            let stirred = level.stirred(
                |place| self.has(place),
                |index| self.sum(base.rest.watched[index], |column| column.watched[index]),
                |place| self.volts_and_amps(place),
            )?;
            if stirred.is_empty() {
                return self.is_within_reach().then_some(());
            }
            for index in stirred {
                let rester = resting.get(index);
                // A tie of its island would be a port as well.
                if level.floats(base.ends(rester.place)) {
                    return None;
                }
                self.add(rester.place, rester.at, &mut forms, rester.moves.form(&level.state))?;
            }
        }
    }

    /// One more port, with its form behind the others; `None` where there is no room.
    fn add<'form>(
        &mut self,
        place: Place,
        at: (f64, f64),
        forms: &mut [&'form Form; MOST],
        form: &'form Form,
    ) -> Option<()> {
        *forms.get_mut(self.count)? = form;
        let base = self.base();
        let (column, rest) = (base.kept(place)?, base.at(place, &base.rest.all));
        self.ports[self.count] = Port { place, column, row: Row::OPEN, rest, at, drive: 0.0 };
        self.count += 1;
        Some(())
    }

    fn has(&self, place: Place) -> bool {
        self.ports().iter().any(|port| port.place == place)
    }

    fn base(&self) -> &'solver Base {
        &self.level.base
    }

    fn ports(&self) -> &[Port<'solver>] {
        &self.ports[..self.count]
    }

    /// Whether everything stayed so small that neither its rounding nor its bounds need a look.
    fn is_within_reach(&self) -> bool {
        let rest = &self.base().rest;
        let sum = self.ports().iter().fold((rest.most_volts, rest.most_amps), |sum, port| {
            let (column, drive) = (port.column, port.drive.abs());
            (sum.0 + drive * column.most_volts, sum.1 + drive * column.most_amps)
        });
        sum.0 <= REACH_VOLTS && sum.1 <= REACH_AMPS
    }

    /// A value with what each drive adds to it.
    fn sum(&self, alone: f64, one: impl Fn(&Values) -> f64) -> f64 {
        self.ports().iter().fold(alone, |sum, port| sum + port.drive * one(port.column))
    }

    fn volts_and_amps(&self, place: Place) -> (f64, f64) {
        let base = self.base();
        self.ports().iter().fold(base.at(place, &base.rest.all), |sum, port| {
            let (volts, amps) = base.at(place, &port.column.all);
            (sum.0 + port.drive * volts, sum.1 + port.drive * amps)
        })
    }

    fn unknown(&self, unknown: usize) -> f64 {
        let moved = self.ports().iter().filter(|port| port.drive != 0.0);
        moved.fold(self.base().rest.all[unknown], |sum, port| {
            sum + port.drive * port.column.all[unknown]
        })
    }

    /// Volts of a node that the network has.
    pub fn node_volts(&self, node: NodeId) -> f64 {
        self.unknown(node.0 as usize)
    }

    fn own_amps(&self, branch: BranchId) -> f64 {
        self.unknown(self.base().layout.nodes + branch.0 as usize)
    }

    /// Amperes of one of the network's own branches; none where it was opened.
    pub fn branch_amps(&self, branch: BranchId) -> f64 {
        let first = &self.ports[0];
        if first.place == Place::Branch(branch.0 as usize) && first.row == Row::OPEN {
            return 0.0;
        }
        self.own_amps(branch)
    }

    /// Amperes of the added branch; none without.
    pub fn across_amps(&self) -> f64 {
        match self.ports[0] {
            Port { place: Place::Pair(..), row, drive, .. } if row != Row::OPEN => drive,
            _ => 0.0,
        }
    }

    /// The slope between two nodes; `None` when it has to be found with more care.
    pub fn ohms(&self, from: NodeId, to: NodeId) -> Option<f64> {
        let resting = &self.level.ports.resting;
        if [from, to].into_iter().any(|node| resting.tie_at(node).is_some()) {
            return None;
        }
        let column = self.base().kept(Place::Pair(from, to))?;
        let right: PerPort<f64> = each(self.count, 0.0, |port| {
            let Port { place, row, .. } = self.ports[port];
            let (volts, amps) = self.base().at(place, &column.all);
            -row.alpha * volts - row.beta * amps
        });
        let dense = self.dense.get_or_init(|| self.factored(&self.moved()).map(Box::new));
        let drives = dense.as_ref()?.solve(&right);
        let (from, to) = (from.0 as usize, to.0 as usize);
        let between = |values: &Values| values.all[to] - values.all[from];
        let met = between(column);
        let answered = self.ports().iter().zip(&drives);
        let ohms = answered.fold(met, |sum, (port, drive)| sum + drive * between(port.column));
        (ohms >= LEAST_SHARE * met.abs()).then_some(ohms)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::electric::changed::Change;
    use crate::electric::network::{Branch, GROUND, Law, Network, Relay, RelayId};
    use crate::electric::solver::Solver;

    /// A battery, a coil behind a wire (branches 1 and 2) whose contact feeds a lamp, and two branches that touch
    /// nothing else, the second of them as told.
    fn network(other: Law) -> Network {
        let ohms = |ohms: f64| Law::Resistor { ohms };
        let branches = [
            (1, 0, Law::Source { volts: 12.6, ohms: 0.02 }),
            (1, 2, ohms(0.01)),
            (2, 0, ohms(80.0)),
            (1, 3, Law::Contact { ohms: 0.001, relay: RelayId(0), rests_closed: false }),
            (3, 0, Law::Lamp { volts: 12.0, watts: 21.0 }),
            (4, 5, ohms(10.0)),
            (4, 5, other),
        ];
        let branch = |(from, to, law)| Branch { from: NodeId(from), to: NodeId(to), law };
        let relay = Relay {
            windings: vec![(BranchId(2), 1.0)],
            pull_in_amps: 0.1,
            drop_out_amps: 0.04,
            stuck: None,
        };
        Network { nodes: 6, branches: branches.map(branch).into(), relays: vec![relay] }
    }

    #[track_caller]
    fn check(other: Law, change: Change, is_still: bool, is_pulled: bool) {
        let network = network(other);
        let solver = Solver::new(&network).unwrap();
        let case = solver.case(std::slice::from_ref(&change)).unwrap();
        let whole = solver.whole_case(&[change]).unwrap();
        assert_eq!((case.is_still(), case.is_straight()), (is_still, false));
        assert_eq!(case.pulled(RelayId(0)), is_pulled);
        assert_eq!(whole.pulled(RelayId(0)), is_pulled);
        let near = |one: f64, other: f64, most: f64| {
            assert!((one - other).abs() <= most, "{one} and {other}");
        };
        let same = |one: f64, other: f64| near(one, other, 1e-6);
        for node in (0..network.nodes).map(NodeId) {
            // The level of an island is known to a millivolt.
            let most = if node.0 < 4 { 1e-6 } else { 1e-3 };
            near(case.node_volts(node), whole.node_volts(node), most);
        }
        for branch in (0..8).map(BranchId) {
            same(case.branch_amps(branch), whole.branch_amps(branch));
        }
        same(case.thevenin(NodeId(2), GROUND).1, whole.thevenin(NodeId(2), GROUND).1);
    }

    fn put(branch: u32, law: Law) -> Change {
        Change::Law { branch: BranchId(branch), law }
    }

    #[test]
    fn an_armature_that_stays_and_an_island_need_no_core() {
        let ohms = |ohms: f64| Law::Resistor { ohms };
        check(ohms(20.0), put(1, Law::Open), true, false);
        check(ohms(20.0), put(1, ohms(300.0)), true, false);
        check(ohms(20.0), put(5, Law::Open), true, true);
        let bridge = |law| Change::Across { from: NodeId(5), to: NodeId(2), law };
        check(ohms(20.0), bridge(ohms(50.0)), true, true);
        let source = Law::Source { volts: 3.0, ohms: 1.0 };
        check(source, put(1, ohms(0.5)), true, true);
        check(source, put(5, ohms(4.0)), true, true);
        check(source, bridge(ohms(50.0)), true, true);
    }

    #[test]
    fn what_bends_needs_none_while_nothing_moves_otherwise() {
        let ohms = |ohms: f64| Law::Resistor { ohms };
        let lamp = Law::Lamp { volts: 12.0, watts: 21.0 };
        let battery = |volts: f64| Law::Battery { volts, ohms: 0.05, charge_ohms: 0.1 };
        check(ohms(20.0), put(0, Law::Source { volts: 9.0, ohms: 0.02 }), true, true);
        check(ohms(20.0), put(0, battery(10.0)), true, true);
        check(ohms(20.0), put(4, lamp.behind(5.0).unwrap()), true, true);
        check(ohms(20.0), put(1, lamp), true, true);
        // A lamp that is not lit does not bend.
        check(ohms(20.0), put(0, Law::Source { volts: 2.0, ohms: 0.02 }), true, false);
        // A second lamp beside the first, and one from an island to ground.
        let added = |from| Change::Across { from: NodeId(from), to: GROUND, law: lamp };
        check(ohms(20.0), added(3), true, true);
        check(ohms(20.0), added(5), true, true);
    }

    #[test]
    fn what_an_armature_does_otherwise_goes_on_from_there_on_a_core() {
        let ohms = |ohms: f64| Law::Resistor { ohms };
        // The lamp pulls the battery so far down that the coil lets go again.
        let law = Law::Source { volts: 9.0, ohms: 0.5 };
        let mut network = network(ohms(20.0));
        network.relays[0].drop_out_amps = 0.105;
        let solver = Solver::new(&network).unwrap();
        let change = put(0, law);
        let case = solver.case(std::slice::from_ref(&change)).unwrap();
        let whole = solver.whole_case(&[change]).unwrap();
        assert!(!case.is_still() && !case.is_straight());
        assert_eq!(case.steadiness(), whole.steadiness());
        assert!(case.steadiness().chatters());
        let volts = |case: &crate::electric::Case<'_>| case.node_volts(NodeId(3));
        assert!((volts(&case) - volts(&whole)).abs() < 1e-6);
    }
}
