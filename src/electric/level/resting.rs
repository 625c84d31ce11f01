//! Which branches of a network are ports of every case, and which rest until a case moves them.
//!
//! Most faults bend little: lamps and diodes far from them stay where they were in the sound network. So
//! the factored matrix has every curve's tangent at the network's own operating point, and every open
//! contact open; such a branch becomes a port of a case only when the solution leaves its tangent.

use super::regions::Regions;
use crate::electric::base::values::{Place, Watched};
use crate::electric::law::curve::Point;
use crate::electric::law::{Form, Row};
use crate::electric::linear::equations::Layout;
use crate::electric::linear::ordering::islands;
use crate::electric::moves::Moves;
use crate::electric::network::NodeId;
use crate::electric::settle::State;
use crate::electric::short::PerPort;

/// A port that left its tangent by less than this is still on it.
const BENT_VOLTS: f64 = 1e-6;

/// A port that moved by less than this is on its tangent, whatever its curve.
const STILL_VOLTS: f64 = 1e-6;

/// As far as a tangent is tried for how far it can be trusted.
const FAR_VOLTS: f64 = 10.0;

/// An island's tie that carries more than this holds what should float.
pub(in crate::electric) const TIE_AMPS: f64 = 1e-14;

/// No tie at a node.
const NONE: u32 = u32::MAX;

/// The ports of a network.
#[derive(Debug, Default)]
pub(in crate::electric) struct Ports {
    /// Ports of every case.
    pub always: PerPort<Place>,
    /// Where those begin: volts and amperes.
    pub start: PerPort<(f64, f64)>,
    pub resting: Resting,
    /// Of a large network.
    pub known: Option<Known>,
}

/// What is known of a state of a large network: how all decide that nothing reaches.
#[derive(Debug)]
pub(in crate::electric) struct Known {
    /// Where to look for what a change can have moved.
    pub regions: Regions,
    pub pulled: Vec<bool>,
    /// The armatures that leave the state.
    pub leaving: Vec<usize>,
    /// Fuses that blow if it lasts, by their branches.
    pub overloaded: Vec<u32>,
}

/// The branches that a change can have moved by more than they bear, in order, with their amperes; none
/// where all have to be looked at.
#[derive(Debug, Clone, Default)]
pub(in crate::electric) struct Met(pub Option<Vec<(u32, f64)>>);

impl Met {
    /// The branch does as it does without the change.
    pub fn is_far(&self, branch: u32) -> bool {
        self.0.is_some() && self.amps(branch).is_none()
    }

    /// Amperes of a branch that was met.
    pub fn amps(&self, branch: u32) -> Option<f64> {
        let met = self.0.as_ref()?;
        Some(met[met.binary_search_by_key(&branch, |one| one.0).ok()?].1)
    }
}

/// A branch that is a port of a case only when something moves it.
#[derive(Debug, Clone, Copy)]
pub(in crate::electric) struct Rester {
    pub place: Place,
    /// Volts and amperes at which it rests.
    pub at: (f64, f64),
    pub moves: Moves,
    /// So many volts from there it is still on its tangent.
    pub reach_volts: f64,
    /// More than so many volts below or above, it has left it for sure.
    pub bent_volts: (f64, f64),
    /// Holds a floating island in the factored matrix; in truth nothing does.
    pub is_tie: bool,
}

/// The branches that rest.
#[derive(Debug, Default)]
pub(in crate::electric) struct Resting {
    list: Vec<Rester>,
    of_branch: Vec<u32>,
    /// Positions of contacts.
    contacts: Vec<usize>,
    /// The tie of the island a node is on.
    tie_of_node: Vec<u32>,
}

impl Resting {
    /// `branches` in the order of the network, then the ties of `layout`, whose own branches are `own`.
    pub fn new(branches: Vec<Rester>, layout: &Layout, rows: &[Row], own: usize) -> Resting {
        let mut list = branches;
        let mut of_branch = vec![NONE; layout.ends.len()];
        let first_tie = list.len();
        for tie in own..layout.ends.len() {
            let moves = Moves::Never(Form::Line(Row::OPEN));
            let place = Place::Branch(tie);
            list.push(Rester { moves, is_tie: true, ..Rester::line(place, (0.0, 0.0)) });
        }
        for (index, rester) in list.iter().enumerate() {
            if let Place::Branch(branch) = rester.place {
                of_branch[branch] = index as u32;
            }
        }
        let roots = islands(layout, &rows[..own]);
        let mut tie_of_root = vec![NONE; layout.nodes];
        for (tie, &(node, _)) in layout.ends[own..].iter().enumerate() {
            tie_of_root[roots[node]] = (first_tie + tie) as u32;
        }
        let tie_of_node = roots.iter().map(|&root| tie_of_root[root]).collect();
        let is_contact = |index: &usize| matches!(list[*index].moves, Moves::Contact { .. });
        let contacts = (0..list.len()).filter(is_contact).collect();
        Resting { list, of_branch, contacts, tie_of_node }
    }

    pub fn get(&self, index: usize) -> &Rester {
        &self.list[index]
    }

