//! Relays move and fuses blow until nothing moves any more, or everything repeats itself.

use smallvec::SmallVec;

use super::error::SolveError;
use super::law::BLOW_FACTOR;
use super::network::{BranchId, Relay, RelayId};
use super::short::PerRelay;

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

impl Steadiness {
    /// No state lasts.
    pub fn chatters(&self) -> bool {
        matches!(self, Steadiness::Chatters { .. })
    }
}

/// What moves: armatures and fuses.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct State {
    pub pulled: PerRelay,
    /// In the order they blew.
    pub blown: Vec<BranchId>,
}

impl Clone for State {
    // The list's own way to be cloned takes its entries one by one.
    fn clone(&self) -> State {
        State { pulled: PerRelay::from_slice(&self.pulled), blown: self.blown.clone() }
    }
}

impl State {
    /// Relays released, fuses whole; what is stuck stays where it is.
    pub fn rest(relays: &[Relay]) -> State {
        State {
            pulled: relays.iter().map(|relay| relay.stuck == Some(true)).collect(),
            blown: Vec::new(),
        }
    }
}

/// A network whose contacts and fuses can be put into a state and solved there.
pub(super) trait Plant {
    /// A solution in one state.
    type Point;

    /// Why there is none.
    type Error: From<SolveError>;

    fn relays(&self) -> &[Relay];

    /// The fuses with the amperes printed on them.
    fn fuses(&self) -> &[(BranchId, f64)];

    /// Solves in a state, from a point nearby if there is one.
    fn operate(
        &mut self,
        state: &State,
        near: Option<&Self::Point>,
    ) -> Result<Self::Point, Self::Error>;

    fn amps(&self, point: &Self::Point, branch: BranchId) -> f64;

    /// The armature is known to stay, without a look at its amperes.
    fn stays(&self, _state: &State, _point: &Self::Point, _relay: usize) -> bool {
        false
    }

    /// The fuse is known not to blow.
    fn is_safe(&self, _point: &Self::Point, _fuse: BranchId) -> bool {
        false
    }
}

/// The states a network stays in, a single one when it is steady.
pub(super) type Cycle<Point> = SmallVec<[(State, Point); 1]>;

/// Settles from `state`, one move at a time: the armature furthest beyond its limit moves first, as it
/// would be the quickest; a fuse blows only once no armature moves, as it takes its time.
pub(super) fn settle<P: Plant>(
    plant: &mut P,
    state: State,
    near: Option<&P::Point>,
) -> Result<Cycle<P::Point>, P::Error> {
    settle_after(&[], plant, state, None, near)
}

/// The same where these states are known to come before, from the first on.
///
/// A cycle that leads back to one of them begins there: in which of its states a fuse goes can decide how all
/// ends, as a solenoid that is pulled may feed itself. `first` is the solution in `state`, where it is known.
pub(super) fn settle_after<P: Plant>(
    before: &[&State],
    plant: &mut P,
    mut state: State,
    mut first: Option<P::Point>,
    near: Option<&P::Point>,
) -> Result<Cycle<P::Point>, P::Error> {
    let mut past: Cycle<P::Point> = Cycle::new();
    for _ in 0..MOST_MOVES {
        let point = match first.take() {
            Some(point) => point,
            None => plant.operate(&state, past.last().map(|(_, point)| point).or(near))?,
        };
        let mover = mover(plant, &state, &point);
        past.push((state, point));
        let last = past.len() - 1;
        let mut begin = last;
        if let Some(relay) = mover {
            let mut next = past[last].0.clone();
            next.pulled[relay] = !next.pulled[relay];
            let Some(at) = past.iter().position(|(before, _)| *before == next) else {
                state = next;
                continue;
            };
            begin = at;
        }
        let mut cycle =
            if begin == 0 { std::mem::take(&mut past) } else { past.drain(begin..).collect() };
        let place = |early: &&State| cycle.iter().position(|(state, _)| state == *early);
        if let Some(at) = before.iter().find_map(place) {
            cycle.rotate_left(at);
        }
        let Some(fuse) = overloaded(plant, &cycle) else { return Ok(cycle) };
        // The state that came last leads back to the first of the cycle.
        state = cycle[0].0.clone();
        state.blown.push(fuse);
        past.clear();
    }
    Err(SolveError::Unsettled { steps: MOST_MOVES }.into())
}

