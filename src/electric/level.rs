//! The network's own way to rest: the states it passes, each factored around its operating point.
//!
//! From rest, the most urgent armature moves; then that which is the most urgent in the new state, and so on.
//! (Of many that want to move, all do.) A change that leaves every watched branch within its bounds at each level
//! does as the network itself does, and ends in its last state.

mod limits;
pub(super) mod regions;
pub(super) mod resting;

use self::regions::Regions;
use self::regions::making::Guard;
use self::resting::{Known, Ports, Rester, TIE_AMPS};
use super::base::Base;
use super::base::span::{EVERYTHING, Limits, Span};
use super::base::values::{Place, Values, Watched};
use super::network::{BranchId, Network, NodeId, Relay};
use super::settle::{State, blow_amps, leaves, leaving, next_of};
use super::short::PerPort;

/// Bounds are drawn in by this share, so that what is near them is looked at closely.
const NEAR_SHARE: f64 = 1e-9;

/// Nothing is watched of a branch.
const NONE: u32 = u32::MAX;

/// A state on the way, and what must not happen there.
#[derive(Debug)]
pub(super) struct Level {
    pub base: Base,
    pub ports: Ports,
    pub state: State,
    /// The armatures that leave the state.
    pub leaving: Vec<usize>,
    /// Those of them that move first.
    pub moving: Vec<usize>,
    /// Within these nothing bends and all armatures and fuses decide as here, in the order of what the base
    /// watches.
    bounds: Vec<Span>,
    /// What is watched of a branch.
    of_branch: Vec<u32>,
    /// Armatures that no single winding decides.
    shared: Vec<Shared>,
    /// Ties of islands that go their own way even without a change.
    loose: Vec<Place>,
    /// Bounds are of use: a level that moves on has one behind it, and it rests if it does not.
    is_sure: bool,
}

/// What armatures do in the state of a level.
pub(super) enum Turn {
    /// None leaves it.
    Stay,
    /// Those that move next are those that do without changes.
    Next,
    /// Others move.
    Otherwise,
}

/// An armature that several windings move together.
#[derive(Debug)]
struct Shared {
    /// Unknowns, and the share of each in the pull.
    windings: Vec<(usize, f64)>,
    /// Of the pull: within these the armature decides as here.
    bounds: Span,
}

impl Shared {
    fn pull(&self, unknowns: &[f64]) -> f64 {
        self.windings.iter().map(|&(unknown, share)| share * unknowns[unknown]).sum()
    }
}

impl Level {
    /// A level that tells nothing but where to begin.
    pub fn blind(base: Base, ports: Ports, state: State) -> Level {
        Level {
            base,
            ports,
            state,
            leaving: Vec::new(),
            moving: Vec::new(),
            bounds: Vec::new(),
            of_branch: Vec::new(),
            shared: Vec::new(),
            loose: Vec::new(),
            is_sure: false,
        }
    }

    /// `base` is factored around the operating point of `state`.
    pub fn new(
        network: &Network,
        fuses: &[(BranchId, f64)],
        (base, ports): (Base, Ports),
        state: State,
    ) -> Level {
        let amps = |branch: BranchId| base.rest.all[base.layout.nodes + branch.0 as usize];
        let leaving = leaving(&network.relays, &state, |_| false, amps);
        let moving = next_of(&leaving).to_vec();
        let leaving = leaving.into_iter().map(|one| one.0).collect();
        let blind = Level::blind(base, ports, state);
        let mut level = Level { leaving, moving, is_sure: true, ..blind };
        level.watch(network, fuses);
        let in_turn = level.watch_turns(network);
        let ties = level.ports.resting.list().iter().zip(&level.base.rest.watched);
        let is_loose = |one: &(&Rester, &f64)| one.0.is_tie && one.1.abs() > TIE_AMPS;
        level.loose = ties.filter(is_loose).map(|one| one.0.place).collect();
        // An island with a source is on its tie from the start: then nothing is sure.
        level.is_sure = in_turn && level.rests_within();
        if level.base.has_paths() && level.is_sure {
            level.ports.known = Some(level.known(fuses));
        }
        level
    }

