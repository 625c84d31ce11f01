//! What the volts between two nodes owe to each branch: adjoint sensitivities.
//!
//! With every branch written as `v = e + r i` at its operating point, the equations of a network are
//! symmetric. So what a small source `e` in series with a branch does to the volts between two nodes is
//! what an ampere drawn from those nodes does to the amperes of that branch (reciprocity; Tellegen's
//! theorem used as by S. W. Director and R. A. Rohrer 1969, from memory). One solution, which a reading
//! between the nodes needs anyway, therefore answers for all branches at once. A change of a parameter is
//! such a source: `i dR` for ohms, `dE` for a battery; curves are taken by their slopes.

use super::base::{Base, Column};
use super::changed::Changed;
use super::law::Form;
use super::network::{BranchId, Law};

/// Step of a parameter, as a share, by which curves other than a lamp's are differentiated.
const STEP: f64 = 1e-6;

/// What of a branch can differ from machine to machine.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Parameter {
    /// Ohms of a resistor, a closed contact, a fuse, a source or a battery.
    Ohms,
    /// Volts of a source or a battery at no load.
    Volts,
    /// Watts of a lamp at its rated volts.
    Watts,
    /// Forward volts of a diode.
    ForwardVolts,
    /// Ohms of a motor that stands.
    StallOhms,
    /// Amperes of a motor that turns.
    RunningAmps,
}

/// What the volts between two nodes owe to each branch, at an operating point.
///
/// While relays chatter, the mean over the states of the cycle, as for the volts themselves. That a change
/// may move a relay or blow a fuse is no slope, and not in it.
#[derive(Debug)]
pub struct Sensitivity<'case> {
    ends: &'case [(usize, usize)],
    changed: &'case Changed<'case>,
    answers: Vec<Answer<'case>>,
}

/// One state of a case with its answer to an ampere drawn from the first node and given back at the
/// second.
#[derive(Debug)]
pub(super) enum Answer<'case> {
    /// On a core: what is asked is summed up when it is.
    Core {
        base: &'case Base,
        column: Column<'case>,
        /// What each drive does.
        driven: Vec<Column<'case>>,
        drives: Vec<f64>,
        /// All unknowns.
        at: &'case [f64],
    },
    /// All at once.
    Whole {
        /// Branches begin behind so many unknowns.
        nodes: usize,
        /// All unknowns per ampere drawn.
        unit: Vec<f64>,
        /// All unknowns.
        at: Vec<f64>,
    },
}

impl Answer<'_> {
    /// Volts and amperes of a branch: per ampere drawn, and as they are.
    fn branch(&self, ends: (usize, usize), branch: usize) -> ((f64, f64), (f64, f64)) {
        let of = |solution: &[f64], nodes: usize| {
            (solution[ends.0] - solution[ends.1], solution[nodes + branch])
        };
        match self {
            Answer::Core { base, column, driven, drives, at } => {
                let nodes = base.layout.nodes;
                let moved = driven.iter().zip(drives);
                let unit = moved.fold(of(&column.all, nodes), |sum, (column, drive)| {
                    let (volts, amps) = of(&column.all, nodes);
                    (sum.0 + drive * volts, sum.1 + drive * amps)
                });
                (unit, of(at, nodes))
            }
            Answer::Whole { nodes, unit, at } => (of(unit, *nodes), of(at, *nodes)),
        }
    }
}

impl<'case> Sensitivity<'case> {
    pub(super) fn new(
        ends: &'case [(usize, usize)],
        changed: &'case Changed<'case>,
        answers: Vec<Answer<'case>>,
    ) -> Self {
        Sensitivity { ends, changed, answers }
    }

    /// Volts more between the nodes per ohm more in series with a branch; zero for a branch that the
    /// network does not have.
    pub fn per_ohm(&self, branch: BranchId) -> f64 {
        self.mean(branch, |unit, at| -unit.1 * at.1)
    }

    /// Volts more between the nodes per volt more in series with a branch, minus at its first node.
    pub fn per_volt(&self, branch: BranchId) -> f64 {
        self.mean(branch, |unit, _| -unit.1)
    }

    /// Ohms more between the nodes per ohm more in series with a branch, with no current anywhere.
    pub fn ohms_per_ohm(&self, branch: BranchId) -> f64 {
        self.mean(branch, |unit, _| unit.1 * unit.1)
    }

