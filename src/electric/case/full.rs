//! A case in which something bends or moves, settled on a core or whole.

mod slopes;

use std::cell::OnceCell;

use crate::electric::base::Base;
use crate::electric::base::unit::Unit;
use crate::electric::base::values::Place;
use crate::electric::changed::Changed;
use crate::electric::error::SolveError;
use crate::electric::law::Row;
use crate::electric::level::{Level, Turn};
use crate::electric::network::{Branch, BranchId, Law, NodeId, RelayId};
use crate::electric::point::newton::{CorePoint, WholePoint};
use crate::electric::point::on_core::{Early, OnCore, Stop};
use crate::electric::point::whole::Whole;
use crate::electric::residual::{Added, check_bounds, trusted, worst_amps};
use crate::electric::residual::{REACH_AMPS, REACH_VOLTS, TIGHT_AMPS};
use crate::electric::settle::{
    Cycle, Plant, State, Steadiness, movers, settle, settle_after, settle_together, steadiness,
};

/// A network with changes made, settled.
///
/// While relays chatter, volts and amperes are the mean over the states of the cycle, which is what a
/// lamp's eye and a meter's needle make of it.
#[derive(Debug, Clone)]
pub(in crate::electric) struct Full<'solver> {
    base: &'solver Base,
    pub(in crate::electric) changed: Changed<'solver>,
    pub(in crate::electric) settled: Settled<'solver>,
    /// Volts of the nodes, then amperes of the network's own branches, the mean over the cycle: all at once
    /// only for those who need all.
    unknowns: OnceCell<Vec<f64>>,
    /// What the drives do in each state, where single unknowns are asked for.
    fields: OnceCell<Vec<Option<Unit<'solver>>>>,
    /// The added branches with their amperes: the mean over the cycle.
    added: Vec<Added>,
    steadiness: Steadiness,
}

/// The states a case stays in, and how they were found.
#[derive(Debug, Clone)]
pub(in crate::electric) enum Settled<'solver> {
    Core(Box<OnCore<'solver>>, Cycle<Box<CorePoint>>),
    Whole(Box<Whole<'solver>>, Cycle<Box<WholePoint>>),
}

/// Settles a changed network on its core if that can be trusted, whole if not; from level `first`, up to
/// which it is known to do as the network without changes does.
///
/// `early` is its operating point in that level's state, where that is known and the armatures or a fuse take it
/// elsewhere than without changes.
pub(in crate::electric) fn settle_case<'solver>(
    levels: &'solver [Level],
    (first, early): (usize, Option<Early>),
    changed: Changed<'solver>,
) -> Result<Box<Full<'solver>>, SolveError> {
    let (mut at, mut start) = match first {
        0 => (0, State::rest(&changed.relays)),
        _ => (first, levels[first].state.clone()),
    };
    if let Some(Early { places, point }) = early {
        let level = &levels[at];
        let on_core = OnCore::with_ports(&level.base, &level.ports, &changed, &places);
        return settle_from(levels, at, (on_core, changed), start, Some(point));
    }
    loop {
        let level = &levels[at];
        let mut on_core = OnCore::new(&level.base, &level.ports, &changed, &start);
        let mut first = None;
        if at + 1 < levels.len() && start == level.state {
            match on_core.operate(&start, None) {
                Ok(point) if moves_on(level, &on_core, &point) => {
                    at += 1;
                    start = levels[at].state.clone();
                    continue;
                }
                Ok(point) => first = Some(point),
                Err(Stop::Distrusted) => return settle_whole(&level.base, changed),
                Err(Stop::Failed(error)) => return Err(error),
            }
        }
        return settle_from(levels, at, (on_core, changed), start, first);
    }
}