    fn known(&self, fuses: &[(BranchId, f64)]) -> Known {
        let (layout, rows) = (&self.base.layout, &self.base.rows);
        let conducts = |branch: &usize| rows[*branch].alpha != 0.0;
        let branches = (0..self.base.own).filter(conducts);
        let edges: Vec<(usize, usize)> = branches.map(|branch| layout.ends[branch]).collect();
        let guards = (0..self.bounds.len()).filter_map(|index| self.guard(index));
        // A state that moves on bounds no fuse; a case that stays in it does.
        let of_fuse = |&(fuse, rated_amps): &(BranchId, f64)| {
            let index = self.of_branch[fuse.0 as usize] as usize;
            self.guard_within(index, fuse_bounds(rated_amps))
        };
        let guards: Vec<Guard> = guards.chain(fuses.iter().filter_map(of_fuse)).collect();
        let amps = |fuse: BranchId| self.base.rest.all[layout.nodes + fuse.0 as usize];
        let blow = fuses.iter().filter(|(fuse, rated)| amps(*fuse).abs() > fuse_bounds(*rated).1);
        Known {
            regions: Regions::new(layout.nodes, &edges, &guards, |roots| self.under(roots)),
            pulled: self.state.pulled.to_vec(),
            leaving: self.leaving.clone(),
            overloaded: blow.map(|(fuse, _)| fuse.0).collect(),
        }
    }

    /// Volts of all nodes under an ampere into each of these and out of ground, the network's own sources aside.
    fn under(&self, nodes: &[u32]) -> Vec<f64> {
        let layout = &self.base.layout;
        let mut right = vec![0.0; layout.size()];
        for &node in nodes {
            right[node as usize] = 1.0;
        }
        let mut solution = self.base.solve(right);
        solution.truncate(layout.nodes);
        solution
    }

    /// The volts across its branch that bring a watched quantity to its nearer bound. None for ties, which
    /// are asked for when their island is touched, and for branches that carry nothing.
    fn guard(&self, index: usize) -> Option<Guard> {
        self.guard_within(index, self.bounds[index])
    }

    fn guard_within(&self, index: usize, (low, high): Span) -> Option<Guard> {
        let at = self.base.rest.watched[index];
        let least = f64::min(at - low, high - at);
        let (branch, per_volt) = match self.base.watched()[index] {
            Watched::Volts(branch) => (branch, 1.0),
            Watched::Amps(branch) => {
                let row = self.base.rows[branch];
                (branch, (row.alpha / row.beta).abs())
            }
        };
        let bears = branch < self.base.own && per_volt > 0.0 && least < f64::INFINITY;
        let volts = least.max(0.0) / per_volt;
        let ends = self.base.layout.ends[branch];
        let conducts = self.base.rows[branch].alpha != 0.0;
        bears.then_some(Guard { watched: index as u32, ends, volts, conducts })
    }

    fn watch(&mut self, network: &Network, fuses: &[(BranchId, f64)]) {
        let resting = self.ports.resting.list();
        self.of_branch = vec![NONE; network.branches.len()];
        for rester in resting {
            self.bounds.push(if rester.is_tie {
                (-TIE_AMPS, TIE_AMPS)
            } else if rester.reach_volts == 0.0 {
                EVERYTHING
            } else {
                (rester.at.0 - rester.reach_volts, rester.at.0 + rester.reach_volts)
            });
        }
        self.bounds.resize(self.base.watched().len(), EVERYTHING);
        for (index, watched) in self.base.watched().iter().enumerate() {
            if let Watched::Volts(branch) = *watched {
                self.of_branch[branch] = index as u32;
            }
        }
        let first = resting.len();
        for (index, watched) in self.base.watched().iter().enumerate().skip(first) {
            if let Watched::Amps(branch) = *watched {
                self.of_branch[branch] = index as u32;
            }
        }
        if self.leaving.is_empty() {
            for &(fuse, rated_amps) in fuses {
                self.bounds[self.of_branch[fuse.0 as usize] as usize] = fuse_bounds(rated_amps);
            }
        }
        for (index, relay) in network.relays.iter().enumerate() {
            match relay.windings[..] {
                [(branch, share)] if share != 0.0 => {
                    let at = self.of_branch[branch.0 as usize] as usize;
                    let amps = self.base.rest.all[self.base.layout.nodes + branch.0 as usize];
                    let bounds = self.pull_bounds(relay, index, share * amps);
                    let (one, other) = (bounds.0 / share, bounds.1 / share);
                    let before = self.bounds[at];
                    self.bounds[at] = (before.0.max(one.min(other)), before.1.min(one.max(other)));
                }
                _ => {
                    let unknown = |branch: BranchId| self.base.layout.nodes + branch.0 as usize;
                    let windings = relay.windings.iter().map(|&(one, share)| (unknown(one), share));
                    let mut shared = Shared { windings: windings.collect(), bounds: EVERYTHING };
                    let pull = shared.pull(&self.base.rest.all);
                    shared.bounds = self.pull_bounds(relay, index, pull);
                    self.shared.push(shared);
                }
            }
        }
    }

