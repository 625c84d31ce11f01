//! The door of the room: a network made ready to be solved many times with a few changes each.

use std::sync::Arc;

use super::case::Case;
use super::case::full::settle_case;
#[cfg(test)]
use super::case::full::settle_whole;
use super::changed::{Change, check_network};
use super::error::SolveError;
use super::levels::levels;
use super::network::Network;
use super::ready::Ready;
use super::refactoring::Refactoring;

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

impl Solver {
    /// Checks and factors the network, finds its own way to rest (from relays released, fuses whole).
    pub fn new(network: &Network) -> Result<Solver, SolveError> {
        let fuses = check_network(network)?;
        let levels = levels(network, &fuses)?;
        let ready = Ready { network: network.clone(), fuses, levels };
        // Where not even the network itself has an operating point, that is said at once.
        settle_case(&ready.levels, (ready.levels.len() - 1, None), ready.changed(&[])?)?;
        Ok(Solver { ready: Arc::new(ready) })
    }

    /// The same network with changes made, settled from rest (relays released, fuses whole).
    pub fn case(&self, changes: &[Change]) -> Result<Case<'_>, SolveError> {
        Case::new(&self.ready, changes)
    }
}

impl Solver {
    /// The same network made ready for the other way, with which this one is compared. `None` where that
    /// cannot be.
    pub fn refactoring(&self) -> Option<Refactoring<'_>> {
        Refactoring::new(&self.ready)
    }
}

#[cfg(test)]
impl Solver {
    /// The same case, factored as a whole: what a core must agree with.
    pub(super) fn whole_case(&self, changes: &[Change]) -> Result<Case<'_>, SolveError> {
        let ready = &*self.ready;
        let full = settle_whole(&ready.levels[0].base, ready.changed(changes)?)?;
        Ok(Case::of_full(ready, full))
    }
}

#[cfg(test)]
mod tests {
    use super::super::network::{Branch, BranchId, GROUND, Law, NodeId, Relay, RelayId};
    use super::super::settle::Steadiness;
    use super::*;

    fn network(nodes: u32, branches: &[(u32, u32, Law)]) -> Network {
        let branch = |(from, to, law): &(u32, u32, Law)| Branch {
            from: NodeId(*from),
            to: NodeId(*to),
            law: *law,
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
    fn refactoring_comes_to_the_same() {
        for (circuit, law) in [
            (lamp_circuit(), ohms(10.0)),
            (lamp_circuit(), Law::Open),
            (starter_circuit(0.01), Law::Source { volts: 12.0, ohms: 0.02 }),
        ] {
            let solver = Solver::new(&circuit).unwrap();
            let mut other = solver.refactoring().unwrap();
            for changes in [vec![], vec![Change::Law { branch: BranchId(0), law }]] {
                let case = solver.case(&changes).unwrap();
                let volts = other.node_volts(&changes, &case).unwrap();
                for (node, volts) in volts.into_iter().enumerate() {
                    check(volts, case.node_volts(NodeId(node as u32)), 1e-6);
                }
            }
        }
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
            let before = network(3, &[source, (1, 2, ohms(1.5)), (2, 0, law)]);
            let part = network(2, &[source, (1, 0, law)]);
            let expected =
                Solver::new(&before).unwrap().case(&[]).unwrap().branch_amps(BranchId(2));
            let law = law.behind(1.5).unwrap();
            let change = Change::Law { branch: BranchId(1), law };
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
        // Released the battery gives the coil's amperes, pulled the motor's too.
        check(case.swing(NodeId(1), GROUND), 12.0 * 3.6 / 3.8 - 1.0, 0.3);
    }

    /// Many relays pull at once; whichever of them a fault keeps back or adds, the core comes to what the whole does.
    #[test]
    fn many_relays_at_once() {
        for spare_nodes in [0, 1] {
            let mut branches = vec![(1, 0, Law::Source { volts: 12.6, ohms: 0.03 })];
            for relay in 0..6 {
                let load = 2 + relay;
                let contact =
                    Law::Contact { ohms: 0.005, relay: RelayId(relay), rests_closed: relay == 3 };
                // The sixth has no feed until something is shorted to it.
                let coil = if relay == 5 { (8, 0, ohms(90.0)) } else { (1, 0, ohms(90.0)) };
                let lamp = Law::Lamp { volts: 12.0, watts: 21.0 };
                branches.extend([coil, (1, load, contact), (load, 0, lamp)]);
            }
            let mut circuit = network(9 + spare_nodes, &branches);
            circuit.relays = (0..6)
                .map(|relay| Relay {
                    windings: vec![(BranchId(1 + 3 * relay), 1.0)],
                    pull_in_amps: 0.08,
                    drop_out_amps: 0.03,
                    stuck: None,
                })
                .collect();
            let solver = Solver::new(&circuit).unwrap();
            let law = |branch, law| Change::Law { branch: BranchId(branch), law };
            let across = |from, to, ohms: f64| Change::Across {
                from: NodeId(from),
                to: NodeId(to),
                law: Law::Resistor { ohms },
            };
            for (changes, pulled) in [
                (vec![], 5),
                (vec![law(1, Law::Open)], 4),
                (vec![across(1, 8, 0.0)], 6),
                (vec![across(2, 8, 0.01)], 6),
                (vec![Change::Stuck { relay: RelayId(2), pulled: false }], 4),
                (vec![across(4, 0, 0.2)], 5),
                (vec![law(0, Law::Source { volts: 6.0, ohms: 0.03 })], 0),
            ] {
                let (case, whole) =
                    (solver.case(&changes).unwrap(), solver.whole_case(&changes).unwrap());
                let states = |case: &Case| (0..6).map(|at| case.pulled(RelayId(at))).collect();
                let states: [Vec<bool>; 2] = [states(&case), states(&whole)];
                assert_eq!(states[0], states[1]);
                assert_eq!(states[0].iter().filter(|is| **is).count(), pulled, "{changes:?}");
                for node in (1..9).map(NodeId) {
                    check(case.node_volts(node), whole.node_volts(node), 1e-6);
                }
            }
        }
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
    fn a_fuse_of_another_rating_blows_by_its_own() {
        let fused = |rated_amps| {
            network(
                3,
                &[
                    (1, 0, Law::Source { volts: 12.0, ohms: 0.02 }),
                    (1, 2, Law::Fuse { ohms: 0.005, rated_amps }),
                    (2, 0, ohms(1.0)),
                ],
            )
        };
        let change = |rated_amps| Change::Law {
            branch: BranchId(1),
            law: Law::Fuse { ohms: 0.005, rated_amps },
        };
        let solver = Solver::new(&fused(30.0)).unwrap();
        assert_eq!(solver.case(&[change(3.0)]).unwrap().blown(), [BranchId(1)]);
        assert!(solver.case(&[change(20.0)]).unwrap().blown().is_empty());
        let solver = Solver::new(&fused(3.0)).unwrap();
        assert_eq!(solver.case(&[]).unwrap().blown(), [BranchId(1)]);
        let case = solver.case(&[change(30.0)]).unwrap();
        assert!(case.blown().is_empty() && case.branch_amps(BranchId(1)) > 11.0);
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
