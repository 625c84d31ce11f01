//! What must hold for any network: laws of nature, and that the quick way and the slow way agree.

use nalgebra::{DMatrix, DVector};
pub(super) mod any;

use proptest::prelude::*;
use proptest::test_runner::RngSeed;

use self::any::{any_network, changes, decades, fit, straight_network};

use super::law::{Form, LEAST_OHMS, Row};
use super::linear::equations::Layout;
use super::linear::ordering::order;
use super::linear::sparse_lu::Factors;
use super::network::{Branch, BranchId, GROUND, Law, Network, NodeId, Relay, RelayId};
use super::{Case, Change, SolveError, Solver, Steadiness};

const LEAK_SIEMENS: f64 = super::linear::equations::LEAK_SIEMENS;

/// All branches of a case with the nodes they are between, their law and their amperes.
fn all_branches<'a>(
    network: &'a Network,
    changes: &'a [Change],
    case: &Case,
) -> Vec<(NodeId, NodeId, &'a Law, f64)> {
    let mut all = Vec::new();
    for (index, branch) in network.branches.iter().enumerate() {
        let id = BranchId(index as u32);
        let changed = changes.iter().rev().find_map(|change| match change {
            Change::Law { branch, law } if *branch == id => Some(law),
            _ => None,
        });
        all.push((branch.from, branch.to, changed.unwrap_or(&branch.law), case.branch_amps(id)));
    }
    let across = changes.iter().filter_map(|change| match change {
        Change::Across { from, to, law } => Some((*from, *to, law)),
        _ => None,
    });
    all.extend(across.enumerate().map(|(n, (from, to, law))| (from, to, law, case.across_amps(n))));
    all
}

/// Kirchhoff's law at every node, power in and out, nothing that is not a number.
fn check_nature(network: &Network, changes: &[Change], case: &Case) -> Result<(), TestCaseError> {
    let nodes = 0..network.nodes;
    let volts: Vec<f64> = nodes.map(|node| case.node_volts(NodeId(node))).collect();
    let mut sums: Vec<f64> = volts.iter().map(|volts| volts * LEAK_SIEMENS).collect();
    let mut met: Vec<f64> = vec![0.0; volts.len()];
    let mut power: f64 = volts.iter().map(|volts| volts * volts * LEAK_SIEMENS).sum();
    let mut flowing = 0.0;
    let all = all_branches(network, changes, case);
    let most_amps = all.iter().fold(0.0, |most: f64, branch| most.max(branch.3.abs()));
    for (from, to, law, amps) in all {
        prop_assert!(amps.is_finite());
        let (from, to) = (from.0 as usize, to.0 as usize);
        sums[from] += amps;
        sums[to] -= amps;
        met[from] += amps.abs();
        met[to] += amps.abs();
        let watts = (volts[from] - volts[to]) * amps;
        power += watts;
        flowing += watts.abs() + 1e-9 * amps.abs();
        let source = matches!(law, Law::Source { .. } | Law::Battery { .. } | Law::Current { .. });
        let passive = !source;
        let slack_volts = 1e-8 * (1.0 + volts[from].abs() + volts[to].abs()) + 1e-11 * most_amps;
        let slack = slack_volts * amps.abs() + 1e-9 * (1e-6 + 1e-5 * most_amps);
        prop_assert!(
            !passive || *case.steadiness() != Steadiness::Steady || watts >= -slack,
            "{law:?} gives {watts} W"
        );
    }
    for node in 1..volts.len() {
        prop_assert!(volts[node].is_finite());
        prop_assert!(
            sums[node].abs() <= 1e-9 * met[node] + 1e-11,
            "node {node}: {} A of {}",
            sums[node],
            met[node]
        );
    }
    if *case.steadiness() == Steadiness::Steady {
        prop_assert!(power.abs() <= 1e-7 * flowing + 1e-9, "{power} W left of {flowing}");
    }
    Ok(())
}

/// Resistance to ground above which a node floats: its level is then known to a fraction of a volt only,
/// beside thick cables, as their rounded amperes flow through its leak.
const FLOATING_OHMS: f64 = 1e8;

