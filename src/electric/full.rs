//! A case in which something bends or moves, settled on a core or whole.

use std::cell::OnceCell;

use super::base::{Base, Place};
use super::changed::Changed;
use super::error::SolveError;
use super::law::Row;
use super::level::{Level, Turn};
use super::network::{Branch, BranchId, Law, NodeId, RelayId};
use super::newton::{CorePoint, WholePoint};
use super::on_core::{OnCore, Stop};
use super::residual::{Added, check_bounds, trusted, worst_amps};
use super::response::Response;
use super::sensitivity::{Answer, Sensitivity};
use super::settle::{Cycle, Plant, State, Steadiness, settle, settle_after, steadiness};
use super::straight::{REACH_AMPS, REACH_VOLTS, TIGHT_AMPS};
use super::unit::Unit;
use super::whole::Whole;

/// A network with changes made, settled.
///
/// While relays chatter, volts and amperes are the mean over the states of the cycle, which is what a
/// lamp's eye and a meter's needle make of it.
#[derive(Debug, Clone)]
pub(super) struct Full<'solver> {
    base: &'solver Base,
    pub(super) changed: Changed<'solver>,
    pub(super) settled: Settled<'solver>,
    /// Volts of the nodes, then amperes of the network's own branches, the mean over the cycle: all at once
    /// only for those who need all.
    unknowns: OnceCell<Vec<f64>>,
    /// The added branches with their amperes: the mean over the cycle.
    added: Vec<Added>,
    steadiness: Steadiness,
}

/// The states a case stays in, and how they were found.
#[derive(Debug, Clone)]
pub(super) enum Settled<'solver> {
    Core(Box<OnCore<'solver>>, Cycle<Box<CorePoint>>),
    Whole(Box<Whole<'solver>>, Cycle<Box<WholePoint>>),
}

/// Settles a changed network on its core if that can be trusted, whole if not; from level `first`, up to
/// which it is known to do as the network without changes does.
pub(super) fn settle_case<'solver>(
    levels: &'solver [Level],
    first: usize,
    changed: Changed<'solver>,
) -> Result<Box<Full<'solver>>, SolveError> {
    let (mut at, mut start) = match first {
        0 => (0, State::rest(&changed.relays)),
        _ => (first, levels[first].state.clone()),
    };
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
        let before: Vec<&State> = levels[..at].iter().map(|level| &level.state).collect();
        return match settle_after(&before, &mut *on_core, start, first, None) {
            Ok(cycle) => checked(changed, on_core, cycle),
            Err(Stop::Distrusted) => settle_whole(&level.base, changed),
            Err(Stop::Failed(error)) => Err(error),
        };
    }
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
pub(super) fn settle_whole<'solver>(
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
                let one =
                    |(_, point): &(State, Box<CorePoint>)| share * plant.unknown(point, unknown);
                cycle.iter().map(one).sum()
            }
            _ => self.unknowns()[unknown],
        }
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

    pub(super) fn first_state(&self) -> &State {
        match &self.settled {
            Settled::Core(_, cycle) => &cycle[0].0,
            Settled::Whole(_, cycle) => &cycle[0].0,
        }
    }

    /// The number a further branch would have.
    pub(super) fn next_branch(&self) -> BranchId {
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
                let at = |point: &CorePoint, node| plant.unknown(point, node);
                cycle.iter().map(|(_, point)| at(point, from) - at(point, to)).collect()
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

    /// Volts and ohms a small tester sees between two nodes, at the operating point: open-circuit volts of
    /// `from` over `to`, and the slope there. While relays chatter, the mean of each over the cycle.
    /// Nothing and no ohms for nodes the network does not have.
    pub fn thevenin(&self, from: NodeId, to: NodeId) -> (f64, f64) {
        if !self.has(from) || !self.has(to) {
            return (0.0, 0.0);
        }
        let volts = self.node_volts(from) - self.node_volts(to);
        let ohms = match &self.settled {
            Settled::Core(plant, cycle) => {
                let unit = plant.core.unit(Place::Pair(from, to));
                let ties = plant.ties_at([from, to]);
                let ohms = |(state, point): &(State, Box<CorePoint>)| {
                    if ties.is_empty() {
                        return Response::new(plant, point, &unit).ohms(from, to);
                    }
                    let (plant, point) = plant.with_awake(&ties, state, point)?;
                    Response::new(&plant, &point, &unit).ohms(from, to)
                };
                let sum: Option<f64> = cycle.iter().map(ohms).sum();
                sum.map(|sum| sum / cycle.len() as f64)
            }
            Settled::Whole(plant, cycle) => {
                let ohms = cycle.iter().map(|(_, point)| plant.ohms(point, from, to));
                Some(ohms.sum::<f64>() / cycle.len() as f64)
            }
        };
        (volts, ohms.unwrap_or_else(|| self.whole_ohms(from, to)))
    }

    /// What the volts of `from` over `to` owe to each branch. `None` for nodes the network does not have.
    ///
    /// Costs about as much as a column of the inverse; what is then asked of it costs nothing.
    pub fn sensitivity(&self, from: NodeId, to: NodeId) -> Option<Sensitivity<'_>> {
        if !self.has(from) || !self.has(to) {
            return None;
        }
        let on_core = match &self.settled {
            Settled::Core(plant, cycle) => self.core_answers(plant, cycle, (from, to)),
            Settled::Whole(plant, cycle) => {
                let answer = |(_, point): &(State, Box<WholePoint>)| plant.answer(point, from, to);
                Some(cycle.iter().map(answer).collect())
            }
        };
        let answers = on_core.unwrap_or_else(|| {
            let mut plant = Whole::new(&self.changed);
            let points = self.states().into_iter().filter_map(|state| {
                let point = plant.operate(state, None).ok()?;
                Some(plant.answer(&point, from, to))
            });
            points.collect()
        });
        Some(Sensitivity::new(self.base.layout.ends.as_slice(), &self.changed, answers))
    }

    fn core_answers<'case>(
        &'case self,
        plant: &'case OnCore,
        cycle: &Cycle<Box<CorePoint>>,
        (from, to): (NodeId, NodeId),
    ) -> Option<Vec<Answer<'case>>> {
        let column = plant.core.base.column(Place::Pair(from, to));
        let unit = Unit::Kept(column.clone());
        let ties = plant.ties_at([from, to]);
        if let ([(_, point)], true) = (cycle.as_slice(), ties.is_empty()) {
            let response = Response::new(plant, point, &unit);
            response.ohms(from, to)?;
            let drives = response.drives.into_vec();
            let at = self.unknowns();
            let (base, driven) = (self.base, plant.core.columns());
            return Some(vec![Answer::Core { base, column, driven, drives, at }]);
        }
        let answer = |(state, point): &(State, Box<CorePoint>)| {
            if ties.is_empty() {
                return Response::new(plant, point, &unit).answer(&column, point, (from, to));
            }
            let (plant, point) = plant.with_awake(&ties, state, point)?;
            Response::new(&plant, &point, &unit).answer(&column, &point, (from, to))
        };
        cycle.iter().map(answer).collect()
    }

    /// The ohms between two nodes, of the whole network: where those of the core lose their digits.
    fn whole_ohms(&self, from: NodeId, to: NodeId) -> f64 {
        let mut plant = Whole::new(&self.changed);
        let states = self.states();
        let ohms = states.iter().filter_map(|state| {
            let point = plant.operate(state, None).ok()?;
            Some(plant.ohms(&point, from, to))
        });
        ohms.sum::<f64>() / states.len() as f64
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
