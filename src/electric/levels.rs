//! The levels of a network: the states it goes through on its own way to rest, and the network factored around
//! each.

use super::base::Base;
use super::base::values::{Place, Watched};
use super::case::full::settle_case;
use super::changed::Changed;
use super::error::SolveError;
use super::law::{Form, Row};
use super::level::Level;
use super::level::resting::{Ports, Rester, Resting};
use super::linear::equations::Layout;
use super::linear::ordering::floating;
use super::moves::Moves;
use super::network::{BranchId, Law, Network};
use super::point::on_core::{OnCore, Stop};
use super::point::whole::Whole;
use super::settle::{Plant, State, Steadiness};
use super::short::{PerPort, alike};

/// What a contact is in the factored matrix, whatever its state: halfway between closed and open, so
/// that either is as easily put in its place, and two of them can cut off or join what lies between.
/// (At 1e5 ohms a starter's 300 A lost ten nanovolts, at 1e3 two open contacts came near the leak.)
const CONTACT_OHMS: f64 = 1e4;

/// What holds a floating island in the factored matrix, for the same reason; a port of every case, as in
/// truth nothing does but its leak.
const TIE_OHMS: f64 = 1e4;

/// The same for a diode.
const DIODE_OHMS: f64 = 1e3;

/// With more branches that bend or move, the network's own operating point is found on the whole network: a
/// core is dense, and so takes the cube of their number.
const MOST_STANDING: usize = 40;

/// The levels of a network: at least one, the first of which begins from rest.
pub(super) fn levels(
    network: &Network,
    fuses: &[(BranchId, f64)],
) -> Result<Vec<Level>, SolveError> {
    let start = State::rest(&network.relays);
    let (base, ports) = first(network)?;
    let at = first_point(&base, &ports, &Changed::none(network, fuses), &start);
    let around = at.ok().and_then(|at| around(network, fuses, &at, &start));
    match around {
        Some(kept) => followed(network, fuses, Level::new(network, fuses, kept, start)),
        None => Ok(vec![Level::blind(base, ports, start)]),
    }
}

/// Volts and amperes of a network's branches.
type At = Vec<(f64, f64)>;

/// Where the network is at rest, before any armature moves.
fn first_point(
    base: &Base,
    ports: &Ports,
    changed: &Changed<'_>,
    state: &State,
) -> Result<At, SolveError> {
    if ports.always.len() <= MOST_STANDING {
        let mut plant = OnCore::new(base, ports, changed, state);
        match plant.operate(state, None) {
            Ok(point) => return Ok(at(&base.layout, base.own, &plant.unknowns(&point))),
            Err(Stop::Failed(error)) => return Err(error),
            Err(Stop::Distrusted) => {}
        }
    }
    let mut plant = Whole::new(changed);
    let point = plant.operate(state, None)?;
    Ok(at(&plant.layout, base.own, &point.unknowns))
}

fn at(layout: &Layout, own: usize, unknowns: &[f64]) -> At {
    let one = |branch| (layout.across(unknowns, branch), unknowns[layout.nodes + branch]);
    (0..own).map(one).collect()
}

/// More states than these are not kept: relays that switch relays that switch relays.
const MOST_LEVELS: usize = 10;

/// The levels from the first on, as far as the network goes its way through them to a steady end; else the
/// first alone.
fn followed(
    network: &Network,
    fuses: &[(BranchId, f64)],
    first: Level,
) -> Result<Vec<Level>, SolveError> {
    let mut levels = vec![first];
    if levels[0].leaving.is_empty() {
        return Ok(levels);
    }
    let sound = settle_case(&levels, (0, None), Changed::none(network, fuses))?;
    let steady = *sound.steadiness() == Steadiness::Steady && sound.blown().is_empty();
    let end = steady.then(|| sound.first_state().clone());
    drop(sound);
    let mut more = Vec::new();
    if let Some(end) = end {
        more = further(network, fuses, &levels[0], &end);
    }
    if more.is_empty() {
        levels = levels.into_iter().map(Level::unsure).collect();
    }
    levels.extend(more);
    Ok(levels)
}

/// The levels behind the first, if they lead to `end`.
fn further(network: &Network, fuses: &[(BranchId, f64)], first: &Level, end: &State) -> Vec<Level> {
    let changed = Changed::none(network, fuses);
    let mut more: Vec<Level> = Vec::new();
    while more.len() + 1 < MOST_LEVELS {
        let last = more.last().unwrap_or(first);
        if last.leaving.is_empty() {
            return if last.state == *end { more } else { Vec::new() };
        }
        let mut state = last.state.clone();
        last.moving.iter().for_each(|&relay| state.pulled[relay] = !state.pulled[relay]);
        let mut plant = OnCore::new(&last.base, &last.ports, &changed, &state);
        let Ok(point) = plant.operate(&state, None) else { return Vec::new() };
        let at = at(&last.base.layout, last.base.own, &plant.unknowns(&point));
        drop(plant);
        let Some(kept) = around(network, fuses, &at, &state) else { return Vec::new() };
        let level = Level::new(network, fuses, kept, state);
        more.push(level);
    }
    Vec::new()
}