/// Node volts of two cases agree.
fn check_same(
    network: &Network,
    one: &Case,
    other: &Case,
    tolerance: f64,
) -> Result<(), TestCaseError> {
    prop_assert_eq!(one.steadiness(), other.steadiness());
    prop_assert_eq!(one.blown(), other.blown());
    for node in 0..network.nodes {
        let (a, b) = (one.node_volts(NodeId(node)), other.node_volts(NodeId(node)));
        let slack = tolerance * (1.0 + a.abs()) + 2.0 * (one.error_volts() + other.error_volts());
        let floats = || one.thevenin(NodeId(node), GROUND).1 > FLOATING_OHMS && (a - b).abs() < 0.2;
        prop_assert!((a - b).abs() <= slack || floats(), "node {node}: {a} V and {b} V");
    }
    Ok(())
}

/// A case, or a clear reason why there is none.
fn case<'a>(solver: &'a Solver, changes: &[Change]) -> Result<Option<Case<'a>>, TestCaseError> {
    match solver.case(changes) {
        Ok(case) => Ok(Some(case)),
        Err(SolveError::ShortedSource { .. } | SolveError::NoReturn { .. }) => Ok(None),
        Err(other) => Err(TestCaseError::fail(format!("{other}"))),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, rng_seed: RngSeed::Fixed(360), failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_network_obeys_nature_and_the_core_agrees_with_the_whole(network in any_network(), raw in changes()) {
        let Ok(solver) = Solver::new(&network) else { return Ok(()) };
        let changes = fit(&network, &raw);
        if let Some(case) = case(&solver, &changes)? {
            check_nature(&network, &changes, &case)?;
            check_same(&network, &case, &solver.whole_case(&changes).unwrap(), 2e-5)?;
        }
    }

    #[test]
    fn any_network_is_solved_or_refused_for_a_reason(network in any_network()) {
        let refused = Solver::new(&network).err();
        let reason = matches!(refused, None | Some(SolveError::ShortedSource { .. } | SolveError::NoReturn { .. }));
        prop_assert!(reason, "{refused:?}");
    }

    #[test]
    fn a_dense_solution_by_other_hands_agrees(mut network in straight_network()) {
        // Tied down at every node: the level of an island that floats is known to a millivolt only.
        network.branches.extend((1..network.nodes).map(|node| Branch { from: NodeId(node), to: GROUND, law: Law::Resistor { ohms: 1e4 } }));
        let Ok(solver) = Solver::new(&network) else { return Ok(()) };
        let case = solver.case(&[]).unwrap();
        let volts = oracle(&network);
        let most_amps = (0..network.branches.len() as u32).fold(0.0, |most: f64, branch| most.max(case.branch_amps(BranchId(branch)).abs()));
        for node in 1..network.nodes {
            let (ours, theirs) = (case.node_volts(NodeId(node)), volts[node as usize]);
            prop_assert!((ours - theirs).abs() <= 1e-8 * (1.0 + theirs.abs()) + 1e-11 * most_amps, "node {node}: {ours} V, {theirs} V");
        }
    }

    #[test]
    fn resistance_is_mutual_and_never_negative(network in straight_network(), pairs in prop::array::uniform4(0_u32..12)) {
        let Ok(solver) = Solver::new(&network) else { return Ok(()) };
        let [a, b, c, d] = pairs.map(|node| NodeId(node % network.nodes));
        let unit = |from, to| [Change::Across { from: to, to: from, law: Law::Current { amps: 1e-3 } }];
        let volts = |case: &Case, from, to| case.node_volts(from) - case.node_volts(to);
        let rest = solver.case(&[]).unwrap();
        if let (Some(ab), Some(cd)) = (case(&solver, &unit(a, b))?, case(&solver, &unit(c, d))?) {
            let there = volts(&ab, c, d) - volts(&rest, c, d);
            let back = volts(&cd, a, b) - volts(&rest, a, b);
            prop_assert!((there - back).abs() <= 1e-6 * (1.0 + there.abs()), "{there} {back}");
            let ohms = rest.thevenin(a, b).1;
            let own = (volts(&ab, a, b) - volts(&rest, a, b)) / 1e-3;
            prop_assert!(own >= -1e-3 && (ohms - own).abs() <= 1e-3 * (1.0 + own.abs()), "{ohms} {own}");
        }
    }

    #[test]
    fn other_names_change_nothing(network in any_network(), raw in changes(), turn in 0_u32..11) {
        let nodes = network.nodes;
        let renamed = |node: NodeId| if node == GROUND { node } else { NodeId((node.0 - 1 + turn) % (nodes - 1) + 1) };
        let mut other = network.clone();
        for branch in &mut other.branches {
            (branch.from, branch.to) = (renamed(branch.from), renamed(branch.to));
        }
        let changes = fit(&network, &raw);
        let mut other_changes = changes.clone();
        for change in &mut other_changes {
            if let Change::Across { from, to, .. } = change {
                (*from, *to) = (renamed(*from), renamed(*to));
            }
        }
        let (Ok(one), Ok(two)) = (Solver::new(&network), Solver::new(&other)) else { return Ok(()) };
        if let (Some(one), Some(two)) = (case(&one, &changes)?, case(&two, &other_changes)?) {
            prop_assert_eq!(one.steadiness(), two.steadiness());
            for node in (0..nodes).map(NodeId) {
                let (a, b) = (one.node_volts(node), two.node_volts(renamed(node)));
                let slack = 1e-6 * (1.0 + a.abs()) + 2.0 * (one.error_volts() + two.error_volts());
                prop_assert!((a - b).abs() <= slack, "{node:?}: {a} V and {b} V");
            }
        }
    }

    #[test]
    fn a_load_is_a_case_that_has_it(network in any_network(), raw in changes(), at in (0_u32..12, 0_u32..12), ohms in decades(-1.0, 7.0)) {
        let Ok(solver) = Solver::new(&network) else { return Ok(()) };
        let mut changes = fit(&network, &raw);
        let (from, to) = (NodeId(at.0 % network.nodes), NodeId(at.1 % network.nodes));
        let law = Law::Resistor { ohms };
        let Some(before) = case(&solver, &changes)? else { return Ok(()) };
        let load = before.with_load(from, to, &law).unwrap();
        prop_assert!((load.volts - ohms * load.amps).abs() <= 1e-6 * (1.0 + load.volts.abs()));
        // With nothing moved by either, the way there does not matter.
        let still = load.moved_relays.is_empty() && load.blown.is_empty() && *before.steadiness() == Steadiness::Steady;
        changes.push(Change::Across { from, to, law });
        if let (true, Some(with)) = (still, case(&solver, &changes)?)
            && with.blown() == before.blown()
            && (0..network.relays.len() as u32).all(|relay| with.pulled(RelayId(relay)) == before.pulled(RelayId(relay)))
            && with.steadiness() == before.steadiness()
        {
            let volts = with.node_volts(from) - with.node_volts(to);
            // On the straight way a tester is right to a tenth of a millivolt.
            let slack = 2e-4 * (1.0 + volts.abs()) + 2.0 * (before.error_volts() + with.error_volts());
            prop_assert!((load.volts - volts).abs() <= slack, "{} V, {volts} V", load.volts);
        }
    }
}