/// From a state at a level on, whose operating point may be known.
fn settle_from<'solver>(
    levels: &'solver [Level],
    at: usize,
    (mut on_core, changed): (Box<OnCore<'solver>>, Changed<'solver>),
    start: State,
    first: Option<Box<CorePoint>>,
) -> Result<Box<Full<'solver>>, SolveError> {
    if let Some(point) = &first {
        let movers = movers(&*on_core, &start, point, true);
        if let Some((on_core, cycle)) = ahead(levels, at, &changed, (&start, &movers)) {
            return checked(changed, on_core, cycle);
        }
    }
    let before: Vec<&State> = levels[..at].iter().map(|level| &level.state).collect();
    match settle_after(&before, &mut *on_core, start, first, None) {
        Ok(cycle) => checked(changed, on_core, cycle),
        Err(Stop::Distrusted) => settle_whole(&levels[at].base, changed),
        Err(Stop::Failed(error)) => Err(error),
    }
}

/// Where many armatures move at once, most of them as without changes, all is nearer to the next level than to this
/// one: on a core of that level the many that moved rest. `None` where they do not come to rest.
fn ahead<'solver>(
    levels: &'solver [Level],
    at: usize,
    changed: &Changed<'solver>,
    (state, movers): (&State, &[usize]),
) -> Option<(Box<OnCore<'solver>>, Cycle<Box<CorePoint>>)> {
    let (here, next) = (&levels[at], levels.get(at + 1)?);
    if movers.len() <= 1 {
        return None;
    }
    let state = state.after(movers);
    if state.armatures_apart(&next.state) >= state.armatures_apart(&here.state) {
        return None;
    }
    let mut further = OnCore::new(&next.base, &next.ports, changed, &state);
    let before: Vec<&State> = levels[..=at].iter().map(|level| &level.state).collect();
    let cycle = settle_together(&before, &mut *further, state).ok()??;
    Some((further, cycle))
}

/// Whether the same armatures move next as without changes.
fn moves_on(level: &Level, plant: &OnCore, point: &CorePoint) -> bool {
    let stays = |relay: usize| plant.relay_stays(&level.state, &point.met, relay);
    let amps = |branch| plant.branch_amps(point, branch);
    matches!(level.turn(plant.relays(), stays, amps), Turn::Next)
}

fn checked<'solver>(
    changed: Changed<'solver>,
    on_core: Box<OnCore<'solver>>,
    cycle: Cycle<Box<CorePoint>>,
) -> Result<Box<Full<'solver>>, SolveError> {
    let base = on_core.core.base;
    let case = Full::on_core(changed, on_core, cycle);
    if case.is_within_reach() {
        return Ok(case);
    }
    if case.is_trusted() {
        case.check_bounds()?;
        return Ok(case);
    }
    settle_whole(base, case.changed)
}

/// Settles a changed network whole.
pub(in crate::electric) fn settle_whole<'solver>(
    base: &'solver Base,
    changed: Changed<'solver>,
) -> Result<Box<Full<'solver>>, SolveError> {
    let mut whole = Whole::new(&changed);
    let cycle = settle(&mut whole, State::rest(&changed.relays), None)?;
    let share = 1.0 / cycle.len() as f64;
    let mut all = vec![0.0; whole.layout.size()];
    for (_, point) in &cycle {
        all.iter_mut().zip(&point.unknowns).for_each(|(sum, value)| *sum += share * value);
    }
    let added_amps = all.split_off(whole.layout.nodes + changed.network.branches.len());
    let place =
        |(branch, amps): (&Branch, f64)| (branch.from.0 as usize, branch.to.0 as usize, amps);
    let case = Box::new(Full {
        base,
        added: changed.across.iter().zip(added_amps).map(place).collect(),
        steadiness: steadiness(&cycle),
        unknowns: OnceCell::from(all),
        fields: OnceCell::new(),
        settled: Settled::Whole(Box::new(whole), cycle),
        changed,
    });
    case.check_bounds()?;
    Ok(case)
}

