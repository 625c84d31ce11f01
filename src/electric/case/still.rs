//! A case in which nothing bends and no fuse blows, though it is no straight one: an island that floats is touched,
//! or an armature stays that moves without the change.
//!
//! Its change is a drive on a kept column, as in a straight case, and so is each tie that lets go.

use super::straight::One;
use crate::electric::base::Base;
use crate::electric::base::values::{Place, Values};
use crate::electric::law::Row;
use crate::electric::level::{Level, Turn};
use crate::electric::linear::dense::Dense;
use crate::electric::network::{BranchId, NodeId};
use crate::electric::ready::Ready;
use crate::electric::residual::{REACH_AMPS, REACH_VOLTS, TIGHT_AMPS};
use crate::electric::settle::blows;

/// The change, and the ties of the islands at its two ends, or of one that has a source.
const MOST: usize = 3;

/// A network with one branch changed or added, at rest in the state of a level.
#[derive(Debug, Clone)]
pub(in crate::electric) struct Still<'solver> {
    pub level: &'solver Level,
    /// The changed branch first; so many as there are `drives`.
    ports: [Port<'solver>; MOST],
    count: usize,
}

/// A branch that is not as the level has it.
#[derive(Debug, Clone, Copy)]
struct Port<'solver> {
    place: Place,
    row: Row,
    column: &'solver Values,
    drive: f64,
}

impl<'solver> Still<'solver> {
    /// Goes on through the `levels` behind those that are left as without changes. `None` where a case is not of
    /// this kind.
    pub fn new(ready: &Ready, levels: &'solver [Level], one: &One) -> Option<Self> {
        for level in levels {
            // Had it come to rest there, without an island, it would be a straight one.
            let is_last = level.leaving.is_empty();
            if is_last && level.is_sure() && !level.floats(level.base.ends(one.place)) {
                return None;
            }
            let still = Still::at(level, one)?;
            let amps = |branch: BranchId| still.own_amps(branch);
            match level.turn(&ready.network.relays, |_| false, amps) {
                Turn::Next => {}
                Turn::Stay => {
                    let is_fuse = |fuse| !one.is_no_fuse || one.place != fuse;
                    let goes = |&(fuse, rated_amps): &(BranchId, f64)| {
                        is_fuse(Place::Branch(fuse.0 as usize)) && blows(amps(fuse), rated_amps)
                    };
                    return (!ready.fuses.iter().any(goes)).then_some(still);
                }
                Turn::Otherwise => return None,
            }
        }
        None
    }

    /// In the state of a level, if nothing leaves its tangent there.
    fn at(level: &'solver Level, one: &One) -> Option<Self> {
        let base = &level.base;
        if !level.ports.always.is_empty() {
            return None;
        }
        let port = |place, row| Some(Port { place, row, column: base.kept(place)?, drive: 0.0 });
        let first = port(one.place, one.line.row(&level.state))?;
        let (mut ports, mut count) = ([first; MOST], 1);
        for place in level.ties_at(base.ends(one.place)) {
            if ports[..count].iter().all(|port| port.place != place) {
                *ports.get_mut(count)? = port(place, Row::OPEN)?;
                count += 1;
            }
        }
        let mut still = Still { level, ports, count };
        (still.is_driven() && still.is_within_reach() && still.is_at_rest()).then_some(still)
    }

    fn base(&self) -> &'solver Base {
        &self.level.base
    }

    fn ports(&self) -> &[Port<'solver>] {
        &self.ports[..self.count]
    }

    /// Volts and amperes of a port under a unit of drive at another.
    fn moved(&self, port: usize, drive: usize) -> (f64, f64) {
        let place = self.ports[port].place;
        let (volts, amps) = self.base().at(place, &self.ports[drive].column.all);
        match place {
            Place::Branch(_) => (volts, amps),
            Place::Pair(..) => (volts, f64::from(u8::from(port == drive))),
        }
    }

    /// Brings every port onto its line; `false` where that cannot be trusted, or an open one would carry something
    /// by rounding.
    fn is_driven(&mut self) -> bool {
        let count = self.count;
        let mut moved = [(0.0, 0.0); MOST * MOST];
        let (mut rows, mut rests, mut wanted) = ([Row::OPEN; MOST], [0.0; MOST], [0.0; MOST]);
        for port in 0..count {
            for drive in 0..count {
                moved[port * count + drive] = self.moved(port, drive);
            }
            let Port { place, row, .. } = self.ports[port];
            let (volts, amps) = self.base().at(place, &self.base().rest.all);
            (rows[port], rests[port]) = (row, amps);
            wanted[port] = row.gamma - row.alpha * volts - row.beta * amps;
        }
        let mut dense = Dense::default();
        if !dense.factor(&rows[..count], &moved[..count * count]) {
            return false;
        }
        let drives = dense.solve(&wanted[..count]);
        for (port, drive) in self.ports.iter_mut().zip(&drives) {
            port.drive = *drive;
        }
        (0..count).all(|port| {
            let line = moved[port * count..(port + 1) * count].iter().zip(&drives);
            let amps = line.fold(rests[port], |sum, (moved, drive)| sum + drive * moved.1);
            drives[port].is_finite() && (rows[port] != Row::OPEN || amps.abs() <= TIGHT_AMPS)
        })
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

    /// Whether what rests at the level does so here too.
    fn is_at_rest(&self) -> bool {
        let rest = &self.base().rest;
        let watched = |index: usize| {
            let sum = |sum, port: &Port| sum + port.drive * port.column.watched[index];
            self.ports().iter().fold(rest.watched[index], sum)
        };
        let is_port = |place: Place| self.ports().iter().any(|port| port.place == place);
        self.level.rests(is_port, watched)
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
    fn what_bends_needs_one() {
        let ohms = |ohms: f64| Law::Resistor { ohms };
        check(ohms(20.0), put(0, Law::Source { volts: 9.0, ohms: 0.02 }), false, true);
        // A lamp that is not lit does not bend.
        check(ohms(20.0), put(0, Law::Source { volts: 2.0, ohms: 0.02 }), true, false);
    }
}