    /// Volts more between the nodes per share by which a parameter of a branch is more: 0.01 of it for a
    /// per cent. Zero for what the branch does not have.
    pub fn relative(&self, branch: BranchId, parameter: Parameter) -> f64 {
        if branch.0 as usize >= self.changed.network.branches.len() {
            return 0.0;
        }
        let law = self.changed.law(branch.0 as usize);
        if let Some(ohms) = straight_ohms(law, parameter) {
            return ohms * self.per_ohm(branch);
        }
        match (law, parameter) {
            (Law::Source { volts, .. } | Law::Battery { volts, .. }, Parameter::Volts) => {
                volts * self.per_volt(branch)
            }
            _ => self.mean(branch, |unit, at| bent(law, parameter, unit, at)),
        }
    }

    fn mean(&self, branch: BranchId, one: impl Fn((f64, f64), (f64, f64)) -> f64) -> f64 {
        let branch = branch.0 as usize;
        if branch >= self.changed.network.branches.len() {
            return 0.0;
        }
        let ends = self.ends[branch];
        let state = |answer: &Answer<'_>| {
            let (unit, at) = answer.branch(ends, branch);
            one(unit, at)
        };
        self.answers.iter().map(state).sum::<f64>() / self.answers.len().max(1) as f64
    }
}

/// The ohms that a parameter is, of a law in which they are in series.
fn straight_ohms(law: &Law, parameter: Parameter) -> Option<f64> {
    match (law, parameter) {
        (
            Law::Resistor { ohms }
            | Law::Contact { ohms, .. }
            | Law::Fuse { ohms, .. }
            | Law::Source { ohms, .. },
            Parameter::Ohms,
        ) => Some(*ohms),
        _ => None,
    }
}

/// What the volts between the nodes owe to a curve: `unit` is the branch per ampere drawn, `at` where it
/// stands.
fn bent(law: &Law, parameter: Parameter, unit: (f64, f64), at: (f64, f64)) -> f64 {
    match (law, parameter) {
        (&Law::Behind { ohms, bent: inmost }, _) => {
            let inner = |(volts, amps): (f64, f64)| (volts - ohms * amps, amps);
            bent(&inmost.into(), parameter, inner(unit), inner(at))
        }
        // A lamp of more watts takes as many more amperes at its volts: a current of its own beside it.
        (Law::Lamp { .. }, Parameter::Watts) => unit.0 * at.1,
        _ => moved(law, parameter).map_or(0.0, |moved| along_a_line(law, &moved, unit, at)),
    }
}

/// A law with one parameter a step larger.
fn moved(law: &Law, parameter: Parameter) -> Option<Law> {
    let mut moved = *law;
    let changed = match (&mut moved, parameter) {
        (Law::Battery { ohms, charge_ohms, .. }, Parameter::Ohms) => {
            *charge_ohms *= 1.0 + STEP;
            ohms
        }
        (Law::Diode { forward_volts, .. }, Parameter::ForwardVolts) => forward_volts,
        (Law::Motor { stall_ohms, .. }, Parameter::StallOhms) => stall_ohms,
        (Law::Motor { running_amps, .. }, Parameter::RunningAmps) => running_amps,
        _ => return None,
    };
    *changed *= 1.0 + STEP;
    Some(moved)
}