/// Node volts by a dense factorisation with full pivoting, from the laws alone.
fn oracle(network: &Network) -> Vec<f64> {
    let (nodes, size) = (network.nodes as usize, network.nodes as usize + network.branches.len());
    let mut matrix = DMatrix::<f64>::zeros(size, size);
    let mut right = DVector::<f64>::zeros(size);
    matrix[(0, 0)] = 1.0;
    for node in 1..nodes {
        matrix[(node, node)] = LEAK_SIEMENS;
    }
    for (index, branch) in network.branches.iter().enumerate() {
        let (line, from, to) = (nodes + index, branch.from.0 as usize, branch.to.0 as usize);
        for (node, sign) in [(from, 1.0), (to, -1.0)] {
            if node > 0 {
                matrix[(node, line)] += sign;
            }
        }
        let (ohms, volts) = match branch.law {
            Law::Resistor { ohms } => (ohms.max(LEAST_OHMS), 0.0),
            Law::Source { volts, ohms } => (ohms.max(LEAST_OHMS), volts),
            _ => (f64::INFINITY, 0.0),
        };
        if ohms.is_finite() {
            let scale = 1.0 / ohms.max(1.0);
            matrix[(line, from)] += scale;
            matrix[(line, to)] -= scale;
            matrix[(line, line)] = -ohms * scale;
            right[line] = volts * scale;
        } else {
            matrix[(line, line)] = 1.0;
        }
    }
    matrix.full_piv_lu().solve(&right).unwrap().iter().copied().collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, rng_seed: RngSeed::Fixed(361), failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn sixteen_decades_in_one_chain(powers in prop::collection::vec(-6.0..9.9, 3..40), volts in 1.0..24.0) {
        // A source over a chain of resistors: what each node should have is a sum of ohms by another.
        let ohms: Vec<f64> = powers.iter().map(|power: &f64| 10.0_f64.powf(*power)).collect();
        let last = ohms.len() as u32;
        let mut branches = vec![Branch { from: NodeId(last), to: GROUND, law: Law::Source { volts, ohms: 0.0 } }];
        branches.extend((0..last).map(|node| Branch {
            from: NodeId(node + 1), to: NodeId(node), law: Law::Resistor { ohms: ohms[node as usize] },
        }));
        let solver = Solver::new(&Network { nodes: last + 1, branches, relays: vec![] }).unwrap();
        let case = solver.case(&[]).unwrap();
        let total: f64 = ohms.iter().sum();
        // The leak of each node is a load of its own beside gigaohms; an ideal source has its least ohms.
        let leaked = total * LEAK_SIEMENS * f64::from(last) + LEAST_OHMS / total;
        let mut below = 0.0;
        for (node, ohms) in (1..last).zip(&ohms) {
            below += ohms;
            let expected = volts * below / total;
            let slack = volts * (1e-12 + leaked);
            prop_assert!((case.node_volts(NodeId(node)) - expected).abs() <= slack);
        }
        prop_assert!((case.branch_amps(BranchId(0)) + volts / total).abs() <= volts / total * (1e-12 + leaked));
    }

    #[test]
    fn factors_made_again_are_factors_made_anew(network in straight_network(), scales in prop::collection::vec(0.1..10.0, 24)) {
        let layout = Layout::new(network.nodes, &network.branches);
        let row = |branch: &Branch| match Form::of(&branch.law, true) {
            Form::Line(row) => row,
            Form::Curve(..) => Row::OPEN,
        };
        let rows: Vec<Row> = network.branches.iter().map(row).collect();
        let other: Vec<Row> = rows.iter().zip(&scales).map(|(row, scale)| Row { alpha: row.alpha * scale, ..*row }).collect();
        let matrix = layout.matrix(&rows);
        let mut factors = Factors::new(&matrix, &order(&layout, &rows, &matrix)).unwrap();
        let matrix = layout.matrix(&other);
        if factors.refactor(&matrix) {
            let right = layout.right(&other);
            let solution = factors.solve(right.clone());
            let left = matrix.left_over(&right, &solution);
            let most = solution.iter().fold(1.0, |most: f64, value| most.max(value.abs()));
            prop_assert!(left.iter().all(|left| left.abs() <= 1e-10 * most), "{left:?}");
        }
    }
}

