//! Relays move and fuses blow until nothing moves any more, or everything repeats itself.

use super::equations::Unknowns;
use super::error::SolveError;
use super::law::BLOW_FACTOR;
use super::network::{Branch, BranchId, Law, Relay, RelayId};
use super::newton::{Operating, operate};

/// Moves before giving up; far above what a machine's relays can do without repeating themselves.
const MOST_MOVES: u32 = 2000;

/// How a network ended up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Steadiness {
    /// Nothing moves any more.
    Steady,
    /// No state lasts: these relays pull in and drop out without end. A weak battery under a starter
    /// does this: pulled in, its volts sag and the relay drops out; dropped out, they recover.
    Chatters {
        /// Those that move, in the order of the network.
        relays: Vec<RelayId>,
    },
}

/// The network to be settled, all changes made.
#[derive(Debug, Clone)]
pub(super) struct Plant {
    pub nodes: u32,
    pub branches: Vec<Branch>,
    pub relays: Vec<Relay>,
}

/// What moves: armatures and fuses.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct State {
    pub pulled: Vec<bool>,
    /// In the order they blew.
    pub blown: Vec<BranchId>,
}

/// A settled network: the states it stays in, a single one when it is steady.
#[derive(Debug, Clone)]
pub(super) struct Settled {
    pub cycle: Vec<(State, Operating)>,
}

impl Plant {
    /// Relays released, fuses whole; what is stuck stays where it is.
    pub fn rest(&self) -> State {
        State {
            pulled: self.relays.iter().map(|relay| relay.stuck == Some(true)).collect(),
            blown: Vec::new(),
        }
    }

    fn closed(&self, state: &State) -> Vec<bool> {
        let conducts = |(index, branch): (usize, &Branch)| match branch.law {
            Law::Contact { relay, rests_closed, .. } => {
                state.pulled[relay.0 as usize] != rests_closed
            }
            Law::Fuse { .. } => !state.blown.contains(&BranchId(index as u32)),
            _ => true,
        };
        self.branches.iter().enumerate().map(conducts).collect()
    }
}

/// Settles from `state`, one move at a time: the armature furthest beyond its limit moves first, as it
/// would be the quickest; a fuse blows only once no armature moves, as it takes its time.
pub(super) fn settle(
    plant: &Plant,
    state: State,
    start: Option<&Unknowns>,
) -> Result<Settled, SolveError> {
    let mut past: Vec<(State, Operating)> = Vec::new();
    let mut state = state;
    for _ in 0..MOST_MOVES {
        if let Some(first) = past.iter().position(|(before, _)| *before == state) {
            let cycle = past.split_off(first);
            let Some(fuse) = overloaded(plant, &cycle) else { return Ok(Settled { cycle }) };
            state.blown.push(fuse);
            past.clear();
            continue;
        }
        let warm = past.last().map(|(_, operating)| &operating.unknowns).or(start);
        let operating = operate(plant.nodes, &plant.branches, &plant.closed(&state), warm)?;
        let next = moved(plant, &state, &operating.unknowns);
        past.push((state.clone(), operating));
        state = next;
    }
    Err(SolveError::Unsettled { steps: MOST_MOVES })
}

/// Weighted amperes of a relay's windings, in either direction.
pub(super) fn pull_amps(relay: &Relay, branch_amps: &[f64]) -> f64 {
    let sum: f64 =
        relay.windings.iter().map(|&(branch, share)| share * branch_amps[branch.0 as usize]).sum();
    sum.abs()
}

/// The state after the most urgent armature has moved; the same one when none wants to.
fn moved(plant: &Plant, state: &State, unknowns: &Unknowns) -> State {
    let mut urgent = (1.0, None);
    for (index, relay) in plant.relays.iter().enumerate() {
        let Some(urgency) =
            urgency(relay, state.pulled[index], pull_amps(relay, &unknowns.branch_amps))
        else {
            continue;
        };
        if urgent.1.is_none() || urgency > urgent.0 {
            urgent = (urgency, Some(index));
        }
    }
    let mut next = state.clone();
    if let Some(index) = urgent.1 {
        next.pulled[index] = !next.pulled[index];
    }
    next
}

/// How far beyond its limit an armature is, at least one; `None` when it stays.
fn urgency(relay: &Relay, pulled: bool, amps: f64) -> Option<f64> {
    if relay.stuck.is_some_and(|stuck| stuck == pulled) {
        return None;
    }
    if pulled {
        (amps < relay.drop_out_amps).then(|| relay.drop_out_amps / amps.max(1e-12))
    } else {
        (amps >= relay.pull_in_amps).then(|| amps / relay.pull_in_amps.max(1e-12))
    }
}

/// The fuse that is overloaded most, by its mean heat over the cycle; the first of equals.
fn overloaded(plant: &Plant, cycle: &[(State, Operating)]) -> Option<BranchId> {
    let mut worst = (BLOW_FACTOR, None);
    for (index, branch) in plant.branches.iter().enumerate() {
        let Law::Fuse { rated_amps, .. } = branch.law else { continue };
        let squares: f64 =
            cycle.iter().map(|(_, operating)| operating.unknowns.branch_amps[index].powi(2)).sum();
        let load = (squares / cycle.len() as f64).sqrt() / rated_amps;
        if load > worst.0 * (1.0 + 1e-9) {
            worst = (load, Some(BranchId(index as u32)));
        }
    }
    worst.1
}

impl Settled {
    /// Mean over the cycle.
    pub fn mean(&self) -> Unknowns {
        let share = 1.0 / self.cycle.len() as f64;
        let mut mean = self.cycle[0].1.unknowns.clone();
        let values = |unknowns: &Unknowns| -> Vec<f64> {
            unknowns.node_volts.iter().chain(&unknowns.branch_amps).copied().collect()
        };
        let mut sums = vec![0.0; mean.node_volts.len() + mean.branch_amps.len()];
        for (_, operating) in &self.cycle {
            for (sum, value) in sums.iter_mut().zip(values(&operating.unknowns)) {
                *sum += share * value;
            }
        }
        let volts = mean.node_volts.len();
        mean.node_volts.copy_from_slice(&sums[..volts]);
        mean.branch_amps.copy_from_slice(&sums[volts..]);
        mean
    }

    pub fn steadiness(&self) -> Steadiness {
        let first = &self.cycle[0].0.pulled;
        let moves = |index: &usize| {
            self.cycle.iter().any(|(state, _)| state.pulled[*index] != first[*index])
        };
        let relays: Vec<RelayId> =
            (0..first.len()).filter(moves).map(|index| RelayId(index as u32)).collect();
        if relays.is_empty() { Steadiness::Steady } else { Steadiness::Chatters { relays } }
    }
}