    /// The rester that is this branch.
    pub fn of_branch(&self, branch: usize) -> Option<usize> {
        self.of_branch.get(branch).filter(|&&index| index != NONE).map(|&index| index as usize)
    }

    /// The tie of the island a node is on.
    pub fn tie_at(&self, node: NodeId) -> Option<usize> {
        let tie = self.tie_of_node.get(node.0 as usize);
        tie.filter(|&&index| index != NONE).map(|&index| index as usize)
    }

    /// All of them, ties last.
    pub fn list(&self) -> &[Rester] {
        &self.list
    }

    /// What to watch of each, in their order: amperes of ties, volts of others. `branches` come first, and
    /// `ties` behind `own` branches of the network.
    pub fn watched(branches: &[Rester], own: usize, ties: usize) -> Vec<Watched> {
        let volts = |rester: &Rester| match rester.place {
            Place::Branch(branch) => Some(Watched::Volts(branch)),
            Place::Pair(..) => None,
        };
        let ties = (own..own + ties).map(Watched::Amps);
        branches.iter().filter_map(volts).chain(ties).collect()
    }

    /// Positions of contacts.
    pub fn contacts(&self) -> &[usize] {
        &self.contacts
    }

    /// Those that are not `awake`, with their positions.
    pub fn asleep<'a>(
        &'a self,
        awake: &'a [usize],
    ) -> impl Iterator<Item = (usize, &'a Rester)> + 'a {
        self.list.iter().enumerate().filter(|(index, _)| !awake.contains(index))
    }
}

impl Rester {
    /// One that bends as `form` and rests at a point of it.
    pub fn curve(place: Place, moves: Moves, form: &Form, point: Point) -> Rester {
        let (reach_volts, bent_volts) = reach_volts(form, point);
        let at = (point.volts, point.amps);
        Rester { place, at, moves, reach_volts, bent_volts, is_tie: false }
    }

    /// One that does not bend.
    pub fn line(place: Place, at: (f64, f64)) -> Rester {
        let moves = Moves::Never(Form::OPEN);
        let bent_volts = (f64::INFINITY, f64::INFINITY);
        Rester { place, at, moves, reach_volts: 0.0, bent_volts, is_tie: false }
    }

    /// Whether the state of relays takes it from where it rests, which is its line in `rows`.
    pub fn is_moved(&self, state: &State, rows: &[Row]) -> bool {
        let (Moves::Contact { .. }, Place::Branch(branch)) = (self.moves, self.place) else {
            return false;
        };
        !matches!(self.moves.form(state), Form::Line(row) if *row == rows[branch])
    }

    /// Whether it has left its tangent, or holds what should float; `watched` is what is watched of it, and
    /// `at` gives its volts and amperes.
    pub fn is_stirred(&self, state: &State, watched: f64, at: impl FnOnce() -> (f64, f64)) -> bool {
        if self.is_tie {
            return watched.abs() > TIE_AMPS;
        }
        if (watched - self.at.0).abs() <= self.reach_volts {
            return false;
        }
        let form = self.moves.form(state);
        if matches!(form, Form::Line(_)) {
            return false;
        }
        let moved = watched - self.at.0;
        if -moved > self.bent_volts.0 || moved > self.bent_volts.1 {
            return true;
        }
        let (volts, amps) = at();
        is_off(form, volts, amps)
    }
}

/// Whether a point is off a curve by more than counts: by so many volts at the current the curve has
/// there, as much as any node can be off for it. (Measured along the curve's own line of approach, a diode
/// that blocks was off by fifty nanoamperes, and a node behind fifty kilohms by millivolts.)
fn is_off(form: &Form, volts: f64, amps: f64) -> bool {
    let Some(curve) = form.meet(volts, amps) else { return false };
    let off_volts = ((curve.amps - amps) / curve.siemens - (curve.volts - volts)).abs();
    off_volts > BENT_VOLTS * (1.0 + volts.abs())
}

/// How far from a point of a curve, either way, its tangent can be trusted, volts; and from how far on, below
/// and above, it cannot.
///
/// Found by going four times as far each time; a curve bends one way or is straight between two such steps,
/// as those of lamps, diodes, batteries and motors do; at their kinks every half step is tried too.
fn reach_volts(form: &Form, point: Point) -> (f64, (f64, f64)) {
    let off = |way: f64| is_off(form, point.volts + way, point.amps + point.siemens * way);
    let mut reach = STILL_VOLTS;
    while reach < FAR_VOLTS {
        let next = 4.0 * reach;
        if [-next, -0.5 * next, 0.5 * next, next].into_iter().any(off) {
            break;
        }
        reach = next;
    }
    // A curve that has left its tangent on one side leaves it further.
    let bent = |side: f64| {
        let steps = std::iter::successors(Some(4.0 * reach), |volts| Some(4.0 * volts));
        let mut steps = steps.take_while(|volts| *volts < 4.0 * FAR_VOLTS);
        steps.find(|volts| off(side * volts)).unwrap_or(f64::INFINITY)
    };
    (reach, (bent(-1.0), bent(1.0)))
}
