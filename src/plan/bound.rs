//! Minutes that no plan can stay below.

use std::collections::BinaryHeap;

use super::goal::{class_shares, finished, stop_minutes};
use super::node::{NOTHING, Node};
use super::prepared::Prepared;
use super::problem::Goal;
use super::step::Step;

/// Expected number of letters of the best code over `arity` signs for these weights.
///
/// Huffman 1952; the weights need not sum to 1, the answer is in the same scale. A plan whose steps have
/// at most `arity` outcomes is such a code for the classes it tells apart, so it needs as many steps.
pub fn huffman_length(weights: impl IntoIterator<Item = f64>, arity: usize) -> f64 {
    let mut heap: BinaryHeap<Smallest> =
        weights.into_iter().filter(|&weight| weight > NOTHING).map(Smallest).collect();
    if arity < 2 || heap.len() < 2 {
        return 0.0;
    }
    // The first merge takes as many as leave full merges for all others.
    let mut take = (heap.len() - 2) % (arity - 1) + 2;
    let mut length = 0.0;
    while heap.len() > 1 {
        let merged: f64 = (0..take).filter_map(|_| heap.pop()).map(|Smallest(weight)| weight).sum();
        length += merged;
        heap.push(Smallest(merged));
        take = arity;
    }
    length
}

/// A weight that a [`BinaryHeap`] gives smallest first.
#[derive(PartialEq)]
struct Smallest(f64);

impl Eq for Smallest {}

impl PartialOrd for Smallest {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Smallest {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        other.0.total_cmp(&self.0)
    }
}

/// Price of `count` different things, at least, when they cost what `sorted` says, cheapest first.
///
/// Convex in `count`, so it may be given an expected number.
fn cheapest_sum(sorted: &[f64], count: f64) -> f64 {
    let whole = (count.floor() as usize).min(sorted.len());
    let rest = sorted.get(whole).map_or(0.0, |next| next * (count - whole as f64));
    sorted[..whole].iter().sum::<f64>() + rest
}

/// With more classes than this they are not compared in pairs, and the code counts for nothing.
const MOST_CLASSES: usize = 32;

/// What the lower bounds of all nodes of one search share.
#[derive(Debug, Clone)]
pub struct Bound {
    /// For each class the component it is in: classes of one component may end together.
    component: Vec<usize>,
    components: usize,
    arity: usize,
    /// Minutes of all steps, cheapest first.
    sorted_minutes: Vec<f64>,
}

impl Bound {
    /// Looks at all groups and steps of `prepared`.
    pub fn new(prepared: &Prepared) -> Self {
        let (component, components) = components(prepared);
        let mut sorted_minutes: Vec<f64> = prepared.steps.iter().map(|step| step.minutes).collect();
        sorted_minutes.sort_by(f64::total_cmp);
        let arity = prepared.steps.iter().map(|step| step.rows.len()).max().unwrap_or(0);
        Self { component, components, arity, sorted_minutes }
    }

    /// Minutes which no plan from `node` can stay below on average.
    ///
    /// Isolation: the classes that have to be told apart need as many steps as their Huffman code has
    /// letters, and different steps of a path cost at least the cheapest ones (Pattipati & Alexandridis
    /// 1990, from memory). Repair: the cheapest fix of each hypothesis, as if it were known, and before
    /// it one step less than the code asks for, because the fix itself tells something.
    pub fn minutes(&self, prepared: &Prepared, node: &Node) -> f64 {
        if finished(prepared, node) {
            return 0.0;
        }
        match prepared.goal {
            Goal::Isolate => cheapest_sum(&self.sorted_minutes, self.code_length(prepared, node)),
            Goal::Repair { give_up_minutes } => {
                let repair = repair_minutes(prepared, node);
                if give_up_minutes.is_some() {
                    return repair;
                }
                let before = (self.code_length(prepared, node) - 1.0).max(0.0);
                repair + cheapest_sum(&self.sorted_minutes, before)
            }
            Goal::StopAnyTime { .. } => {
                let stop = stop_minutes(prepared, node).unwrap_or(f64::INFINITY);
                let unused = (0..prepared.steps.len()).filter(|&index| !node.used.contains(index));
                unused.map(|index| prepared.steps[index].minutes).fold(stop, f64::min)
            }
        }
    }