/// A curve and its moved self are met along one line through the point: what lies between them there is
/// a source `dv (1 + r / R)` in series, with `r` the slope of the curve and `R` that of the line.
fn along_a_line(law: &Law, moved: &Law, unit: (f64, f64), at: (f64, f64)) -> f64 {
    let (form, moved) = (Form::of(law, true), Form::of(moved, true));
    let ohms = form.line_ohms();
    let along = at.0 + ohms * at.1;
    let meet = |form: &Form| form.on_line(along, ohms, at.0);
    let (Some(before), Some(after)) = (meet(&form), meet(&moved)) else { return 0.0 };
    let volts = (after.volts - before.volts) / STEP;
    -volts * (unit.1 + unit.0 / ohms)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use proptest::test_runner::RngSeed;

    use super::super::network::{GROUND, Network, NodeId};
    use super::super::properties::any::any_network;
    use super::super::{Case, Change, SolveError, Solver, Steadiness};
    use super::*;

    const ALL: [Parameter; 6] = [
        Parameter::Ohms,
        Parameter::Volts,
        Parameter::Watts,
        Parameter::ForwardVolts,
        Parameter::StallOhms,
        Parameter::RunningAmps,
    ];

    /// The law with one parameter so many times as large; `None` if it has no such parameter.
    fn scaled(law: &Law, parameter: Parameter, times: f64) -> Option<Law> {
        let mut law = *law;
        match (&mut law, parameter) {
            (
                Law::Resistor { ohms }
                | Law::Contact { ohms, .. }
                | Law::Fuse { ohms, .. }
                | Law::Source { ohms, .. },
                Parameter::Ohms,
            ) => *ohms *= times,
            (Law::Battery { ohms, charge_ohms, .. }, Parameter::Ohms) => {
                *ohms *= times;
                *charge_ohms *= times;
            }
            (Law::Source { volts, .. } | Law::Battery { volts, .. }, Parameter::Volts) => {
                *volts *= times;
            }
            (Law::Lamp { watts, .. }, Parameter::Watts) => *watts *= times,
            (Law::Diode { forward_volts, .. }, Parameter::ForwardVolts) => *forward_volts *= times,
            (Law::Motor { stall_ohms, .. }, Parameter::StallOhms) => *stall_ohms *= times,
            (Law::Motor { running_amps, .. }, Parameter::RunningAmps) => *running_amps *= times,
            (&mut Law::Behind { ohms, bent }, _) => {
                return scaled(&bent.into(), parameter, times)?.behind(ohms);
            }
            _ => return None,
        }
        Some(law)
    }

    fn volts(case: &Case, pair: (NodeId, NodeId)) -> f64 {
        case.node_volts(pair.0) - case.node_volts(pair.1)
    }

    /// Slopes on both sides, by solving again with the parameter changed; `None` where something moves.
    fn differences(
        network: &Network,
        (branch, parameter): (BranchId, Parameter),
        pair: (NodeId, NodeId),
    ) -> Option<(f64, f64)> {
        const SHARE: f64 = 1e-4;
        let solver = Solver::new(network).ok()?;
        let law = &network.branches[branch.0 as usize].law;
        let with = |times: f64| -> Result<f64, SolveError> {
            let law = scaled(law, parameter, times).unwrap();
            let case = solver.whole_case(&[Change::Law { branch, law }])?;
            let steady = *case.steadiness() == Steadiness::Steady && case.blown().is_empty();
            Ok(if steady { volts(&case, pair) } else { f64::NAN })
        };
        let (less, same, more) =
            (with(1.0 - SHARE).ok()?, with(1.0).ok()?, with(1.0 + SHARE).ok()?);
        let slopes = ((same - less) / SHARE, (more - same) / SHARE);
        (slopes.0.is_finite() && slopes.1.is_finite()).then_some(slopes)
    }

    /// Compares all parameters of all branches; gives the number compared.
    fn compare(network: &Network, pair: (NodeId, NodeId)) -> Result<u32, TestCaseError> {
        let Ok(solver) = Solver::new(network) else { return Ok(0) };
        let Ok(case) = solver.case(&[]) else { return Ok(0) };
        if *case.steadiness() != Steadiness::Steady || case.thevenin(pair.0, pair.1).1 > 1e7 {
            return Ok(0);
        }
        let sensitivity = case.sensitivity(pair.0, pair.1).unwrap();
        let mut compared = 0;
        for (index, branch) in network.branches.iter().enumerate() {
            for parameter in ALL {
                if scaled(&branch.law, parameter, 1.0).is_none() {
                    continue;
                }
                let id = BranchId(index as u32);
                let Some((below, above)) = differences(network, (id, parameter), pair) else {
                    continue;
                };
                // At a corner of a motor or battery both slopes are right.
                let slack = 5e-3 * below.abs().max(above.abs()) + 2e-4;
                if (below - above).abs() > slack {
                    continue;
                }
                let found = sensitivity.relative(id, parameter);
                prop_assert!(
                    (found - below).abs() <= slack || (found - above).abs() <= slack,
                    "{parameter:?} of {:?}: {found} V, differences {below} and {above}",
                    branch.law
                );
                compared += u32::from(found.abs() > 1e-3);
            }
        }
        Ok(compared)
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 300, rng_seed: RngSeed::Fixed(362), failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn slopes_are_those_of_solving_again(network in any_network(), at in (0_u32..12, 0_u32..12)) {
            let pair = (NodeId(at.0 % network.nodes), NodeId(at.1 % network.nodes));
            compare(&network, pair)?;
        }
    }

    fn network(branches: &[(u32, u32, Law)]) -> Network {
        let branch = |(from, to, law): &(u32, u32, Law)| super::super::network::Branch {
            from: NodeId(*from),
            to: NodeId(*to),
            law: *law,
        };
        let nodes = branches.iter().map(|(from, to, _)| from.max(to) + 1).max().unwrap();
        Network { nodes, branches: branches.iter().map(branch).collect(), relays: Vec::new() }
    }

    #[test]
    fn every_kind_of_curve_is_met() {
        let lamp = Law::Lamp { volts: 12.0, watts: 21.0 };
        let circuit = network(&[
            (1, 0, Law::Battery { volts: 12.6, ohms: 0.02, charge_ohms: 0.3 }),
            (1, 2, Law::Resistor { ohms: 0.4 }),
            (2, 0, lamp.behind(1.5).unwrap()),
            (2, 3, Law::Resistor { ohms: 2.0 }),
            (3, 0, Law::Diode { forward_volts: 0.7, at_amps: 1.0, zener_volts: None }),
            (2, 0, Law::Motor { stall_ohms: 0.5, running_amps: 4.0, rated_volts: 11.0 }),
        ]);
        // Two ohms and volts of the battery, two resistors, the lamp, the diode, two of the motor.
        assert_eq!(compare(&circuit, (NodeId(2), GROUND)).unwrap(), 8);
        assert_eq!(compare(&circuit, (NodeId(2), NodeId(3))).unwrap(), 8);
    }

    #[test]
    fn a_divider_by_hand() {
        let circuit = network(&[
            (1, 0, Law::Source { volts: 12.0, ohms: 0.0 }),
            (1, 2, Law::Resistor { ohms: 1e3 }),
            (2, 0, Law::Resistor { ohms: 2e3 }),
        ]);
        let solver = Solver::new(&circuit).unwrap();
        let case = solver.case(&[]).unwrap();
        let sensitivity = case.sensitivity(NodeId(2), GROUND).unwrap();
        let check = |found: f64, expected: f64| assert!((found - expected).abs() < 1e-6, "{found}");
        // V = 12 R2 / (R1 + R2): dV / d ln R1 = -12 R1 R2 / (R1 + R2)^2.
        check(sensitivity.relative(BranchId(1), Parameter::Ohms), -8.0 / 3.0);
        check(sensitivity.relative(BranchId(2), Parameter::Ohms), 8.0 / 3.0);
        check(sensitivity.relative(BranchId(0), Parameter::Volts), 8.0);
        check(sensitivity.relative(BranchId(0), Parameter::Watts), 0.0);
        check(sensitivity.relative(BranchId(9), Parameter::Ohms), 0.0);
        // R1 and R2 side by side: dR / dR1 = (R2 / (R1 + R2))^2.
        check(sensitivity.ohms_per_ohm(BranchId(1)), 4.0 / 9.0);
        assert!(case.sensitivity(NodeId(7), GROUND).is_none());
    }

    #[test]
    fn a_bad_joint_is_part_of_what_it_is_in() {
        let circuit = network(&[
            (1, 0, Law::Source { volts: 12.0, ohms: 0.1 }),
            (1, 2, Law::Resistor { ohms: 0.1 }),
            (2, 0, Law::Resistor { ohms: 3.0 }),
        ]);
        let solver = Solver::new(&circuit).unwrap();
        let law = Law::Resistor { ohms: 3.1 };
        let case = solver.case(&[Change::Law { branch: BranchId(1), law }]).unwrap();
        let sensitivity = case.sensitivity(NodeId(2), GROUND).unwrap();
        let amps = 12.0 / 6.2;
        // V = 12 R2 / (0.1 + R1 + R2): dV / dR1 = -V / 6.2.
        assert!((sensitivity.per_ohm(BranchId(1)) + 3.0 * amps / 6.2).abs() < 1e-9);
    }
}
