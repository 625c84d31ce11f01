//! The network's own way to rest: the states it passes, each factored around its operating point.
//!
//! From rest, all armatures that want to move do; then those that want to in the new state, and so on. A
//! change that leaves every watched branch within its bounds at each level does as the network itself does,
//! and ends in its last state.

use super::network::{BranchId, Network, Relay};
use super::regions::{Guard, Regions};
use super::resting::{Ports, TIE_AMPS};
use super::settle::{State, blow_amps, leaves, leaving};
use super::update::{Base, Watched};

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
    /// Within these nothing bends and all armatures and fuses decide as here, in the order of what the base
    /// watches.
    bounds: Vec<(f64, f64)>,
    /// What is watched of a branch.
    of_branch: Vec<u32>,
    /// Armatures that no single winding decides.
    shared: Vec<usize>,
    /// Of a large network: where to look.
    regions: Option<Regions>,
    /// Bounds are of use: a level that moves on has one behind it, and it rests if it does not.
    is_sure: bool,
}

impl Level {
    /// A level that tells nothing but where to begin.
    pub fn blind(base: Base, ports: Ports, state: State) -> Level {
        Level {
            base,
            ports,
            state,
            leaving: Vec::new(),
            bounds: Vec::new(),
            of_branch: Vec::new(),
            shared: Vec::new(),
            regions: None,
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
        let leaving = leaving(&network.relays, &state, amps);
        let mut level = Level { leaving, is_sure: true, ..Level::blind(base, ports, state) };
        level.watch(network, fuses);
        // An island with a source is on its tie from the start: then nothing is sure.
        level.is_sure = level.holds(&level.base.rest.watched, 0.0, None);
        if level.base.has_paths() {
            level.regions = Some(level.find_regions());
        }
        level
    }

    fn find_regions(&self) -> Regions {
        let (layout, rows) = (&self.base.layout, &self.base.rows);
        let conducts = |branch: &usize| rows[*branch].alpha != 0.0;
        let branches = (0..self.base.own).filter(conducts);
        let edges: Vec<(usize, usize)> = branches.map(|branch| layout.ends[branch]).collect();
        let guards: Vec<Guard> =
            (0..self.bounds.len()).filter_map(|index| self.guard(index)).collect();
        Regions::new(layout.nodes, &edges, &guards)
    }

    /// The volts across its branch that bring a watched quantity to its nearer bound. None for ties, which
    /// are asked for when their island is touched, and for branches that carry nothing.
    fn guard(&self, index: usize) -> Option<Guard> {
        let (low, high) = self.bounds[index];
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
        bears.then_some(Guard { watched: index as u32, ends, volts })
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
                let most = blow_amps(rated_amps) * (1.0 - NEAR_SHARE);
                self.bounds[self.of_branch[fuse.0 as usize] as usize] = (-most, most);
            }
        }
        for (index, relay) in network.relays.iter().enumerate() {
            match relay.windings[..] {
                [(branch, share)] if share != 0.0 => {
                    let at = self.of_branch[branch.0 as usize] as usize;
                    let bounds = self.winding_bounds(relay, index, (branch, share));
                    let before = self.bounds[at];
                    self.bounds[at] = (before.0.max(bounds.0), before.1.min(bounds.1));
                }
                _ => self.shared.push(index),
            }
        }
    }

    /// Amperes of its one winding between which an armature decides as it does here.
    fn winding_bounds(
        &self,
        relay: &Relay,
        index: usize,
        (branch, share): (BranchId, f64),
    ) -> (f64, f64) {
        let pulled = self.state.pulled[index];
        let amps = self.base.rest.all[self.base.layout.nodes + branch.0 as usize];
        let decides = leaves(relay, pulled, (share * amps).abs());
        if relay.stuck.is_some() {
            return EVERYTHING;
        }
        let limit = if pulled { relay.drop_out_amps } else { relay.pull_in_amps } / share.abs();
        if pulled == decides {
            // Weak, and it has to stay so.
            let most = limit * (1.0 - NEAR_SHARE);
            return (-most, most);
        }
        let least = limit * (1.0 + NEAR_SHARE);
        if limit == 0.0 {
            EVERYTHING
        } else if amps > 0.0 {
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

    /// Whether all that is watched stays within its bounds, under a drive on top of the solution without;
    /// but for what is watched of the branch `except`.
    pub fn holds(&self, moved: &[f64], drive: f64, except: Option<usize>) -> bool {
        let except = except.map_or(NONE, |branch| self.of_branch[branch]) as usize;
        let rest = &self.base.rest.watched;
        let mut looks = self.bounds.iter().zip(rest.iter().zip(moved)).enumerate();
        self.is_sure
            && looks.all(|(index, (bounds, (rest, moved)))| {
                let value = rest + drive * moved;
                value >= bounds.0 && value <= bounds.1 || index == except
            })
    }

    /// The same for a field with its sources at two nodes, of which single volts and amperes are told.
    ///
    /// `None` where all have to be looked at.
    pub fn holds_far(
        &self,
        seeds: [usize; 2],
        except: Option<usize>,
        mut moved: impl FnMut(usize) -> f64,
    ) -> Option<bool> {
        let regions = self.regions.as_ref()?;
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

    /// Whether the armatures with several windings decide as here.
    pub fn shared_hold(&self, relays: &[Relay], amps: impl Fn(BranchId) -> f64) -> bool {
        self.shared.iter().all(|&index| {
            let relay = &relays[index];
            let sum: f64 = relay.windings.iter().map(|&(branch, share)| share * amps(branch)).sum();
            leaves(relay, self.state.pulled[index], sum.abs()) == self.leaving.contains(&index)
        })
    }
}

const EVERYTHING: (f64, f64) = (f64::NEG_INFINITY, f64::INFINITY);