    /// Watches that the armature which moves first stays the most urgent one; `false` where that is no bound of
    /// a sum.
    fn watch_turns(&mut self, network: &Network) -> bool {
        let [first] = self.moving[..] else { return true };
        let others: Vec<usize> = self.leaving.iter().copied().filter(|&one| one != first).collect();
        let is_pulled = self.state.pulled[first];
        // Amperes of an armature over its limit, as what each winding adds to it.
        let weighed = |level: &Level, index: usize| -> Option<Shared> {
            let relay = &network.relays[index];
            let limit = if is_pulled { relay.drop_out_amps } else { relay.pull_in_amps };
            let unknown = |branch: BranchId| level.base.layout.nodes + branch.0 as usize;
            let windings = relay.windings.iter().map(|&(one, share)| (unknown(one), share / limit));
            let mut sum = Shared { windings: windings.collect(), bounds: EVERYTHING };
            if sum.pull(&level.base.rest.all) < 0.0 {
                sum.windings.iter_mut().for_each(|(_, share)| *share = -*share);
            }
            (limit > 0.0 && level.state.pulled[index] == is_pulled).then_some(sum)
        };
        for other in others {
            let (Some(one), Some(other)) = (weighed(self, first), weighed(self, other)) else {
                return false;
            };
            // An armature lets go the sooner the less holds it.
            let (more, less) = if is_pulled { (other, one) } else { (one, other) };
            let near = NEAR_SHARE * more.pull(&self.base.rest.all);
            let mut windings = more.windings;
            windings.extend(less.windings.into_iter().map(|(unknown, share)| (unknown, -share)));
            self.shared.push(Shared { windings, bounds: (-near, f64::INFINITY) });
        }
        true
    }

    /// Weighted amperes between which an armature decides as it does here, where it has `pull`.
    fn pull_bounds(&self, relay: &Relay, index: usize, pull: f64) -> Span {
        let pulled = self.state.pulled[index];
        if relay.stuck.is_some() {
            return EVERYTHING;
        }
        let limit = if pulled { relay.drop_out_amps } else { relay.pull_in_amps };
        if pulled == leaves(relay, pulled, pull.abs()) {
            // Weak, and it has to stay so.
            let most = limit * (1.0 - NEAR_SHARE);
            return (-most, most);
        }
        let least = limit * (1.0 + NEAR_SHARE);
        if limit == 0.0 {
            EVERYTHING
        } else if pull > 0.0 {
            (least, f64::INFINITY)
        } else {
            (f64::NEG_INFINITY, -least)
        }
    }

    /// Gives up what it knew, as it has no level behind it although it moves on.
    pub fn unsure(mut self) -> Level {
        self.is_sure = false;
        self
    }

    /// Ties of islands that go their own way even without a change, and of those that these nodes are on.
    pub fn ties_at(&self, ends: [usize; 2]) -> impl Iterator<Item = Place> {
        let resting = &self.ports.resting;
        let tie = |node: usize| Some(resting.get(resting.tie_at(NodeId(node as u32))?).place);
        ends.into_iter().filter_map(tie).chain(self.loose.iter().copied())
    }

    /// Whether bounds are of use at all, and then whether all is within them with no change.
    pub fn is_sure(&self) -> bool {
        self.is_sure
    }

    fn rests_within(&self) -> bool {
        let within = |bounds: &Span, value: f64| bounds.0 <= value && value <= bounds.1;
        let rest = &self.base.rest;
        self.bounds.iter().zip(&rest.watched).all(|(bounds, value)| within(bounds, *value))
            && self.shared.iter().all(|one| within(&one.bounds, one.pull(&rest.all)))
    }

