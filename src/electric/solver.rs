//! The door of the room: a network made ready, cases of it, testers put across it.

use super::equations::{LEAK_SIEMENS, Unknowns};
use super::error::SolveError;
use super::law;
use super::network::{Branch, BranchId, Law, Network, NodeId, RelayId};
use super::settle::{Plant, Settled, Steadiness, settle};

/// A network made ready to be solved many times with a few changes each.
#[derive(Debug, Clone)]
pub struct Solver {
    plant: Plant,
}

/// A change to a network.
#[derive(Debug, Clone, PartialEq)]
pub enum Change {
    /// Another law for a branch: open it, other ohms, a contact welded into a resistor.
    Law {
        /// The branch.
        branch: BranchId,
        /// What it is now.
        law: Law,
    },
    /// One more branch: a short to ground, a bridge, a tester.
    Across {
        /// First node.
        from: NodeId,
        /// Second node.
        to: NodeId,
        /// How it behaves.
        law: Law,
    },
    /// Other limits for an armature.
    Relay {
        /// The relay.
        relay: RelayId,
        /// Weighted amperes at which it pulls in.
        pull_in_amps: f64,
        /// Weighted amperes below which it drops out.
        drop_out_amps: f64,
    },
    /// A jammed armature.
    Stuck {
        /// The relay.
        relay: RelayId,
        /// Pulled for ever (true) or released for ever (false).
        pulled: bool,
    },
}

/// A network with changes made, settled.
///
/// While relays chatter, volts and amperes are the mean over the states of the cycle, which is what a
/// lamp's eye and a meter's needle make of it.
#[derive(Debug, Clone)]
pub struct Case<'solver> {
    solver: &'solver Solver,
    plant: Plant,
    settled: Settled,
    mean: Unknowns,
    steadiness: Steadiness,
}

/// What a tester does when it is put across two nodes.
#[derive(Debug, Clone, PartialEq)]
pub struct Load {
    /// Volts across the tester, first node over second.
    pub volts: f64,
    /// Amperes through the tester, first node to second.
    pub amps: f64,
    /// How the network ended up with it.
    pub steadiness: Steadiness,
    /// Relays that moved for the tester, or chatter with it.
    pub moved_relays: Vec<RelayId>,
    /// Fuses that blew for the tester.
    pub blown: Vec<BranchId>,
}

impl Solver {
    /// Checks the network and finds its own operating point: relays released at the start, fuses whole.
    pub fn new(network: &Network) -> Result<Solver, SolveError> {
        let plant = Plant {
            nodes: network.nodes.max(1),
            branches: network.branches.clone(),
            relays: network.relays.clone(),
        };
        check_plant(&plant)?;
        settle(&plant, plant.rest(), None)?;
        Ok(Solver { plant })
    }

    /// The same network with changes made, settled from rest: relays released, fuses whole.
    pub fn case(&self, changes: &[Change]) -> Result<Case<'_>, SolveError> {
        let mut plant = self.plant.clone();
        for change in changes {
            apply(&mut plant, change)?;
        }
        check_plant(&plant)?;
        let settled = settle(&plant, plant.rest(), None)?;
        let mean = settled.mean();
        let steadiness = settled.steadiness();
        Ok(Case { solver: self, plant, settled, mean, steadiness })
    }
}

fn apply(plant: &mut Plant, change: &Change) -> Result<(), SolveError> {
    match *change {
        Change::Law { branch, ref law } => {
            let branches = plant.branches.len() as u32;
            let missing = SolveError::NoSuchBranch { branch: branch.0, branches };
            plant.branches.get_mut(branch.0 as usize).ok_or(missing)?.law = law.clone();
        }
        Change::Across { from, to, ref law } => {
            plant.branches.push(Branch { from, to, law: law.clone() });
        }
        Change::Relay { relay, pull_in_amps, drop_out_amps } => {
            let relays = plant.relays.len() as u32;
            let missing = SolveError::NoSuchRelay { relay: relay.0, relays };
            let changed = plant.relays.get_mut(relay.0 as usize).ok_or(missing)?;
            changed.pull_in_amps = pull_in_amps;
            changed.drop_out_amps = drop_out_amps;
        }
        Change::Stuck { relay, pulled } => {
            let relays = plant.relays.len() as u32;
            let missing = SolveError::NoSuchRelay { relay: relay.0, relays };
            plant.relays.get_mut(relay.0 as usize).ok_or(missing)?.stuck = Some(pulled);
        }
    }
    Ok(())
}

fn check_plant(plant: &Plant) -> Result<(), SolveError> {
    let relays = plant.relays.len() as u32;
    for (index, branch) in plant.branches.iter().enumerate() {
        for node in [branch.from, branch.to] {
            if node.0 >= plant.nodes {
                return Err(SolveError::NoSuchNode { node: node.0, nodes: plant.nodes });
            }
        }
        law::check(index as u32, &branch.law)?;
        if let Law::Contact { relay, .. } = branch.law
            && relay.0 >= relays
        {
            return Err(SolveError::NoSuchRelay { relay: relay.0, relays });
        }
    }
    (0..relays).try_for_each(|relay| check_relay(plant, relay))
}

