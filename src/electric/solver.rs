//! The door of the room: a network made ready to be solved many times with a few changes each.

use std::sync::Arc;

use super::case::{Case, settle_case, settle_whole};
use super::changed::{Change, Changed, check_network};
use super::equations::Layout;
use super::error::SolveError;
use super::law::{Form, Row};
use super::moves::Moves;
use super::network::{Branch, BranchId, Law, Network};
use super::ordering::floating;
use super::resting::{Ports, Rester, Resting, reach_volts};
use super::settle::{State, Steadiness};
use super::update::{Base, Place};

/// What a contact is in the factored matrix, whatever its state: halfway between closed and open, so
/// that either is as easily put in its place, and two of them can cut off or join what lies between.
/// (At 1e5 ohms a starter's 300 A lost ten nanovolts, at 1e3 two open contacts came near the leak.)
const CONTACT_OHMS: f64 = 1e4;

/// What holds a floating island in the factored matrix, for the same reason; a port of every case, as in
/// truth nothing does but its leak.
const TIE_OHMS: f64 = 1e4;

/// With more branches that bend or move, the network's own operating point is found on the whole network: a
/// core of all of them would take longer (a dense matrix of 40 costs what a sparse one of a thousand does).
const MOST_STANDING: usize = 40;

/// The same for a diode.
const DIODE_OHMS: f64 = 1e3;

/// A network made ready: checked, factored once, its own operating point found.
///
/// All that is asked of it afterwards is a change of a few branches, solved on the columns of the inverse
/// that belong to them; those columns are computed when first needed and kept. A
/// solver can be shared between threads, and what it answers does not depend on the order of the questions.
///
/// ```
/// use halfsplit::electric::{Branch, BranchId, Change, GROUND, Law, Network, NodeId, Solver};
///
/// let (supply, middle) = (NodeId(1), NodeId(2));
/// let branches = vec![
///     Branch { from: supply, to: GROUND, law: Law::Source { volts: 12.0, ohms: 0.0 } },
///     Branch { from: supply, to: middle, law: Law::Resistor { ohms: 100.0 } },
///     Branch { from: middle, to: GROUND, law: Law::Resistor { ohms: 200.0 } },
/// ];
/// let solver = Solver::new(&Network { nodes: 3, branches, relays: vec![] })?;
/// assert!((solver.case(&[])?.node_volts(middle) - 8.0).abs() < 1e-9);
/// let open = Change::Law { branch: BranchId(2), law: Law::Open };
/// assert!((solver.case(&[open])?.node_volts(middle) - 12.0).abs() < 1e-6);
/// # Ok::<(), halfsplit::electric::SolveError>(())
/// ```
#[derive(Debug, Clone)]
pub struct Solver {
    ready: Arc<Ready>,
}

#[derive(Debug)]
struct Ready {
    network: Network,
    fuses: Vec<(BranchId, f64)>,
    base: Base,
    ports: Ports,
}

impl Solver {
    /// Checks and factors the network, finds its own operating point (relays released at the start, fuses
    /// whole).
    pub fn new(network: &Network) -> Result<Solver, SolveError> {
        let fuses = check_network(network)?;
        let (base, mut ports) = first(network)?;
        let own = {
            let changed = Changed::none(network, &fuses);
            let sound = if ports.always.len() > MOST_STANDING {
                settle_whole(&base, changed)?
            } else {
                settle_case(&base, &ports, changed)?
            };
            Own::of(network, &sound)
        };
        let around = own.state.as_ref().and_then(|state| around(network, &own, state));
        let (base, ports) = around.unwrap_or_else(|| {
            // A tie is straight: it needs no place to begin.
            let at = |place: &Place| match *place {
                Place::Branch(branch) => own.at.get(branch).copied().unwrap_or_default(),
                Place::Pair(..) => (0.0, 0.0),
            };
            ports.start = ports.always.iter().map(at).collect();
            (base, ports)
        });
        Ok(Solver { ready: Arc::new(Ready { network: network.clone(), fuses, base, ports }) })
    }

    /// The same network with changes made, settled from rest (relays released, fuses whole).
    pub fn case(&self, changes: &[Change]) -> Result<Case<'_>, SolveError> {
        let ready = &*self.ready;
        let mut changed = Changed::none(&ready.network, &ready.fuses);
        changes.iter().try_for_each(|change| changed.make(change))?;
        settle_case(&ready.base, &ready.ports, changed)
    }
}

#[cfg(test)]
impl Solver {
    /// The same case, factored as a whole: what a core must agree with.
    pub(super) fn whole_case(&self, changes: &[Change]) -> Result<Case<'_>, SolveError> {
        let ready = &*self.ready;
        let mut changed = Changed::none(&ready.network, &ready.fuses);
        changes.iter().try_for_each(|change| changed.make(change))?;
        settle_whole(&ready.base, changed)
    }
}

