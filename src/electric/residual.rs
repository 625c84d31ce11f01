//! How well a solution satisfies its equations, and how far it may be off.

use super::error::SolveError;
use super::law::Row;
use super::linear::equations::{LEAK_SIEMENS, Layout};
use super::network::{Branch, Law};

/// Sums that stay below are right to a nanovolt.
pub(super) const REACH_VOLTS: f64 = 1e6;

/// Sums that stay below are right to a nanoampere.
pub(super) const REACH_AMPS: f64 = 1e6;

/// An open branch carries no more than this, whatever the rounding.
pub(super) const TIGHT_AMPS: f64 = 1e-10;

/// A resistance this small beside what it is a difference of has lost its digits.
pub(super) const LEAST_SHARE: f64 = 1e-10;

/// Share of what meets in an equation that may be left over.
const LEFT_SHARE: f64 = 1e-9;

/// What may be left over beside that: a picoampere tells no tester anything.
const LEFT_AMPS: f64 = 1e-12;

/// More amperes than any source behind some resistance delivers.
const ENDLESS_AMPS: f64 = 1e7;

/// More volts than any current source with a way back needs.
const ENDLESS_VOLTS: f64 = 1e7;

/// An added branch of a solution: from, to, amperes.
pub(super) type Added = (usize, usize, f64);

/// Amperes left over at each node, and the sum of all that meet there.
fn node_sums(layout: &Layout, unknowns: &[f64], added: &[Added]) -> Vec<(f64, f64)> {
    let mut sums: Vec<(f64, f64)> = unknowns[..layout.nodes]
        .iter()
        .map(|volts| (volts * LEAK_SIEMENS, (volts * LEAK_SIEMENS).abs()))
        .collect();
    let own = layout.ends.iter().zip(&unknowns[layout.nodes..]);
    for (from, to, amps) in
        own.map(|(&(from, to), &amps)| (from, to, amps)).chain(added.iter().copied())
    {
        sums[from].0 += amps;
        sums[from].1 += amps.abs();
        sums[to].0 -= amps;
        sums[to].1 += amps.abs();
    }
    sums[0] = (0.0, 0.0);
    sums
}

/// The worst error of Kirchhoff's current law, amperes.
pub(super) fn worst_amps(layout: &Layout, unknowns: &[f64], added: &[Added]) -> f64 {
    node_sums(layout, unknowns, added).iter().fold(0.0, |worst: f64, sum| worst.max(sum.0.abs()))
}

/// Whether nodes and branches are satisfied; branches of which `other` is true have another line than
/// that in `rows`.
pub(super) fn trusted(
    layout: &Layout,
    rows: &[Row],
    unknowns: &[f64],
    added: &[Added],
    other: impl Fn(usize) -> bool,
) -> bool {
    let small = |left: f64, met: f64| left.abs() <= LEFT_SHARE * met + LEFT_AMPS;
    let nodes = node_sums(layout, unknowns, added).iter().all(|&(left, met)| small(left, met));
    nodes
        && rows.iter().enumerate().all(|(branch, row)| {
            let (from, to) = layout.ends[branch];
            let (high, low) = (row.alpha * unknowns[from], row.alpha * unknowns[to]);
            let carried = row.beta * unknowns[layout.nodes + branch];
            let met = high.abs() + low.abs() + carried.abs() + row.gamma.abs();
            small(high - low + carried - row.gamma, met) || other(branch)
        })
}

/// Tells ideal sources in a quarrel and current sources without a way back by what they lead to.
/// `driven` is true of branches that carry what a current source says.
pub(super) fn check_bounds(
    nodes: usize,
    unknowns: &[f64],
    added: &[Added],
    driven: impl Fn(usize) -> bool,
) -> Result<(), SolveError> {
    let (volts, amps) = unknowns.split_at(nodes);
    if let Some(node) = volts.iter().position(|&volts| beyond(volts, ENDLESS_VOLTS)) {
        return Err(SolveError::NoReturn { node: node as u32, volts: volts[node].abs() });
    }
    let all = amps.iter().copied().chain(added.iter().map(|added| added.2)).enumerate();
    for (branch, amps) in all {
        if beyond(amps, ENDLESS_AMPS) && !driven(branch) {
            return Err(SolveError::ShortedSource { branch: branch as u32, amps: amps.abs() });
        }
    }
    Ok(())
}

/// The same for a tester, which is the branch `index`.
pub(super) fn check_tester(
    index: usize,
    branch: &Branch,
    volts: f64,
    amps: f64,
) -> Result<(), SolveError> {
    if beyond(volts, ENDLESS_VOLTS) {
        return Err(SolveError::NoReturn { node: branch.from.0, volts: volts.abs() });
    }
    if beyond(amps, ENDLESS_AMPS) && !matches!(branch.law, Law::Current { .. }) {
        return Err(SolveError::ShortedSource { branch: index as u32, amps: amps.abs() });
    }
    Ok(())
}

fn beyond(value: f64, most: f64) -> bool {
    value.is_nan() || value.abs() > most
}