#[test]
fn islands_loops_and_shorts_have_answers_or_reasons() {
    let wire =
        |from, to, ohms| Branch { from: NodeId(from), to: NodeId(to), law: Law::Resistor { ohms } };
    let source = |from, to, ohms| Branch {
        from: NodeId(from),
        to: NodeId(to),
        law: Law::Source { volts: 12.0, ohms },
    };
    let solve =
        |nodes, branches: Vec<Branch>| Solver::new(&Network { nodes, branches, relays: vec![] });
    // An island with its own battery: a meter from it to ground reads nothing, its own volts are right.
    let island = solve(4, vec![source(1, 2, 0.02), wire(1, 3, 0.01), wire(3, 2, 0.2)]).unwrap();
    let case = island.case(&[]).unwrap();
    assert!(
        (case.node_volts(NodeId(3)) - case.node_volts(NodeId(2)) - 12.0 * 0.2 / 0.23).abs() < 1e-9
    );
    let meter = case.with_load(NodeId(3), GROUND, &Law::Resistor { ohms: 10e6 }).unwrap();
    assert!(meter.volts.abs() < 1e-3, "{meter:?}");
    // Three wires of no ohms in a ring share what flows.
    let ring = solve(
        4,
        vec![source(1, 0, 0.5), wire(1, 2, 0.0), wire(2, 3, 0.0), wire(1, 3, 0.0), wire(3, 0, 5.5)],
    )
    .unwrap();
    let case = ring.case(&[]).unwrap();
    assert!(
        (case.branch_amps(BranchId(1)) - 2.0 / 3.0).abs() < 1e-3,
        "{}",
        case.branch_amps(BranchId(1))
    );
    assert!((case.branch_amps(BranchId(3)) - 4.0 / 3.0).abs() < 1e-3);
    // Ideal sources that quarrel, or are shorted by a fault, are said to be.
    let quarrel = solve(2, vec![source(1, 0, 0.0), wire(1, 0, 0.0)]);
    assert!(matches!(quarrel, Err(SolveError::ShortedSource { .. })), "{quarrel:?}");
    let ideal = solve(2, vec![source(1, 0, 0.0), wire(1, 0, 5.0)]).unwrap();
    let short = Change::Across { from: NodeId(1), to: GROUND, law: Law::Resistor { ohms: 0.0 } };
    assert!(matches!(ideal.case(&[short]), Err(SolveError::ShortedSource { .. })));
    // A tester that is a dead short on an ideal source, and one with a node that is not there.
    let sound = ideal.case(&[]).unwrap();
    let short = sound.with_load(NodeId(1), GROUND, &Law::Resistor { ohms: 0.0 });
    assert!(matches!(short, Err(SolveError::ShortedSource { .. })), "{short:?}");
    let nowhere = sound.with_load(NodeId(9), GROUND, &Law::Open);
    assert!(matches!(nowhere, Err(SolveError::NoSuchNode { .. })), "{nowhere:?}");
    // Nothing at all.
    assert!(solve(1, vec![]).unwrap().case(&[]).is_ok());
    assert!(Solver::new(&Network::default()).unwrap().case(&[]).is_ok());
}

