//! Generated harnesses: they read without a word, do what they say, and every suspect's solution obeys Kirchhoff.

#[path = "../../examples/harness/generate.rs"]
mod generate;

use std::sync::Arc;

use halfsplit::circuit::{Circuit, Kind, read};
use halfsplit::electric::{BranchId, Case, Change, NodeId, Solver, Steadiness};
use halfsplit::job::study::complaint::sights;
use halfsplit::setup::Setup;
use halfsplit::setup::wiring::Wiring;
use halfsplit::suspect::damage::changes;
use halfsplit::suspect::{Lineup, SuspectId};
use halfsplit::tester::expectations::Bench;

/// Amperes that may be left over at a node of a machine whose battery gives up to a thousand.
const LEFT_AMPS: f64 = 1e-9;

#[track_caller]
pub fn circuit(parts: usize, seed: u64) -> Circuit {
    let text = generate::harness(parts, 4, seed);
    let (circuit, problems) = read::read_text("harness", &text);
    assert!(problems.is_empty(), "{parts} parts, seed {seed}: {problems:?}");
    circuit.unwrap()
}

#[test]
fn files_of_any_size_read_without_a_word() {
    for (parts, seed) in (1..=12).map(|seed| (100 + 61 * seed as usize, seed)) {
        let circuit = circuit(parts, seed);
        let (least, found) = (parts - 3, circuit.parts.len());
        assert!((least..=parts).contains(&found), "{found} parts of {parts}");
        assert!(circuit.works.len() >= 3, "{} works", circuit.works.len());
        assert!(circuit.parts.iter().any(|part| matches!(part.kind, Kind::Pin { .. })));
    }
    let largest = generate::harness(10_000, 8, 1);
    assert!(largest.len() < 1024 * 1024, "{} bytes", largest.len());
    assert_eq!(largest, generate::harness(10_000, 8, 1));
}

#[test]
fn a_sound_harness_does_what_its_works_say() {
    for (parts, seed) in [(100, 1), (200, 2)] {
        let circuit = Arc::new(circuit(parts, seed));
        let lineup = Arc::new(Lineup::of(&circuit));
        let bench = Bench::new(&circuit, lineup).unwrap();
        assert!(bench.blown(SuspectId(0)).is_empty());
        for work in &circuit.works {
            for (test, outcome) in sights(&circuit, work) {
                let column = bench.column_of(&test).unwrap();
                assert_eq!(column.likeliest(0), outcome, "seed {seed}: {} {}", work.name, test.id);
            }
        }
    }
}

#[test]
fn every_suspect_of_a_harness_leaves_nothing_over_at_any_node() {
    for (parts, seed) in [(100, 4), (250, 5)] {
        let circuit = circuit(parts, seed);
        let lineup = Lineup::of(&circuit);
        for work in circuit.works.iter().take(2) {
            let setup = Setup::for_work(&circuit, work);
            let wiring = Wiring::new(&circuit, &setup);
            let solver = Solver::new(&wiring.network).unwrap();
            for suspect in &lineup.suspects {
                let list = changes(&circuit, &setup, &wiring, &suspect.damage);
                let case = solver.case(&list).unwrap();
                let place = format!("seed {seed}, {}, {}", work.name, suspect.id);
                assert!(case.residual_amps() <= LEFT_AMPS, "{place}: {} A", case.residual_amps());
                let worst = worst_left_over(&wiring, &list, &case);
                assert!(worst <= LEFT_AMPS, "{place}: {worst} A left over");
                assert!(*case.steadiness() == Steadiness::Steady || !list.is_empty(), "{place}");
            }
        }
    }
}

/// Kirchhoff's current law by the branches' amperes as the case tells them, ground left out.
fn worst_left_over(wiring: &Wiring, list: &[Change], case: &Case<'_>) -> f64 {
    // Every node leaks so much to ground, as documented in `electric`.
    let leak_siemens = 1e-13;
    let mut sums: Vec<f64> = (0..wiring.network.nodes)
        .map(|node| leak_siemens * case.node_volts(NodeId(node)))
        .collect();
    let own = wiring.network.branches.iter().enumerate();
    let own = own.map(|(at, branch)| (branch.from, branch.to, BranchId(at as u32)));
    let across = list.iter().filter_map(|change| match change {
        Change::Across { from, to, .. } => Some((*from, *to)),
        _ => None,
    });
    let count = wiring.network.branches.len();
    let added = across.enumerate().map(|(n, (from, to))| (from, to, BranchId((count + n) as u32)));
    for (from, to, branch) in own.chain(added) {
        let amps = case.branch_amps(branch);
        assert!(amps.is_finite());
        sums[from.0 as usize] += amps;
        sums[to.0 as usize] -= amps;
    }
    sums.iter().skip(1).fold(0.0, |worst: f64, sum| worst.max(sum.abs()))
}
