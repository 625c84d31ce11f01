//! Random planning problems small enough to try everything.

use halfsplit::plan::{Fix, Goal, Problem, Test};
use rand::{Rng, RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

/// A few hypotheses, tests and fixes with everything a problem can have: errors, fixes that may fail and
/// that overlap, batches, places inside places, setups, proofs, a price for handing on or none.
pub fn tiny(seed: u64) -> Problem {
    let mut dice = Pcg64Mcg::seed_from_u64(seed);
    let dice = &mut dice;
    let hypotheses = dice.random_range(2..=4);
    let with_fixes = dice.random_bool(0.8);
    let fixes: Vec<Fix> =
        (0..if with_fixes { 3 } else { 0 }).map(|_| tiny_fix(dice, hypotheses)).collect();
    let tests = (0..if with_fixes { 2 } else { 4 }).map(|_| tiny_test(dice, hypotheses)).collect();
    let batches =
        if with_fixes && dice.random_bool(0.5) { vec![vec![0, 1], vec![2, 1]] } else { vec![] };
    let handed_on = dice.random_bool(0.6).then(|| dice.random_range(5.0..60.0));
    // Up and down again, so that no detour through a useless step is shorter.
    let (up, down): (f64, f64) = (dice.random_range(0.0..3.0), dice.random_range(0.0..3.0));
    let switch = |from: usize, to: usize| {
        let steps = to as f64 - from as f64;
        if steps > 0.0 { up * steps } else { -down * steps }
    };
    Problem {
        priors: (0..hypotheses).map(|_| dice.random_range(0.02..1.0)).collect(),
        class_of: (0..hypotheses).map(|_| dice.random_range(0..3)).collect(),
        tests,
        fixes,
        batches,
        switch_minutes: (0..3).map(|from| (0..3).map(|to| switch(from, to)).collect()).collect(),
        place_minutes: (0..3).map(|_| dice.random_range(0.0..6.0)).collect(),
        place_parent: vec![None, Some(0), None],
        goal: if with_fixes {
            Goal::Repair { give_up_minutes: handed_on }
        } else {
            Goal::StopAnyTime { loss_if_wrong: 30.0 }
        },
    }
}

fn tiny_fix(dice: &mut impl Rng, hypotheses: usize) -> Fix {
    Fix {
        minutes: dice.random_range(1.0..20.0),
        mode: dice.random_range(0..3),
        places: if dice.random_bool(0.6) { vec![dice.random_range(0..3)] } else { vec![] },
        cures: (0..hypotheses).map(|_| [0.0, 0.0, 0.9, 1.0][dice.random_range(0..4)]).collect(),
        check_minutes: dice.random_range(0.0..3.0),
        check_mode: dice.random_range(0..3),
    }
}

fn tiny_test(dice: &mut impl Rng, hypotheses: usize) -> Test {
    let error = if dice.random_bool(0.5) { 0.0 } else { 0.1 };
    let outcomes = dice.random_range(2..=3);
    let usual: Vec<usize> = (0..hypotheses).map(|_| dice.random_range(0..outcomes)).collect();
    let wrong = error / (outcomes - 1) as f64;
    let entry = |outcome: usize, usual: usize| if usual == outcome { 1.0 - error } else { wrong };
    let row = |outcome| usual.iter().map(|&usual| entry(outcome, usual)).collect();
    Test {
        minutes: dice.random_range(0.2..4.0),
        mode: dice.random_range(0..3),
        places: if dice.random_bool(0.6) { vec![dice.random_range(0..3)] } else { vec![] },
        likelihood: (0..outcomes).map(row).collect(),
        proof: dice.random_bool(0.15).then_some(0),
    }
}