/// Where a network is when nothing is wrong.
struct Own {
    /// Volts and amperes of its branches.
    at: Vec<(f64, f64)>,
    /// The state it rests in; none if it chatters.
    state: Option<State>,
}

impl Own {
    fn of(network: &Network, sound: &Case) -> Own {
        let at = |(index, branch): (usize, &Branch)| {
            let volts = sound.node_volts(branch.from) - sound.node_volts(branch.to);
            (volts, sound.branch_amps(BranchId(index as u32)))
        };
        let steady = *sound.steadiness() == Steadiness::Steady;
        Own {
            at: network.branches.iter().enumerate().map(at).collect(),
            state: steady.then(|| sound.first_state().clone()),
        }
    }
}

/// The network factored halfway between what its branches can be, each of those a port of every case.
fn first(network: &Network) -> Result<(Base, Ports), SolveError> {
    let laws = || network.branches.iter().map(|branch| &branch.law);
    let base = factored(network, laws().map(standing_row).collect(), &[])?;
    let own = laws().enumerate().filter(|(_, law)| stands(law)).map(|(branch, _)| branch);
    let always: Vec<Place> = own.chain(base.own..base.rows.len()).map(Place::Branch).collect();
    let start = vec![(0.0, 0.0); always.len()];
    Ok((base, Ports { always, start, resting: Resting::default() }))
}

/// The network factored around its own operating point: curves on their tangents, open contacts open.
///
/// Closed contacts stay ports, halfway as before: opened from closed they could cut an island off, of which
/// the factors would know the leak no more. `None` where it cannot be factored so.
fn around(network: &Network, own: &Own, state: &State) -> Option<(Base, Ports)> {
    let mut always = Vec::new();
    let mut start = Vec::new();
    let mut resting = Vec::new();
    let mut rows = Vec::with_capacity(network.branches.len());
    for (index, branch) in network.branches.iter().enumerate() {
        if !stands(&branch.law) {
            rows.push(standing_row(&branch.law));
            continue;
        }
        let (place, at) = (Place::Branch(index), own.at[index]);
        let moves = Moves::of(BranchId(index as u32), &branch.law);
        let form = moves.form(state);
        if let Some(point) = form.meet(at.0, at.1) {
            let at = (point.volts, point.amps);
            let reach_volts = reach_volts(form, point);
            resting.push(Rester { place, at, moves, reach_volts, is_tie: false });
            rows.push(Row::tangent(point));
        } else if matches!(form, Form::Line(row) if row == Row::OPEN) {
            resting.push(Rester { place, at, moves, reach_volts: 0.0, is_tie: false });
            rows.push(Row::OPEN);
        } else {
            always.push(place);
            start.push(at);
            rows.push(standing_row(&branch.law));
        }
    }
    let base = factored(network, rows, &resting).ok()?;
    let resting = Resting::new(resting, &base.layout, &base.rows, base.own);
    Some((base, Ports { always, start, resting }))
}

/// Factors a network with a line for each branch, its islands tied; `resting` will rest.
fn factored(network: &Network, mut rows: Vec<Row>, resting: &[Rester]) -> Result<Base, SolveError> {
    let mut layout = Layout::new(network.nodes.max(1), &network.branches);
    let ties = floating(&layout, &rows);
    layout.ends.extend(ties.iter().map(|&node| (node, 0)));
    rows.extend(ties.iter().map(|_| Row::source(0.0, TIE_OHMS)));
    let watched = Resting::watched(resting, network.branches.len(), ties.len());
    Base::new(layout, rows, ties.len(), watched)
}