/// The network factored halfway between what its branches can be, each of those a port of every case.
fn first(network: &Network) -> Result<(Base, Ports), SolveError> {
    let laws = || network.branches.iter().map(|branch| &branch.law);
    let base = factored(network, laws().map(standing_row).collect(), (&[], Vec::new()))?;
    let own = laws().enumerate().filter(|(_, law)| stands(law)).map(|(branch, _)| branch);
    let always: PerPort<Place> = own.chain(base.own..base.rows.len()).map(Place::Branch).collect();
    let start = alike(always.len(), (0.0, 0.0));
    Ok((base, Ports { always, start, ..Ports::default() }))
}

/// The network factored around an operating point of it: curves on their tangents, contacts open or
/// closed. `None` where it cannot be factored so.
fn around(
    network: &Network,
    fuses: &[(BranchId, f64)],
    at: &At,
    state: &State,
) -> Option<(Base, Ports)> {
    let mut ports = Ports::default();
    let mut resting = Vec::new();
    let mut rows = Vec::with_capacity(network.branches.len());
    for (index, branch) in network.branches.iter().enumerate() {
        if !stands(&branch.law) {
            rows.push(standing_row(&branch.law));
            continue;
        }
        let (place, at) = (Place::Branch(index), at[index]);
        let moves = Moves::of(BranchId(index as u32), &branch.law);
        let form = moves.form(state);
        if let Some(point) = form.meet(at.0, at.1) {
            resting.push(Rester::curve(place, moves, form, point));
            rows.push(Row::tangent(point));
        } else if let (Law::Contact { .. }, Form::Line(row)) = (&branch.law, *form) {
            resting.push(Rester { moves, ..Rester::line(place, at) });
            rows.push(row);
        } else {
            ports.always.push(place);
            ports.start.push(at);
            rows.push(standing_row(&branch.law));
        }
    }
    let windings = network.relays.iter().flat_map(|relay| &relay.windings).map(|one| one.0);
    let looks = windings.chain(fuses.iter().map(|one| one.0));
    let looks = looks.map(|branch| Watched::Amps(branch.0 as usize)).collect();
    let base = factored(network, rows, (&resting, looks)).ok()?;
    ports.resting = Resting::new(resting, &base.layout, &base.rows, base.own);
    Some((base, ports))
}

/// Factors a network with a line for each branch, its islands tied; of each solution what will rest is
/// watched, and what is to be looked at beside.
fn factored(
    network: &Network,
    mut rows: Vec<Row>,
    (resting, looks): (&[Rester], Vec<Watched>),
) -> Result<Base, SolveError> {
    let mut layout = Layout::new(network.nodes.max(1), &network.branches);
    let ties = floating(&layout, &rows);
    layout.ends.extend(ties.iter().map(|&node| (node, 0)));
    rows.extend(ties.iter().map(|_| Row::source(0.0, TIE_OHMS)));
    let mut watched = Resting::watched(resting, network.branches.len(), ties.len());
    watched.extend(looks);
    Base::new(layout, rows, ties.len(), watched)
}

/// Whether a branch is a port of every case.
fn stands(law: &Law) -> bool {
    matches!(
        law,
        Law::Contact { .. }
            | Law::Battery { .. }
            | Law::Lamp { .. }
            | Law::Diode { .. }
            | Law::Motor { .. }
            | Law::Behind { .. }
    )
}

/// The line of a branch in the factored matrix.
fn standing_row(law: &Law) -> Row {
    let ohms = standing_ohms(law);
    match Form::of(law, true) {
        Form::Line(row) if ohms == 0.0 => row,
        _ => Row::source(0.0, ohms),
    }
}

/// What stands in the factored matrix for a branch that bends or moves; zero for others.
fn standing_ohms(law: &Law) -> f64 {
    match *law {
        Law::Contact { .. } => CONTACT_OHMS,
        Law::Battery { ohms, .. } => ohms,
        Law::Diode { .. } => DIODE_OHMS,
        Law::Lamp { volts, watts } => volts * volts / watts,
        Law::Motor { running_amps, rated_volts, .. } => rated_volts / running_amps,
        Law::Behind { ohms, bent } => ohms + standing_ohms(&bent.into()),
        _ => 0.0,
    }
}