impl<'solver> Full<'solver> {
    fn on_core(
        changed: Changed<'solver>,
        plant: Box<OnCore<'solver>>,
        cycle: Cycle<Box<CorePoint>>,
    ) -> Box<Self> {
        let mut added = plant.added(&cycle[0].1);
        if cycle.len() > 1 {
            let share = 1.0 / cycle.len() as f64;
            for added in &mut added {
                added.2 *= share;
            }
            for (_, point) in &cycle[1..] {
                let more = plant.added(point);
                added.iter_mut().zip(more).for_each(|(sum, value)| sum.2 += share * value.2);
            }
        }
        let steadiness = steadiness(&cycle);
        Box::new(Full {
            base: plant.core.base,
            changed,
            settled: Settled::Core(plant, cycle),
            unknowns: OnceCell::new(),
            fields: OnceCell::new(),
            added,
            steadiness,
        })
    }

    fn unknowns(&self) -> &[f64] {
        self.unknowns.get_or_init(|| {
            let Settled::Core(plant, cycle) = &self.settled else { return Vec::new() };
            let mut unknowns = plant.unknowns(&cycle[0].1);
            if cycle.len() > 1 {
                let share = 1.0 / cycle.len() as f64;
                for value in &mut unknowns {
                    *value *= share;
                }
                for (_, point) in &cycle[1..] {
                    let more = plant.unknowns(point);
                    unknowns.iter_mut().zip(more).for_each(|(sum, value)| *sum += share * value);
                }
            }
            unknowns
        })
    }

    /// One of them.
    fn unknown(&self, unknown: usize) -> f64 {
        match (self.unknowns.get(), &self.settled) {
            (None, Settled::Core(plant, cycle)) => {
                let share = 1.0 / cycle.len() as f64;
                let each = self.each_state(plant, cycle, |value| value(unknown));
                each.map(|value| share * value).sum()
            }
            _ => self.unknowns()[unknown],
        }
    }

