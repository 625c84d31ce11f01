//! Random planning problems; the same seed gives the same problem everywhere.

use halfsplit::plan::{Fix, Goal, Problem, Test};
use rand::{Rng, RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

/// Twelve hypotheses at most, as many binary tests without noise, unequal priors and costs.
pub fn plain(seed: u64) -> Problem {
    let mut dice = Pcg64Mcg::seed_from_u64(seed);
    let hypotheses = dice.random_range(8..=12);
    let tests =
        (0..dice.random_range(hypotheses..=12)).map(|_| binary(&mut dice, hypotheses)).collect();
    Problem {
        priors: priors(&mut dice, hypotheses),
        class_of: (0..hypotheses as u32).collect(),
        tests,
        fixes: vec![],
        batches: vec![],
        switch_minutes: vec![vec![0.0]],
        place_minutes: vec![],
        place_parent: vec![],
        goal: Goal::Isolate,
    }
}

/// The same with places opened once, two setups besides the start, and four fix classes.
pub fn placed(seed: u64) -> Problem {
    let mut dice = Pcg64Mcg::seed_from_u64(seed);
    let (hypotheses, tests) = (12, 10);
    let mut problem = plain(seed);
    problem.priors = priors(&mut dice, hypotheses);
    problem.class_of = (0..hypotheses).map(|_| dice.random_range(0..4)).collect();
    problem.tests = (0..tests).map(|_| binary(&mut dice, hypotheses)).collect();
    problem.place_minutes = (0..3).map(|_| dice.random_range(1.0..8.0)).collect();
    problem.place_parent = vec![None; 3];
    let switch = |dice: &mut Pcg64Mcg, from: usize, to: usize| {
        let minutes = dice.random_range(0.5..5.0);
        if from == to { 0.0 } else { minutes }
    };
    problem.switch_minutes =
        (0..3).map(|from| (0..3).map(|to| switch(&mut dice, from, to)).collect()).collect();
    for test in &mut problem.tests {
        test.mode = dice.random_range(1..=2);
        test.places = if dice.random_bool(0.7) { vec![dice.random_range(0..3)] } else { vec![] };
    }
    problem
}

/// Tests that err, fixes with checks that may be handed on: the shape of a real job, at the size given.
pub fn job(seed: u64, size: &Size) -> Problem {
    let mut dice = Pcg64Mcg::seed_from_u64(seed);
    let class_of: Vec<u32> =
        (0..size.hypotheses).map(|_| dice.random_range(0..size.fixes as u32)).collect();
    let tests = (0..size.tests).map(|_| noisy(&mut dice, size)).collect();
    let fixes =
        (0..size.fixes as u32).map(|class| fix(&mut dice, size, class, &class_of)).collect();
    let modes = size.modes;
    let place: Vec<(f64, f64)> =
        (0..modes).map(|_| (dice.random_range(0.0..2.0), dice.random_range(0.0..2.0))).collect();
    // Switching is a distance, so that no detour is shorter.
    let switch =
        |a: usize, b: usize| (place[a].0 - place[b].0).abs() + (place[a].1 - place[b].1).abs();
    Problem {
        priors: priors(&mut dice, size.hypotheses),
        class_of,
        tests,
        fixes,
        batches: vec![],
        switch_minutes: (0..modes).map(|a| (0..modes).map(|b| switch(a, b)).collect()).collect(),
        place_minutes: (0..size.places).map(|_| dice.random_range(0.5..8.0)).collect(),
        place_parent: vec![None; size.places],
        goal: Goal::Repair { give_up_minutes: Some(120.0) },
    }
}

/// How big a [`job`] is.
#[derive(Debug, Clone, Copy)]
pub struct Size {
    pub hypotheses: usize,
    pub tests: usize,
    pub outcomes: usize,
    pub modes: usize,
    pub places: usize,
    pub fixes: usize,
}

fn priors(dice: &mut impl Rng, count: usize) -> Vec<f64> {
    let weights: Vec<f64> = (0..count).map(|_| dice.random_range(-3.0_f64..1.0).exp()).collect();
    let sum: f64 = weights.iter().sum();
    weights.iter().map(|weight| weight / sum).collect()
}

fn minutes(dice: &mut impl Rng) -> f64 {
    dice.random_range(-1.2_f64..2.2).exp()
}

fn binary(dice: &mut impl Rng, hypotheses: usize) -> Test {
    let share = dice.random_range(0.15..0.6);
    let ones: Vec<f64> =
        (0..hypotheses).map(|_| f64::from(u8::from(dice.random_bool(share)))).collect();
    Test {
        minutes: minutes(dice),
        mode: 0,
        places: vec![],
        likelihood: vec![ones.iter().map(|one| 1.0 - one).collect(), ones],
        proof: None,
    }
}

/// Most hypotheses show the sound outcome, some another, all with a few percent of error.
fn noisy(dice: &mut impl Rng, size: &Size) -> Test {
    let share = dice.random_range(0.05..0.5);
    let error = dice.random_range(0.005..0.05);
    let wrong = error / (size.outcomes - 1) as f64;
    let mut usual =
        || if dice.random_bool(share) { dice.random_range(0..size.outcomes) } else { 0 };
    let usual: Vec<usize> = (0..size.hypotheses).map(|_| usual()).collect();
    let entry = |outcome: usize, usual: usize| if usual == outcome { 1.0 - error } else { wrong };
    let row = |outcome| usual.iter().map(|&usual| entry(outcome, usual)).collect();
    let likelihood = (0..size.outcomes).map(row).collect();
    Test {
        minutes: dice.random_range(0.3..3.0),
        mode: dice.random_range(0..size.modes as u32),
        places: vec![dice.random_range(0..size.places as u32)],
        likelihood,
        proof: None,
    }
}

fn fix(dice: &mut impl Rng, size: &Size, class: u32, class_of: &[u32]) -> Fix {
    let mode = dice.random_range(0..size.modes as u32);
    Fix {
        minutes: dice.random_range(3.0..40.0),
        mode,
        places: vec![dice.random_range(0..size.places as u32)],
        cures: class_of.iter().map(|&other| if other == class { 0.97 } else { 0.0 }).collect(),
        check_minutes: 1.0,
        check_mode: 0,
    }
}