/// The relays that are not in the same state all through a cycle, or not in `before`.
pub(super) fn moving<Point>(cycle: &Cycle<Point>, before: &State) -> Vec<RelayId> {
    let differs = |index: &usize| {
        cycle.iter().any(|(state, _)| state.pulled[*index] != before.pulled[*index])
    };
    (0..before.pulled.len()).filter(differs).map(|index| RelayId(index as u32)).collect()
}

/// Whether a cycle is one.
pub(super) fn steadiness<Point>(cycle: &Cycle<Point>) -> Steadiness {
    let relays = moving(cycle, &cycle[0].0);
    if relays.is_empty() { Steadiness::Steady } else { Steadiness::Chatters { relays } }
}

/// Whether an armature in this state leaves it at these weighted amperes.
pub(super) fn leaves(relay: &Relay, pulled: bool, amps: f64) -> bool {
    if relay.stuck.is_some_and(|stuck| stuck == pulled) {
        return false;
    }
    if pulled { amps < relay.drop_out_amps } else { amps >= relay.pull_in_amps }
}

/// The armatures that leave a state, by their positions; those that stay are known.
pub(super) fn leaving(
    relays: &[Relay],
    state: &State,
    stays: impl Fn(usize) -> bool,
    amps: impl Fn(BranchId) -> f64,
) -> Vec<usize> {
    let leaves = |&index: &usize| {
        if stays(index) {
            return false;
        }
        let relay = &relays[index];
        let sum: f64 = relay.windings.iter().map(|&(branch, share)| share * amps(branch)).sum();
        leaves(relay, state.pulled[index], sum.abs())
    };
    (0..relays.len()).filter(leaves).collect()
}

/// Amperes above which a fuse blows.
pub(super) fn blow_amps(rated_amps: f64) -> f64 {
    BLOW_FACTOR * (1.0 + 1e-9) * rated_amps
}

/// Whether a fuse blows at this load.
pub(super) fn blows(amps: f64, rated_amps: f64) -> bool {
    amps.abs() > blow_amps(rated_amps)
}

/// The most urgent armature; none when none wants to move.
fn mover<P: Plant>(plant: &P, state: &State, point: &P::Point) -> Option<usize> {
    let stays = |relay: usize| plant.stays(state, point, relay);
    most_urgent(plant.relays(), state, stays, |branch| plant.amps(point, branch))
}

/// The armature furthest beyond its limit, the first of equals; those that stay are known.
pub(super) fn most_urgent(
    relays: &[Relay],
    state: &State,
    stays: impl Fn(usize) -> bool,
    amps: impl Fn(BranchId) -> f64,
) -> Option<usize> {
    let mut urgent: Option<(f64, usize)> = None;
    for (index, relay) in relays.iter().enumerate() {
        if stays(index) {
            continue;
        }
        let sum: f64 = relay.windings.iter().map(|&(branch, share)| share * amps(branch)).sum();
        let (pulled, amps) = (state.pulled[index], sum.abs());
        if !leaves(relay, pulled, amps) {
            continue;
        }
        let (more, less) =
            if pulled { (relay.drop_out_amps, amps) } else { (amps, relay.pull_in_amps) };
        let urgency = more / less.max(1e-12);
        if urgent.is_none_or(|(most, _)| urgency > most) {
            urgent = Some((urgency, index));
        }
    }
    urgent.map(|(_, index)| index)
}

/// The fuse that is overloaded most, by its mean heat over the cycle; the first of equals.
fn overloaded<P: Plant>(plant: &P, cycle: &Cycle<P::Point>) -> Option<BranchId> {
    let mut worst: Option<(f64, BranchId)> = None;
    for &(fuse, rated_amps) in plant.fuses() {
        if cycle.iter().all(|(_, point)| plant.is_safe(point, fuse)) {
            continue;
        }
        let squares: f64 = cycle.iter().map(|(_, point)| plant.amps(point, fuse).powi(2)).sum();
        let amps = (squares / cycle.len() as f64).sqrt();
        let most = worst.map_or(0.0, |(most, _)| most);
        if blows(amps, rated_amps) && amps / rated_amps > most * (1.0 + 1e-9) {
            worst = Some((amps / rated_amps, fuse));
        }
    }
    worst.map(|(_, fuse)| fuse)
}