    /// What is told of each state by one who may ask for its unknowns.
    fn each_state<'a, T>(
        &'a self,
        plant: &'a OnCore<'solver>,
        cycle: &'a Cycle<Box<CorePoint>>,
        tell: impl Fn(&dyn Fn(usize) -> f64) -> T + 'a,
    ) -> impl Iterator<Item = T> + 'a {
        let told =
            move |((_, point), field): (&'a (State, Box<CorePoint>), &'a Option<Unit<'_>>)| {
                tell(&|unknown| plant.unknown(point, field.as_ref(), unknown))
            };
        cycle.iter().zip(self.fields()).map(told)
    }

    fn fields(&self) -> &[Option<Unit<'solver>>] {
        self.fields.get_or_init(|| match &self.settled {
            Settled::Core(plant, cycle) => {
                cycle.iter().map(|(_, point)| plant.core.field(&point.drives, None)).collect()
            }
            Settled::Whole(..) => Vec::new(),
        })
    }

    /// Whether everything stayed so small that neither its rounding nor its bounds need a look.
    fn is_within_reach(&self) -> bool {
        let Settled::Core(plant, cycle) = &self.settled else { return false };
        cycle.iter().all(|(_, point)| {
            let (volts, amps) = plant.core.reach(&point.drives);
            let mut ports = point.lines.iter().zip(&point.at);
            let tight = ports.all(|(line, at)| *line != Row::OPEN || at.1.abs() <= TIGHT_AMPS);
            tight && volts <= REACH_VOLTS && amps <= REACH_AMPS
        })
    }

    fn is_trusted(&self) -> bool {
        let Settled::Core(plant, _) = &self.settled else { return true };
        let base = self.base;
        let is_port = |branch| plant.core.places.contains(&Place::Branch(branch));
        trusted(&base.layout, &base.rows, self.unknowns(), &self.added, is_port)
    }

    fn check_bounds(&self) -> Result<(), SolveError> {
        let own = self.changed.network.branches.len();
        let driven = |branch: usize| {
            let law = if branch < own {
                self.changed.law(branch)
            } else {
                &self.changed.across[branch - own].law
            };
            matches!(law, Law::Current { .. })
        };
        check_bounds(self.nodes(), self.unknowns(), &self.added, driven)
    }

    /// Number of nodes: branches begin behind them among the unknowns.
    fn nodes(&self) -> usize {
        self.base.layout.nodes
    }

    fn states(&self) -> Vec<&State> {
        match &self.settled {
            Settled::Core(_, cycle) => cycle.iter().map(|(state, _)| state).collect(),
            Settled::Whole(_, cycle) => cycle.iter().map(|(state, _)| state).collect(),
        }
    }

    pub(in crate::electric) fn first_state(&self) -> &State {
        match &self.settled {
            Settled::Core(_, cycle) => &cycle[0].0,
            Settled::Whole(_, cycle) => &cycle[0].0,
        }
    }

    /// The number a further branch would have.
    pub(in crate::electric) fn next_branch(&self) -> BranchId {
        BranchId((self.changed.network.branches.len() + self.added.len()) as u32)
    }

    fn has(&self, node: NodeId) -> bool {
        (node.0 as usize) < self.nodes()
    }

    /// Volts of a node over ground; zero for a node the network does not have.
    pub fn node_volts(&self, node: NodeId) -> f64 {
        if self.has(node) { self.unknown(node.0 as usize) } else { 0.0 }
    }

    /// Amperes of a branch, first node to second; added branches count on after the network's own. Zero
    /// for a branch the network does not have.
    pub fn branch_amps(&self, branch: BranchId) -> f64 {
        let own = self.changed.network.branches.len();
        match (branch.0 as usize).checked_sub(own) {
            None => self.unknown(self.nodes() + branch.0 as usize),
            Some(n) => self.across_amps(n),
        }
    }

    /// Amperes of the `n`-th `Change::Across`, counted from zero.
    pub fn across_amps(&self, n: usize) -> f64 {
        self.added.get(n).map_or(0.0, |added| added.2)
    }

    /// Between how many volts those of `from` over `to` swing while relays chatter.
    pub fn swing(&self, from: NodeId, to: NodeId) -> f64 {
        if self.steadiness == Steadiness::Steady || !self.has(from) || !self.has(to) {
            return 0.0;
        }
        let (from, to) = (from.0 as usize, to.0 as usize);
        let volts: Vec<f64> = match &self.settled {
            Settled::Core(plant, cycle) => {
                self.each_state(plant, cycle, |value| value(from) - value(to)).collect()
            }
            Settled::Whole(_, cycle) => {
                cycle.iter().map(|(_, point)| point.unknowns[from] - point.unknowns[to]).collect()
            }
        };
        let most = volts.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        most - volts.iter().copied().fold(f64::INFINITY, f64::min)
    }

    /// The relay is pulled for good; one that chatters is not.
    pub fn pulled(&self, relay: RelayId) -> bool {
        self.states().iter().all(|state| state.pulled.get(relay.0 as usize) == Some(&true))
    }

    /// Whether it came to rest.
    pub fn steadiness(&self) -> &Steadiness {
        &self.steadiness
    }

    /// Fuses that blew on the way, in that order.
    pub fn blown(&self) -> &[BranchId] {
        &self.first_state().blown
    }

    /// The worst error of Kirchhoff's current law over all nodes, amperes.
    pub fn residual_amps(&self) -> f64 {
        worst_amps(&self.base.layout, self.unknowns(), &self.added)
    }

    /// How far the volts of a node may be off, from what is left over in the equations: the worst of all
    /// nodes. A floating island without a way to ground has the largest, as only its leak holds it.
    pub fn error_volts(&self) -> f64 {
        let worst = |errors: Vec<f64>| errors.into_iter().fold(0.0, f64::max);
        match &self.settled {
            Settled::Core(plant, cycle) => {
                worst(cycle.iter().map(|(_, point)| plant.error_volts(point)).collect())
            }
            Settled::Whole(plant, cycle) => {
                worst(cycle.iter().map(|(_, point)| plant.error_volts(point)).collect())
            }
        }
    }
}