    fn code_length(&self, prepared: &Prepared, node: &Node) -> f64 {
        let mut weights = vec![0.0; self.components];
        for (share, &component) in class_shares(prepared, node).zip(&self.component) {
            weights[component] += share;
        }
        huffman_length(weights, self.arity)
    }
}

/// Joins classes that may share a leaf of a plan: those with hypotheses that no step surely separates,
/// and, for a repair, those with a fix in common.
fn components(prepared: &Prepared) -> (Vec<usize>, usize) {
    let count = prepared.classes.len();
    let code_matters =
        matches!(prepared.goal, Goal::Isolate | Goal::Repair { give_up_minutes: None });
    if !code_matters || count > MOST_CLASSES {
        return (vec![0; count], 1);
    }
    let mut component: Vec<usize> = (0..count).collect();
    for a in 0..count {
        for b in a + 1..count {
            if component[a] != component[b] && may_share_leaf(prepared, a, b) {
                let (from, to) = (component[b], component[a]);
                for entry in &mut component {
                    if *entry == from {
                        *entry = to;
                    }
                }
            }
        }
    }
    (component, count)
}

fn may_share_leaf(prepared: &Prepared, a: usize, b: usize) -> bool {
    let pairs = || {
        let other = prepared.classes[b].clone();
        prepared.classes[a].clone().flat_map(move |x| other.clone().map(move |y| (x, y)))
    };
    match prepared.goal {
        Goal::Isolate | Goal::StopAnyTime { .. } => {
            pairs().any(|(x, y)| !prepared.steps.iter().any(|step| separates(&step.rows, x, y)))
        }
        Goal::Repair { .. } => pairs().any(|(x, y)| {
            prepared.steps.iter().any(|step| {
                let ends = |group: usize| {
                    step.ending.is_some_and(|outcome| step.rows[outcome][group] > 0.0)
                };
                ends(x) && ends(y)
            }) || (!surely_cured(prepared, x) && !surely_cured(prepared, y))
        }),
    }
}

/// Whether some step cures it for sure; others may be left when all has been tried.
fn surely_cured(prepared: &Prepared, group: usize) -> bool {
    let sure = |row: &[f64]| row[group] > 1.0 - NOTHING;
    prepared.steps.iter().any(|step| step.ending.is_some_and(|outcome| sure(&step.rows[outcome])))
}

/// Whether no outcome is possible under both.
fn separates(rows: &[Vec<f64>], x: usize, y: usize) -> bool {
    rows.iter().all(|row| row[x] <= 0.0 || row[y] <= 0.0)
}

/// Expected minutes of the repair alone, each hypothesis by its cheapest fix as if it were known: no plan
/// for [`Goal::Repair`] needs less.
pub fn repair_minutes(prepared: &Prepared, node: &Node) -> f64 {
    by_cheapest(prepared, node, |step, _| {
        step.minutes + prepared.opening_minutes(&node.opened, &step.places)
    })
}

/// Expected minutes when the hypothesis is known and its best fix is done, and the job handed on when
/// that fails: what remains for [`Goal::Repair`] after a search that never errs.
pub fn known_minutes(prepared: &Prepared, node: &Node) -> f64 {
    let stop = stop_minutes(prepared, node).unwrap_or(0.0);
    by_cheapest(prepared, node, |step, ends| {
        prepared.added_minutes(node, step) + (1.0 - ends) * stop
    })
}

/// The least of `price` (given the step and its probability to end the job) over the unused steps that may
/// end it, for each hypothesis; its expectation.
fn by_cheapest(prepared: &Prepared, node: &Node, price: impl Fn(&Step, f64) -> f64) -> f64 {
    let mut cheapest = vec![f64::INFINITY; node.belief.len()];
    for &index in prepared.endings.iter().filter(|&&index| !node.used.contains(index)) {
        let step = &prepared.steps[index];
        for &(group, ends) in &step.ends {
            cheapest[group] = cheapest[group].min(price(step, ends));
        }
    }
    let stop = stop_minutes(prepared, node);
    // Without any fix a hypothesis ends in handing on, or when nothing is left to try.
    let end = |minutes: f64| match stop {
        Some(price) => minutes.min(price),
        None if minutes.is_finite() => minutes,
        None => 0.0,
    };
    let known = node.belief.iter().zip(cheapest).filter(|(share, _)| **share > 0.0);
    known.map(|(share, minutes)| share * end(minutes)).sum()
}