    /// How much drive at a place leaves all as it is.
    pub fn limits(&self, place: Place, column: &Values) -> Limits {
        let own = match place {
            Place::Branch(branch) => self.of_branch.get(branch).copied(),
            Place::Pair(..) => None,
        };
        let own = own.filter(|&index| index != NONE).map(|index| index as usize);
        let rest = &self.base.rest.all;
        let shared = self.shared.iter();
        let shared = shared.map(|one| (one.bounds, one.pull(rest), one.pull(&column.all)));
        let limits = Limits::new(&self.base, (place, column), (&self.bounds, own), shared);
        let rests = match place {
            Place::Branch(branch) => self.ports.resting.of_branch(branch).is_some(),
            Place::Pair(..) => false,
        };
        Limits { floats: self.floats(self.base.ends(place)), rests, ..limits }
    }

    /// Whether one of two nodes is on an island that floats.
    pub fn floats(&self, ends: [usize; 2]) -> bool {
        let resting = &self.ports.resting;
        ends.into_iter().any(|node| resting.tie_at(NodeId(node as u32)).is_some())
    }

    /// Whether all that is watched stays within its bounds under a field with its sources at two nodes, of which single volts and amperes are told.
    ///
    /// `None` where all have to be looked at.
    pub fn holds_far(
        &self,
        seeds: [usize; 2],
        except: Option<usize>,
        mut moved: impl FnMut(usize) -> f64,
    ) -> Option<bool> {
        let regions = &self.ports.known.as_ref()?.regions;
        let except = except.map_or(NONE, |branch| self.of_branch[branch]) as usize;
        // Both ways of asking are needed at once, and each asks the same thing.
        let moved = std::cell::RefCell::new(&mut moved);
        let ask = |unknown: usize| (moved.borrow_mut())(unknown);
        let within = |index: usize| {
            let layout = &self.base.layout;
            let moved = match self.base.watched()[index] {
                Watched::Volts(branch) => {
                    let (from, to) = layout.ends[branch];
                    ask(from) - ask(to)
                }
                Watched::Amps(branch) => ask(layout.nodes + branch),
            };
            let value = self.base.rest.watched[index] + moved;
            value >= self.bounds[index].0 && value <= self.bounds[index].1 || index == except
        };
        Some(self.is_sure && regions.visit(&seeds, ask, within))
    }

    /// What the armatures of `relays` do in its state; those that stay are known.
    pub fn turn(
        &self,
        relays: &[Relay],
        stays: impl Fn(usize) -> bool,
        amps: impl Fn(BranchId) -> f64,
    ) -> Turn {
        let next = next_of(&leaving(relays, &self.state, stays, amps));
        if next.is_empty() {
            Turn::Stay
        } else if next[..] == self.moving {
            Turn::Next
        } else {
            Turn::Otherwise
        }
    }

    /// What rests here and is no port, but does not where this is watched of it, and these are its volts and
    /// amperes; `None` where a tie holds something, or nothing is known of what rests.
    pub fn stirred(
        &self,
        is_port: impl Fn(Place) -> bool,
        watched: impl Fn(usize) -> f64,
        at: impl Fn(Place) -> (f64, f64),
    ) -> Option<PerPort<usize>> {
        let resters = self.ports.resting.list();
        if self.bounds.len() < resters.len() {
            return None;
        }
        let mut stirred = PerPort::new();
        for (index, (bounds, rester)) in self.bounds.iter().zip(resters).enumerate() {
            let watched = watched(index);
            if bounds.0 <= watched && watched <= bounds.1 || is_port(rester.place) {
                continue;
            }
            if rester.is_stirred(&self.state, watched, || at(rester.place)) {
                if rester.is_tie {
                    return None;
                }
                stirred.push(index);
            }
        }
        Some(stirred)
    }

    /// Whether the armatures with several windings decide as here; `amps` tells unknowns.
    pub fn shared_hold(&self, amps: impl Fn(usize) -> f64) -> bool {
        self.shared.iter().all(|one| {
            let pull: f64 =
                one.windings.iter().map(|&(unknown, share)| share * amps(unknown)).sum();
            one.bounds.0 <= pull && pull <= one.bounds.1
        })
    }
}

/// Amperes between which a fuse stays whole.
fn fuse_bounds(rated_amps: f64) -> Span {
    let most = blow_amps(rated_amps) * (1.0 - NEAR_SHARE);
    (-most, most)
}
