//! What a change touches before there is a core: branches that will not rest, ties of floating islands.

use crate::electric::base::Base;
use crate::electric::base::values::Place;
use crate::electric::changed::Changed;
use crate::electric::level::resting::Resting;
use crate::electric::moves::Moves;
use crate::electric::network::{GROUND, NodeId};
use crate::electric::settle::State;
use crate::electric::short::PerPort;

/// What will not rest under a single change of a branch that does not bend: one drive tells, before there is a
/// core.
pub(in crate::electric) fn foreseen(
    base: &Base,
    resting: &Resting,
    changed: &Changed<'_>,
    state: &State,
) -> PerPort<usize> {
    let mut stirred = PerPort::new();
    let ([(branch, law)], []) = (&changed.laws[..], &changed.across[..]) else { return stirred };
    let place = Place::Branch(branch.0 as usize);
    // What a tie holds in the factored matrix is not held: its island goes its own way.
    let floats = nodes_of(base, &[place]).any(|node| resting.tie_at(node).is_some());
    let Some(column) = base.kept(place).filter(|_| !floats) else { return stirred };
    let Some(line) = Moves::of(*branch, law).form(state).line() else { return stirred };
    let (unit, rest) = (base.at(place, &column.all), base.at(place, &base.rest.all));
    let drive = line.drive(rest, unit);
    if !drive.is_finite() {
        return stirred;
    }
    for (index, rester) in resting.list().iter().enumerate().filter(|(_, rester)| !rester.is_tie) {
        let at = || {
            let (rest, unit) =
                (base.at(rester.place, &base.rest.all), base.at(rester.place, &column.all));
            (rest.0 + drive * unit.0, rest.1 + drive * unit.1)
        };
        let watched = base.rest.watched[index] + drive * column.watched[index];
        if rester.is_stirred(state, watched, at) {
            stirred.push(index);
        }
    }
    stirred
}

/// The nodes that places touch; those of a tie tell nothing.
pub(in crate::electric) fn nodes_of<'a>(
    base: &'a Base,
    places: &'a [Place],
) -> impl Iterator<Item = NodeId> + 'a {
    let node = |node: usize| NodeId(node as u32);
    places.iter().flat_map(move |place| match *place {
        Place::Branch(branch) if branch >= base.own => [GROUND; 2],
        Place::Branch(branch) => base.ends(Place::Branch(branch)).map(node),
        Place::Pair(from, to) => [from, to],
    })
}

/// Ties, not yet awake, of the islands that these nodes are on.
pub(in crate::electric) fn ties_at(
    resting: &Resting,
    awake: &[usize],
    nodes: impl IntoIterator<Item = NodeId>,
) -> PerPort<usize> {
    let mut ties: PerPort<usize> =
        nodes.into_iter().filter_map(|node| resting.tie_at(node)).collect();
    ties.retain(|tie| !awake.contains(tie));
    ties.sort_unstable();
    ties.dedup();
    ties
}
