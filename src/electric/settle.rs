//! Relays move and fuses blow until nothing moves any more, or everything repeats itself.

use std::borrow::Cow;

use smallvec::SmallVec;

use super::error::SolveError;
use super::law::BLOW_FACTOR;
use super::network::{BranchId, Relay, RelayId};
use super::short::PerRelay;

/// Moves before giving up; far above what a machine's relays can do without repeating themselves.
const MOST_MOVES: u32 = 2000;

/// So many armatures that want to move do so in turn; of more, all at once.
const IN_TURN: usize = 3;

/// Armatures that move or want to; in nearly every case one.
pub(super) type Movers<T> = SmallVec<[T; 4]>;

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
    /// The state after these armatures have moved.
    pub fn after(&self, movers: &[usize]) -> State {
        let mut next = self.clone();
        for &relay in movers {
            next.pulled[relay] = !next.pulled[relay];
        }
        next
    }

    /// Armatures that stand otherwise than in another state.
    pub fn armatures_apart(&self, other: &State) -> usize {
        self.pulled.iter().zip(&other.pulled).filter(|(one, other)| one != other).count()
    }

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

    /// Those of the fuses that are not known to stay whole at all of these points, in the same order.
    fn fuses_at_risk<'a>(
        &self,
        _points: impl Iterator<Item = &'a Self::Point>,
    ) -> Cow<'_, [(BranchId, f64)]>
    where
        Self::Point: 'a,
    {
        Cow::Borrowed(self.fuses())
    }
}

/// The states a network stays in, a single one when it is steady.
pub(super) type Cycle<Point> = SmallVec<[(State, Point); 1]>;

/// Settles from `state`, move by move: the armature furthest beyond its limit moves first, as it would be the
/// quickest, and where more than a few are, all move at once; a fuse blows only once no armature moves, as it takes
/// its time.
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
    state: State,
    first: Option<P::Point>,
    near: Option<&P::Point>,
) -> Result<Cycle<P::Point>, P::Error> {
    let steady = follow(before, plant, (state.clone(), first), near, true)?;
    if let Some(steady) = steady {
        return Ok(steady);
    }
    let in_turn = follow(before, plant, (state, None), near, false)?;
    in_turn.ok_or_else(|| SolveError::Unsettled { steps: MOST_MOVES }.into())
}

/// As [`settle_after`], but `None` where armatures that move at once do not come to rest, or there is no operating
/// point on their way.
pub(super) fn settle_together<P: Plant>(
    before: &[&State],
    plant: &mut P,
    state: State,
) -> Result<Option<Cycle<P::Point>>, P::Error> {
    follow(before, plant, (state, None), None, true)
}