/// Whether a branch is a port of every case.
fn stands(law: &Law) -> bool {
    match law {
        Law::Contact { .. }
        | Law::Battery { .. }
        | Law::Lamp { .. }
        | Law::Diode { .. }
        | Law::Motor { .. } => true,
        Law::Behind { law, .. } => stands(law),
        _ => false,
    }
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
        Law::Behind { ohms, ref law } if stands(law) => ohms + standing_ohms(law),
        _ => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::super::network::{GROUND, NodeId, Relay, RelayId};
    use super::*;

    fn network(nodes: u32, branches: &[(u32, u32, Law)]) -> Network {
        let branch = |(from, to, law): &(u32, u32, Law)| Branch {
            from: NodeId(*from),
            to: NodeId(*to),
            law: law.clone(),
        };
        Network { nodes, branches: branches.iter().map(branch).collect(), relays: Vec::new() }
    }

    fn ohms(ohms: f64) -> Law {
        Law::Resistor { ohms }
    }

    #[track_caller]
    fn check(found: f64, expected: f64, tolerance: f64) {
        assert!((found - expected).abs() <= tolerance, "found {found}, expected {expected}");
    }

    /// Battery, corroded joint, lamp.
    fn lamp_circuit() -> Network {
        network(
            4,
            &[
                (1, 0, Law::Source { volts: 12.6, ohms: 0.02 }),
                (1, 2, ohms(0.01)),
                (2, 3, ohms(0.01)),
                (3, 0, Law::Lamp { volts: 12.0, watts: 21.0 }),
            ],
        )
    }

    /// A battery feeds a solenoid coil (branch 2) and, by its contact, a starter.
    fn starter_circuit(battery_ohms: f64) -> Network {
        let mut network = network(
            3,
            &[
                (1, 0, Law::Source { volts: 12.6, ohms: battery_ohms }),
                (1, 2, Law::Contact { ohms: 0.001, relay: RelayId(0), rests_closed: false }),
                (1, 0, ohms(3.6)),
                (2, 0, Law::Motor { stall_ohms: 0.02, running_amps: 120.0, rated_volts: 11.0 }),
            ],
        );
        network.relays.push(Relay {
            windings: vec![(BranchId(2), 1.0)],
            pull_in_amps: 7.0 / 3.6,
            drop_out_amps: 3.0 / 3.6,
            stuck: None,
        });
        network
    }

    #[test]
    fn divider_with_and_without_faults() {
        let network = network(
            3,
            &[(1, 0, Law::Source { volts: 12.0, ohms: 0.0 }), (1, 2, ohms(1e3)), (2, 0, ohms(2e3))],
        );
        let solver = Solver::new(&network).unwrap();
        let sound = solver.case(&[]).unwrap();
        check(sound.node_volts(NodeId(2)), 8.0, 1e-7);
        check(sound.branch_amps(BranchId(0)), -0.004, 1e-10);
        let (volts, resistance) = sound.thevenin(NodeId(2), GROUND);
        check(volts, 8.0, 1e-7);
        check(resistance, 2e3 / 3.0, 1e-5);
        let open = solver.case(&[Change::Law { branch: BranchId(1), law: Law::Open }]).unwrap();
        check(open.node_volts(NodeId(2)), 0.0, 1e-9);
        let short =
            solver.case(&[Change::Across { from: NodeId(2), to: GROUND, law: ohms(0.0) }]).unwrap();
        check(short.across_amps(0), 0.012, 1e-10);
    }

    #[test]
    fn a_lamp_takes_its_rated_amps_and_a_bad_joint_dims_it() {
        let circuit = lamp_circuit();
        let solver = Solver::new(&circuit).unwrap();
        let sound = solver.case(&[]).unwrap();
        check(sound.branch_amps(BranchId(3)), 1.75 * (12.53_f64 / 12.0).powf(0.55), 2e-3);
        let bad = solver.case(&[Change::Law { branch: BranchId(1), law: ohms(10.0) }]).unwrap();
        assert!(bad.node_volts(NodeId(3)) < 6.0);
        check(bad.residual_amps(), 0.0, 1e-12);
    }

    #[test]
    fn ohms_that_are_part_of_a_curve_do_as_a_resistor_before_it() {
        let motor = Law::Motor { stall_ohms: 0.5, running_amps: 4.0, rated_volts: 11.0 };
        let diode = Law::Diode { forward_volts: 0.7, at_amps: 1.0, zener_volts: None };
        for law in [Law::Lamp { volts: 12.0, watts: 21.0 }, motor, diode] {
            let source = (1, 0, Law::Source { volts: 12.6, ohms: 0.02 });
            let before = network(3, &[source.clone(), (1, 2, ohms(1.5)), (2, 0, law.clone())]);
            let part = network(2, &[source, (1, 0, law.clone())]);
            let expected =
                Solver::new(&before).unwrap().case(&[]).unwrap().branch_amps(BranchId(2));
            let law = Law::Behind { ohms: 1.5, law: Box::new(law) };
            let change = Change::Law { branch: BranchId(1), law: law.clone() };
            let solver = Solver::new(&part).unwrap();
            check(solver.case(&[change]).unwrap().branch_amps(BranchId(1)), expected, 1e-8);
            let whole = network(2, &[(1, 0, Law::Source { volts: 12.6, ohms: 0.02 }), (1, 0, law)]);
            let solver = Solver::new(&whole).unwrap();
            check(solver.case(&[]).unwrap().branch_amps(BranchId(1)), expected, 1e-8);
        }
    }

    #[test]
    fn a_meter_reads_full_volts_through_a_bad_joint_and_a_lamp_does_not() {
        let circuit =
            network(3, &[(1, 0, Law::Source { volts: 12.6, ohms: 0.02 }), (1, 2, ohms(200.0))]);
        let solver = Solver::new(&circuit).unwrap();
        let case = solver.case(&[]).unwrap();
        let meter = case.with_load(NodeId(2), GROUND, &ohms(10e6)).unwrap();
        check(meter.volts, 12.6, 1e-3);
        let lamp =
            case.with_load(NodeId(2), GROUND, &Law::Lamp { volts: 12.0, watts: 3.0 }).unwrap();
        assert!(lamp.volts < 2.0, "{lamp:?}");
    }

    #[test]
    fn a_starter_cranks_and_a_weak_battery_makes_the_solenoid_chatter() {
        let strong = starter_circuit(0.01);
        let solver = Solver::new(&strong).unwrap();
        let case = solver.case(&[]).unwrap();
        assert_eq!(case.steadiness(), &Steadiness::Steady);
        assert!(case.pulled(RelayId(0)));
        check(case.branch_amps(BranchId(3)), 120.0, 3.0);

        let weak =
            [Change::Law { branch: BranchId(0), law: Law::Source { volts: 12.0, ohms: 0.2 } }];
        let case = solver.case(&weak).unwrap();
        assert_eq!(case.steadiness(), &Steadiness::Chatters { relays: vec![RelayId(0)] });
        assert!(case.node_volts(NodeId(1)) > 3.0 && case.node_volts(NodeId(1)) < 11.0);
    }

    #[test]
    fn stuck_and_weak_armatures() {
        let circuit = starter_circuit(0.01);
        let solver = Solver::new(&circuit).unwrap();
        let stuck = solver.case(&[Change::Stuck { relay: RelayId(0), pulled: false }]).unwrap();
        check(stuck.branch_amps(BranchId(3)), 0.0, 1e-9);
        let weak = Change::Relay { relay: RelayId(0), pull_in_amps: 5.0, drop_out_amps: 1.0 };
        assert!(!solver.case(&[weak]).unwrap().pulled(RelayId(0)));
    }

    #[test]
    fn a_tester_can_pull_a_relay_which_holds_itself() {
        let mut circuit = network(
            3,
            &[
                (1, 0, Law::Source { volts: 12.0, ohms: 0.05 }),
                (2, 0, ohms(100.0)),
                (1, 2, Law::Contact { ohms: 0.01, relay: RelayId(0), rests_closed: false }),
            ],
        );
        circuit.relays.push(Relay {
            windings: vec![(BranchId(1), 1.0)],
            pull_in_amps: 0.07,
            drop_out_amps: 0.02,
            stuck: None,
        });
        let solver = Solver::new(&circuit).unwrap();
        let case = solver.case(&[]).unwrap();
        assert!(!case.pulled(RelayId(0)));
        let jumper = case.with_load(NodeId(1), NodeId(2), &ohms(1.0)).unwrap();
        assert_eq!(jumper.moved_relays, vec![RelayId(0)]);
        let meter = case.with_load(NodeId(1), NodeId(2), &ohms(10e6)).unwrap();
        assert_eq!(meter.moved_relays, vec![]);
        check(meter.volts, 12.0, 1e-3);
    }

    #[test]
    fn a_short_blows_the_fuse_and_a_dead_short_of_an_ideal_source_is_said() {
        let circuit = network(
            3,
            &[
                (1, 0, Law::Source { volts: 12.0, ohms: 0.02 }),
                (1, 2, Law::Fuse { ohms: 0.005, rated_amps: 10.0 }),
                (2, 0, ohms(3.0)),
            ],
        );
        let solver = Solver::new(&circuit).unwrap();
        assert!(solver.case(&[]).unwrap().blown().is_empty());
        let short = solver
            .case(&[Change::Across { from: NodeId(2), to: GROUND, law: ohms(0.01) }])
            .unwrap();
        assert_eq!(short.blown(), [BranchId(1)]);
        check(short.node_volts(NodeId(2)), 0.0, 1e-6);
        let jumper = solver.case(&[]).unwrap().with_load(NodeId(2), GROUND, &ohms(0.1)).unwrap();
        assert_eq!(jumper.blown, [BranchId(1)]);

        let ideal =
            network(2, &[(1, 0, Law::Source { volts: 12.0, ohms: 0.0 }), (1, 0, ohms(0.0))]);
        assert!(matches!(Solver::new(&ideal), Err(SolveError::ShortedSource { .. })));
        let nowhere = network(2, &[(0, 1, Law::Current { amps: 1.0 })]);
        assert!(matches!(Solver::new(&nowhere), Err(SolveError::NoReturn { .. })));
        let negative = network(2, &[(0, 1, ohms(-1.0))]);
        assert!(matches!(Solver::new(&negative), Err(SolveError::BadBranch { .. })));
    }
}