/// Two armatures that want to move at once: the one further beyond its limit does, and by the time the other
/// would, the volts are gone. Which one that is can change with a fault.
#[test]
fn of_two_armatures_the_more_urgent_moves_first() {
    let branch = |from, to, law| Branch { from: NodeId(from), to: NodeId(to), law };
    let ohms = |ohms| Law::Resistor { ohms };
    let relay = |winding, pull_in_amps| Relay {
        windings: vec![(BranchId(winding), 1.0)],
        pull_in_amps,
        drop_out_amps: 0.02,
        stuck: None,
    };
    let network = Network {
        nodes: 4,
        branches: vec![
            branch(1, 0, Law::Source { volts: 12.0, ohms: 0.1 }),
            branch(1, 2, ohms(0.01)),
            branch(2, 0, ohms(40.0)),
            branch(1, 0, ohms(60.0)),
            branch(1, 3, Law::Contact { ohms: 0.01, relay: RelayId(1), rests_closed: false }),
            branch(3, 0, ohms(0.1)),
        ],
        relays: vec![relay(2, 0.2), relay(3, 0.15)],
    };
    let solver = Solver::new(&network).unwrap();
    let pulled = |case: &Case<'_>| [0, 1].map(|relay| case.pulled(RelayId(relay)));
    let with = |ohms| [Change::Law { branch: BranchId(1), law: Law::Resistor { ohms } }];
    for (series_ohms, should) in [(0.02, [true, true]), (3.0, [true, true]), (10.0, [false, true])]
    {
        let change = with(series_ohms);
        assert_eq!(pulled(&solver.case(&change).unwrap()), should, "{series_ohms} ohms");
        assert_eq!(
            pulled(&solver.whole_case(&change).unwrap()),
            should,
            "{series_ohms} ohms, whole"
        );
    }
}
