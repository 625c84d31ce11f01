//! The part of a problem that still matters in one state.

use std::collections::HashMap;

use super::bit_set::BitSet;
use super::node::{NOTHING, Node};
use super::prepared::Prepared;
use super::step::Step;
use super::words::WordMap;

/// A state with everything left out that cannot change what to do.
#[derive(Debug, Clone)]
pub struct Focus {
    /// The problem without impossible hypotheses, used steps and steps that another one does as well.
    pub prepared: Prepared,
    /// The state in it.
    pub node: Node,
}

/// Leaves out of `prepared` what does not matter in `node`.
///
/// Hypotheses no remaining step tells apart become one group again. Of tests without noise that split
/// alike, need the same mode and no further place, the cheapest stays (the first of equals).
pub fn focus(prepared: &Prepared, node: &Node) -> Focus {
    cut(prepared, node, &kept_groups(node, 0.0), |_| true)
}

/// The same, and leaves out all tests but those in `tests`, and the least likely groups that together
/// have less than `neglect`.
pub fn shortlist(prepared: &Prepared, node: &Node, tests: &BitSet, neglect: f64) -> Focus {
    cut(prepared, node, &kept_groups(node, neglect), |index| tests.contains(index))
}

fn cut(
    prepared: &Prepared,
    node: &Node,
    kept: &[usize],
    is_listed: impl Fn(usize) -> bool,
) -> Focus {
    let steps = useful_steps(prepared, node, kept, is_listed);
    let (merged, classes) = merge(prepared, kept, &steps);
    let mut belief = vec![0.0; merged.len()];
    for (share, members) in belief.iter_mut().zip(&merged) {
        *share = members.iter().map(|&group| node.belief[group]).sum();
    }
    let sum: f64 = belief.iter().sum();
    for share in &mut belief {
        *share /= sum;
    }
    let row = |row: &Vec<f64>| merged.iter().map(|members| row[members[0]]).collect();
    let step = |(index, step): &(usize, &Step)| {
        let rows = step.rows.iter().map(row).collect();
        (*index, step.with_rows(rows))
    };
    let steps = renumber(steps.iter().map(step).collect());
    let focused = prepared.with_steps(steps, classes);
    let used = BitSet::with_room(focused.steps.len());
    let node = Node { belief, mode: node.mode, opened: node.opened.clone(), used };
    Focus { prepared: focused, node }
}

/// Groups that are possible, without the least likely ones that together have less than `neglect`.
pub(super) fn kept_groups(node: &Node, neglect: f64) -> Vec<usize> {
    let mut order: Vec<usize> =
        (0..node.belief.len()).filter(|&group| node.belief[group] > NOTHING).collect();
    order.sort_by(|&a, &b| node.belief[a].total_cmp(&node.belief[b]));
    let mut dropped = 0.0;
    let first = order
        .iter()
        .position(|&group| {
            dropped += node.belief[group];
            dropped >= neglect
        })
        .unwrap_or(order.len().saturating_sub(1));
    let mut kept = order.split_off(first);
    kept.sort_unstable();
    kept
}

/// Unused steps that can show more than one outcome or end the job, without those another does as well.
fn useful_steps<'p>(
    prepared: &'p Prepared,
    node: &Node,
    kept: &[usize],
    is_listed: impl Fn(usize) -> bool,
) -> Vec<(usize, &'p Step)> {
    let mut best: WordMap<Vec<Vec<u64>>, Vec<usize>> = WordMap::default();
    let mut useful: Vec<usize> = Vec::new();
    for (index, step) in prepared.steps.iter().enumerate() {
        let listed = step.ending.is_some() || is_listed(index);
        if !listed || node.used.contains(index) || !does_something(step, kept) {
            continue;
        }
        // Two noisy tests with equal rows are two readings: both may be wanted.
        if step.ending.is_some() || !is_sure(step, kept) {
            useful.push(index);
            continue;
        }
        let alike = best.entry(partition(step, kept)).or_default();
        if alike.iter().any(|&other| replaces(&prepared.steps[other], step, node)) {
            continue;
        }
        let better = |other: &usize| !replaces(step, &prepared.steps[*other], node);
        useful.retain(|other| !alike.contains(other) || better(other));
        alike.retain(better);
        alike.push(index);
        useful.push(index);
    }
    useful.into_iter().map(|index| (index, &prepared.steps[index])).collect()
}

/// Whether each group allows one outcome only.
fn is_sure(step: &Step, kept: &[usize]) -> bool {
    let mut entries = step.rows.iter().flat_map(|row| kept.iter().map(|&group| row[group]));
    entries.all(|likelihood| likelihood <= NOTHING || likelihood >= 1.0 - NOTHING)
}

fn does_something(step: &Step, kept: &[usize]) -> bool {
    let ends = |outcome: usize| kept.iter().any(|&group| step.rows[outcome][group] > 0.0);
    step.ending.is_some_and(ends)
        || step
            .rows
            .iter()
            .any(|row| kept.iter().any(|&group| (row[group] - row[kept[0]]).abs() > NOTHING))
}

/// The rows over `kept` in an order that does not depend on how outcomes are numbered.
fn partition(step: &Step, kept: &[usize]) -> Vec<Vec<u64>> {
    let bits = |row: &Vec<f64>| kept.iter().map(|&group| row[group].to_bits()).collect::<Vec<_>>();
    let mut rows: Vec<Vec<u64>> = step.rows.iter().map(bits).collect();
    rows.retain(|row| row.iter().any(|&likelihood| likelihood != 0));
    rows.sort_unstable();
    rows
}

/// Whether `step` never costs more than `other`, which splits alike.
fn replaces(step: &Step, other: &Step, node: &Node) -> bool {
    let closed = |place: &usize| !node.opened.contains(*place);
    step.enter_mode == other.enter_mode
        && step.leave_mode == other.leave_mode
        && step.minutes <= other.minutes
        && step.places.iter().filter(closed).all(|place| other.places.contains(place))
}

type Merged = (Vec<Vec<usize>>, Vec<std::ops::Range<usize>>);

/// Groups of one class with the same rows in all `steps`, and the ranges of the classes.
fn merge(prepared: &Prepared, kept: &[usize], steps: &[(usize, &Step)]) -> Merged {
    let mut merged: Vec<Vec<usize>> = Vec::new();
    let mut classes = Vec::new();
    for class in &prepared.classes {
        let first = merged.len();
        let mut seen: WordMap<Vec<u64>, usize> = WordMap::default();
        for &group in kept.iter().filter(|group| class.contains(group)) {
            let rows = steps.iter().flat_map(|(_, step)| &step.rows);
            let column: Vec<u64> = rows.map(|row| row[group].to_bits()).collect();
            let at = *seen.entry(column).or_insert_with(|| {
                merged.push(Vec::new());
                merged.len() - 1
            });
            merged[at].push(group);
        }
        if merged.len() > first {
            classes.push(first..merged.len());
        }
    }
    (merged, classes)
}

/// Gives the steps new positions, also where they name each other.
fn renumber(steps: Vec<(usize, Step)>) -> Vec<Step> {
    let new: HashMap<usize, usize> =
        steps.iter().enumerate().map(|(new, (old, _))| (*old, new)).collect();
    steps
        .into_iter()
        .map(|(_, mut step)| {
            step.uses = step.uses.iter().filter_map(|old| new.get(&old).copied()).collect();
            step
        })
        .collect()
}