/// Follows the moves to the end. `None` where armatures were moved at once, if they may be, and did not come to rest:
/// armatures that lock each other out would then go on for ever, where one of them would be the first.
fn follow<P: Plant>(
    before: &[&State],
    plant: &mut P,
    (mut state, mut first): (State, Option<P::Point>),
    near: Option<&P::Point>,
    at_once: bool,
) -> Result<Option<Cycle<P::Point>>, P::Error> {
    let mut past: Cycle<P::Point> = Cycle::new();
    let mut moved_at_once = false;
    for _ in 0..MOST_MOVES {
        let point = match first.take() {
            Some(point) => point,
            None => match plant.operate(&state, past.last().map(|(_, point)| point).or(near)) {
                Ok(point) => point,
                Err(_) if moved_at_once => return Ok(None),
                Err(error) => return Err(error),
            },
        };
        let movers = movers(plant, &state, &point, at_once);
        past.push((state, point));
        let last = past.len() - 1;
        let mut begin = last;
        if !movers.is_empty() {
            moved_at_once |= movers.len() > 1;
            let next = past[last].0.after(&movers);
            let Some(at) = past.iter().position(|(before, _)| *before == next) else {
                state = next;
                continue;
            };
            if moved_at_once {
                return Ok(None);
            }
            begin = at;
        }
        let mut cycle =
            if begin == 0 { std::mem::take(&mut past) } else { past.drain(begin..).collect() };
        let place = |early: &&State| cycle.iter().position(|(state, _)| state == *early);
        if let Some(at) = before.iter().find_map(place) {
            cycle.rotate_left(at);
        }
        let Some(fuse) = overloaded(plant, &cycle) else { return Ok(Some(cycle)) };
        // The state that came last leads back to the first of the cycle.
        state = cycle[0].0.clone();
        state.blown.push(fuse);
        past.clear();
    }
    if at_once { Ok(None) } else { Err(SolveError::Unsettled { steps: MOST_MOVES }.into()) }
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

/// The armatures that leave a state, in their order, with how far each is beyond its limit; those that stay are
/// known.
pub(super) fn leaving(
    relays: &[Relay],
    state: &State,
    stays: impl Fn(usize) -> bool,
    amps: impl Fn(BranchId) -> f64,
) -> Movers<(usize, f64)> {
    let urgency = |index: usize| {
        if stays(index) {
            return None;
        }
        let relay = &relays[index];
        let sum: f64 = relay.windings.iter().map(|&(branch, share)| share * amps(branch)).sum();
        let (pulled, amps) = (state.pulled[index], sum.abs());
        let (more, less) =
            if pulled { (relay.drop_out_amps, amps) } else { (amps, relay.pull_in_amps) };
        leaves(relay, pulled, amps).then(|| (index, more / less.max(1e-12)))
    };
    (0..relays.len()).filter_map(urgency).collect()
}

/// Those that move next: the most urgent one, the first of equals; of many, all, as a network with many relays would
/// pass too many states.
pub(super) fn next_of(leaving: &[(usize, f64)]) -> Movers<usize> {
    if leaving.len() > IN_TURN {
        return leaving.iter().map(|one| one.0).collect();
    }
    most_urgent(leaving).into_iter().collect()
}

fn most_urgent(leaving: &[(usize, f64)]) -> Option<usize> {
    let more = |most: (usize, f64), one: &(usize, f64)| if one.1 > most.1 { *one } else { most };
    Some(leaving.iter().fold(*leaving.first()?, more).0)
}

/// Amperes above which a fuse blows.
pub(super) fn blow_amps(rated_amps: f64) -> f64 {
    BLOW_FACTOR * (1.0 + 1e-9) * rated_amps
}

/// Whether a fuse blows at this load.
pub(super) fn blows(amps: f64, rated_amps: f64) -> bool {
    amps.abs() > blow_amps(rated_amps)
}

/// The armatures that move next, none when none wants to.
pub(super) fn movers<P: Plant>(
    plant: &P,
    state: &State,
    point: &P::Point,
    at_once: bool,
) -> Movers<usize> {
    let stays = |relay: usize| plant.stays(state, point, relay);
    let leaving = leaving(plant.relays(), state, stays, |branch| plant.amps(point, branch));
    if at_once { next_of(&leaving) } else { most_urgent(&leaving).into_iter().collect() }
}

/// The fuse that is overloaded most, by its mean heat over the cycle; the first of equals.
fn overloaded<P: Plant>(plant: &P, cycle: &Cycle<P::Point>) -> Option<BranchId> {
    let mut worst: Option<(f64, BranchId)> = None;
    for &(fuse, rated_amps) in &*plant.fuses_at_risk(cycle.iter().map(|(_, point)| point)) {
        let squares: f64 = cycle.iter().map(|(_, point)| plant.amps(point, fuse).powi(2)).sum();
        let amps = (squares / cycle.len() as f64).sqrt();
        let most = worst.map_or(0.0, |(most, _)| most);
        if blows(amps, rated_amps) && amps / rated_amps > most * (1.0 + 1e-9) {
            worst = Some((amps / rated_amps, fuse));
        }
    }
    worst.map(|(_, fuse)| fuse)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Armatures whose amperes follow from what is pulled; counts how often it was solved.
    struct Toy<'a> {
        relays: Vec<Relay>,
        amps: &'a dyn Fn(&[bool], usize) -> f64,
        solved: usize,
    }

    impl Plant for Toy<'_> {
        type Point = Vec<f64>;
        type Error = SolveError;

        fn relays(&self) -> &[Relay] {
            &self.relays
        }

        fn fuses(&self) -> &[(BranchId, f64)] {
            &[]
        }

        fn operate(&mut self, state: &State, _: Option<&Vec<f64>>) -> Result<Vec<f64>, SolveError> {
            self.solved += 1;
            Ok((0..self.relays.len()).map(|relay| (self.amps)(&state.pulled, relay)).collect())
        }

        fn amps(&self, point: &Vec<f64>, branch: BranchId) -> f64 {
            point[branch.0 as usize]
        }
    }

    #[track_caller]
    fn check(
        count: u32,
        amps: &dyn Fn(&[bool], usize) -> f64,
        pulled: &[usize],
        most_solved: usize,
    ) {
        let relay = |at| Relay {
            windings: vec![(BranchId(at), 1.0)],
            pull_in_amps: 1.0,
            drop_out_amps: 0.5,
            stuck: None,
        };
        let mut toy = Toy { relays: (0..count).map(relay).collect(), amps, solved: 0 };
        let rest = State::rest(&toy.relays);
        let cycle = settle(&mut toy, rest, None).unwrap();
        assert_eq!(steadiness(&cycle), Steadiness::Steady);
        let all = cycle[0].0.pulled.iter().enumerate().filter(|one| *one.1).map(|one| one.0);
        assert_eq!(all.collect::<Vec<_>>(), pulled);
        assert!(toy.solved <= most_solved, "solved {} times", toy.solved);
    }

    #[test]
    fn many_armatures_move_at_once_and_few_in_turn() {
        check(9, &|_, _| 2.0, &[0, 1, 2, 3, 4, 5, 6, 7, 8], 2);
        check(3, &|_, _| 2.0, &[0, 1, 2], 4);
    }

    #[test]
    fn of_armatures_that_lock_each_other_out_the_most_urgent_one_stays() {
        // Two of five lock each other out; then all of four do, and all at once would never come to rest.
        let locks = |pulled: &[bool], relay: usize| match relay {
            0 if pulled[1] => 0.0,
            1 if pulled[0] => 0.0,
            1 => 3.0,
            _ => 2.0,
        };
        check(5, &locks, &[1, 2, 3, 4], 5);
        let one = |pulled: &[bool], relay: usize| {
            let locked = pulled.iter().enumerate().any(|(other, is)| *is && other != relay);
            if locked { 0.0 } else { [2.0, 2.5, 4.0, 3.0][relay] }
        };
        check(4, &one, &[2], 5);
    }
}