fn check_relay(plant: &Plant, index: u32) -> Result<(), SolveError> {
    let relay = &plant.relays[index as usize];
    let branches = plant.branches.len() as u32;
    let bad = |quantity, value| SolveError::BadRelay { relay: index, quantity, value };
    for &(branch, share) in &relay.windings {
        if branch.0 >= branches {
            return Err(SolveError::NoSuchBranch { branch: branch.0, branches });
        }
        if !share.is_finite() {
            return Err(bad("winding share", share));
        }
    }
    for (quantity, amps) in
        [("pull-in amperes", relay.pull_in_amps), ("drop-out amperes", relay.drop_out_amps)]
    {
        if amps.is_nan() || amps < 0.0 {
            return Err(bad(quantity, amps));
        }
    }
    Ok(())
}

impl Case<'_> {
    /// Volts of a node over ground; zero for a node the network does not have.
    pub fn node_volts(&self, node: NodeId) -> f64 {
        self.mean.node_volts.get(node.0 as usize).copied().unwrap_or(0.0)
    }

    /// Amperes of a branch, first node to second; added branches count on after the network's own. Zero
    /// for a branch the network does not have.
    pub fn branch_amps(&self, branch: BranchId) -> f64 {
        self.mean.branch_amps.get(branch.0 as usize).copied().unwrap_or(0.0)
    }

    /// Amperes of the `n`-th [`Change::Across`], counted from zero.
    pub fn across_amps(&self, n: usize) -> f64 {
        self.branch_amps(BranchId((self.solver.plant.branches.len() + n) as u32))
    }

    /// The relay is pulled for good; one that chatters is not.
    pub fn pulled(&self, relay: RelayId) -> bool {
        let pulled =
            |state: &super::settle::State| state.pulled.get(relay.0 as usize) == Some(&true);
        self.settled.cycle.iter().all(|(state, _)| pulled(state))
    }

    /// Whether it came to rest.
    pub fn steadiness(&self) -> &Steadiness {
        &self.steadiness
    }

    /// Fuses that blew on the way, in that order.
    pub fn blown(&self) -> &[BranchId] {
        &self.settled.cycle[0].0.blown
    }

    /// Volts and ohms a small tester sees between two nodes, at the operating point: open-circuit volts of
    /// `from` over `to`, and the slope there. While relays chatter, the mean of each over the cycle.
    pub fn thevenin(&self, from: NodeId, to: NodeId) -> (f64, f64) {
        let volts = self.node_volts(from) - self.node_volts(to);
        let share = 1.0 / self.settled.cycle.len() as f64;
        let ohms = self.settled.cycle.iter().map(|(_, operating)| {
            operating
                .response(self.plant.nodes, &self.plant.branches, (from, to))
                .map_or(0.0, |unit| unit.volts(to) - unit.volts(from))
        });
        (volts, share * ohms.sum::<f64>())
    }

    /// A tester put across two nodes: everything settles again from the present state, relays keeping
    /// their hysteresis and fuses staying blown. While relays chatter, from one state of their cycle.
    pub fn with_load(&self, from: NodeId, to: NodeId, law: &Law) -> Result<Load, SolveError> {
        let mut plant = self.plant.clone();
        plant.branches.push(Branch { from, to, law: law.clone() });
        check_plant(&plant)?;
        let (before, _) = &self.settled.cycle[0];
        let mut start = self.settled.cycle[0].1.unknowns.clone();
        start.branch_amps.push(0.0);
        let settled = settle(&plant, before.clone(), Some(&start))?;
        let mean = settled.mean();
        let steadiness = settled.steadiness();
        let after = &settled.cycle[0].0;
        let differs = |index: &usize| {
            settled.cycle.iter().any(|(state, _)| state.pulled[*index] != before.pulled[*index])
        };
        let moved_relays =
            (0..before.pulled.len()).filter(differs).map(|index| RelayId(index as u32)).collect();
        Ok(Load {
            volts: mean.volts(from) - mean.volts(to),
            amps: mean.branch_amps[self.plant.branches.len()],
            steadiness,
            moved_relays,
            blown: after.blown[before.blown.len()..].to_vec(),
        })
    }

    /// The worst error of Kirchhoff's current law over all nodes, amperes.
    pub fn residual_amps(&self) -> f64 {
        let mut sums: Vec<f64> =
            self.mean.node_volts.iter().map(|volts| volts * LEAK_SIEMENS).collect();
        for (branch, amps) in self.plant.branches.iter().zip(&self.mean.branch_amps) {
            sums[branch.from.0 as usize] += amps;
            sums[branch.to.0 as usize] -= amps;
        }
        sums.iter().skip(1).fold(0.0, |worst, sum| f64::max(worst, sum.abs()))
    }
}

#[cfg(test)]
mod tests {
    use super::super::network::{GROUND, Relay};
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
