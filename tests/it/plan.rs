//! The planner on published and constructed problems whose answers are known.
#![expect(clippy::disallowed_methods, reason = "test cases are files")]

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use halfsplit::belief::{Belief, Reading};
use halfsplit::plan::bound::Bound;
use halfsplit::plan::exact::Exact;
use halfsplit::plan::focus::focus;
use halfsplit::plan::tree::{Limits, policy_tree};
use halfsplit::plan::walk::Walk;
use halfsplit::plan::{
    Action, Budget, Ended, Goal, Method, Prepared, Problem, Progress, State, Test, plan,
};
use serde::Deserialize;

#[path = "../../examples/cases/matrix.rs"]
mod matrix;
#[path = "../../examples/cases/random.rs"]
mod random;
#[path = "../../examples/cases/repair.rs"]
mod repair;
#[path = "../../examples/cases/tiny.rs"]
mod tiny;

/// The figures of the files carry nine digits.
const TOLERANCE: f64 = 1e-6;

/// Nodes enough for the exact search of every published case.
const AMPLE: Budget = Budget { nodes: 20_000 };

/// What a matrix file says of its answers.
#[derive(Deserialize)]
struct Expected {
    matrices: Vec<ExpectedMatrix>,
}

#[derive(Deserialize)]
struct ExpectedMatrix {
    recomputed: Recomputed,
    #[serde(default)]
    bounds: BTreeMap<String, f64>,
    #[serde(default)]
    heuristics: BTreeMap<String, f64>,
    #[serde(default)]
    posterior_check: Option<PosteriorCheck>,
}

#[derive(Deserialize)]
struct Recomputed {
    optimum: f64,
}

/// Every file of a folder with its text.
fn files(folder: &str) -> Vec<(String, String)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/plan").join(folder);
    let mut files: Vec<(String, String)> = fs::read_dir(folder)
        .expect("the folder is there")
        .map(|entry| entry.expect("an entry").path())
        .map(|path| (path.display().to_string(), fs::read_to_string(path).expect("text")))
        .collect();
    files.sort();
    assert!(!files.is_empty());
    files
}

/// Every matrix with its problem and what is known of it.
fn each_matrix(mut look: impl FnMut(&str, &Prepared, &Problem, &ExpectedMatrix)) {
    for (path, text) in files("matrices") {
        let matrices = matrix::read(&text).expect("a matrix file");
        let expected: Expected = serde_yaml::from_str(&text).expect("expectations");
        for (matrix, expected) in matrices.iter().zip(&expected.matrices) {
            let problem = matrix.problem().expect("a sound problem");
            let prepared = Prepared::new(&problem).expect("a sound problem");
            look(&path, &prepared, &problem, expected);
        }
    }
}

fn walked(prepared: &Prepared, problem: &Problem, method: Method) -> f64 {
    Walk::new(prepared, method, AMPLE).minutes(&prepared.node(&problem.start(0)))
}

#[track_caller]
fn same(found: f64, expected: f64, what: &str) {
    let scale = expected.abs().max(1.0);
    assert!((found - expected).abs() <= TOLERANCE * scale, "{what}: {found} instead of {expected}");
}

#[test]
fn the_optimum_of_every_matrix_is_found() {
    each_matrix(|path, prepared, problem, expected| {
        let focused = focus(prepared, &prepared.node(&problem.start(0)));
        let mut exact = Exact::new(&focused.prepared, 1_000_000);
        let optimum = exact.minutes(&focused.node).expect("nodes enough");
        same(optimum, expected.recomputed.optimum, path);
    });
}

#[test]
fn the_default_plan_reaches_the_optimum_of_every_matrix() {
    each_matrix(|path, prepared, problem, expected| {
        same(walked(prepared, problem, Method::Best), expected.recomputed.optimum, path);
    });
}

#[test]
fn look_ahead_alone_stays_near_the_optimum_of_every_matrix() {
    each_matrix(|path, prepared, problem, expected| {
        let ratio = walked(prepared, problem, Method::LookAhead) / expected.recomputed.optimum;
        assert!((1.0 - TOLERANCE..1.01).contains(&ratio), "{path}: {ratio}");
    });
}

#[test]
fn greedy_costs_what_greedy_is_known_to_cost() {
    let mut compared = 0;
    each_matrix(|path, prepared, problem, expected| {
        let keys = ["greedy_info_gain_per_cost", "info_gain_order_with_optimal_stop"];
        for known in keys.iter().filter_map(|key| expected.heuristics.get(*key)) {
            compared += 1;
            same(walked(prepared, problem, Method::Greedy), *known, path);
        }
    });
    assert!(compared > 30);
}

#[test]
fn bounds_lie_below_the_optimum_and_not_below_the_known_ones() {
    each_matrix(|path, prepared, problem, expected| {
        let focused = focus(prepared, &prepared.node(&problem.start(0)));
        let bound = Bound::new(&focused.prepared).minutes(&focused.prepared, &focused.node);
        assert!(bound <= expected.recomputed.optimum + TOLERANCE, "{path}: {bound}");
        if let Some(known) = expected.bounds.get("huffman_cost_bound") {
            assert!(bound >= known - TOLERANCE, "{path}: {bound} is below {known}");
        }
    });
}

#[test]
fn trees_cost_what_walks_cost() {
    each_matrix(|path, prepared, problem, expected| {
        let start = problem.start(0);
        let limits = Limits {
            budget: Budget { nodes: 200_000 },
            least_probability: 0.0,
            ..Limits::default()
        };
        let tree = policy_tree(prepared, &start, &limits, &Progress::default());
        same(tree.expected_minutes, expected.recomputed.optimum, path);
        assert!(tree.worst_minutes >= tree.expected_minutes - TOLERANCE, "{path}");
        assert!(tree.bound_minutes <= tree.expected_minutes + TOLERANCE, "{path}");
    });
}

#[test]
fn every_repair_sequence_is_planned_at_its_optimum() {
    let mut compared = 0;
    for (path, text) in files("repairs") {
        for case in repair::read(&text).expect("a file of repairs") {
            let known =
                case.optimum_ecr.unwrap_or_else(|| panic!("{path}: {} has no optimum", case.id));
            assert_eq!(case.actions.len(), case.problem.fixes.len(), "{path}");
            assert_eq!(case.questions.len(), case.problem.tests.len(), "{path}");
            let prepared = Prepared::new(&case.problem).expect("a sound problem");
            same(walked(&prepared, &case.problem, Method::Best), known, &case.id);
            compared += 1;
        }
    }
    assert!(compared >= 20);
}

/// The least expected minutes by trying everything, with no bound, no merging and no memory.
fn by_trying_everything(problem: &Problem, state: &State) -> f64 {
    let stop = match problem.goal {
        Goal::Repair { give_up_minutes } => give_up_minutes,
        Goal::StopAnyTime { loss_if_wrong } => {
            let class = |wanted: u32| -> f64 {
                let of = state.belief.iter().zip(&problem.class_of);
                of.filter(|(_, class)| **class == wanted).map(|(share, _)| share).sum()
            };
            let likeliest =
                problem.class_of.iter().map(|&wanted| class(wanted)).fold(0.0, f64::max);
            Some(loss_if_wrong * (1.0 - likeliest))
        }
        Goal::Isolate => unreachable!("not generated here"),
    };
    let moves = moves(problem, state);
    let can_end = moves.iter().any(|one| one.ends > 1e-12);
    if matches!(problem.goal, Goal::Repair { .. }) && !can_end {
        return stop.unwrap_or(0.0);
    }
    let mut best = stop.unwrap_or(f64::INFINITY);
    for one in moves {
        let mut total = one.minutes;
        for likelihood in &one.going_on {
            let seen = state.belief.iter().zip(likelihood);
            let probability: f64 = seen.map(|(share, likelihood)| share * likelihood).sum();
            if probability > 1e-12 {
                let mut next = state.clone();
                next.advance(problem, one.action, likelihood);
                total += probability * by_trying_everything(problem, &next);
            }
        }
        best = best.min(total);
    }
    best
}

/// Something that can be done in a state.
struct Move {
    action: Action,
    minutes: f64,
    /// Probability that it ends the job.
    ends: f64,
    /// Likelihoods of the outcomes that do not.
    going_on: Vec<Vec<f64>>,
}

fn moves(problem: &Problem, state: &State) -> Vec<Move> {
    let mut moves = Vec::new();
    for (index, test) in problem.tests.iter().enumerate() {
        if state.used_tests.contains(index) {
            continue;
        }
        let switch = problem.switch_minutes[state.mode as usize][test.mode as usize];
        let ends = test.proof.map_or(0.0, |outcome| share(state, &test.likelihood[outcome]));
        let rows = test.likelihood.iter().enumerate();
        let going_on = rows.filter(|(at, _)| Some(*at) != test.proof).map(|(_, row)| row.clone());
        moves.push(Move {
            action: Action::Test(index),
            minutes: switch + opening(problem, state, [&test.places]) + test.minutes,
            ends,
            going_on: going_on.collect(),
        });
    }
    let single = (0..problem.fixes.len()).map(|fix| (Action::Fix(fix), vec![fix]));
    let batches = problem.batches.iter().enumerate();
    let several = batches.map(|(at, batch)| (Action::Batch(at), batch.clone()));
    for (action, list) in single.chain(several) {
        if list.iter().any(|&fix| state.used_fixes.contains(fix)) {
            continue;
        }
        let fixes = || list.iter().map(|&fix| &problem.fixes[fix]);
        let mut minutes = opening(problem, state, fixes().map(|fix| &fix.places));
        let mut mode = state.mode;
        let mut failing = vec![1.0; problem.priors.len()];
        for fix in fixes() {
            minutes += problem.switch_minutes[mode as usize][fix.mode as usize] + fix.minutes;
            mode = fix.mode;
            for (failing, cures) in failing.iter_mut().zip(&fix.cures) {
                *failing *= 1.0 - cures;
            }
        }
        let last = &problem.fixes[list[list.len() - 1]];
        minutes +=
            problem.switch_minutes[mode as usize][last.check_mode as usize] + last.check_minutes;
        let ends = 1.0 - share(state, &failing);
        moves.push(Move { action, minutes, ends, going_on: vec![failing] });
    }
    moves
}

fn share(state: &State, likelihood: &[f64]) -> f64 {
    state.belief.iter().zip(likelihood).map(|(share, likelihood)| share * likelihood).sum()
}

fn opening<'a>(
    problem: &Problem,
    state: &State,
    lists: impl IntoIterator<Item = &'a Vec<u32>>,
) -> f64 {
    let mut closed = std::collections::BTreeSet::new();
    for &place in lists.into_iter().flatten() {
        let mut next = Some(place);
        while let Some(place) = next {
            closed.insert(place as usize);
            next = problem.place_parent[place as usize];
        }
    }
    let closed = closed.into_iter().filter(|&place| !state.opened.contains(place));
    closed.map(|place| problem.place_minutes[place]).sum()
}

#[test]
fn the_exact_search_finds_what_trying_everything_finds() {
    for seed in 0..300 {
        let problem = tiny::tiny(seed);
        let start = problem.start(0);
        let expected = by_trying_everything(&problem, &start);
        let prepared = Prepared::new(&problem).expect("a sound problem");
        let focused = focus(&prepared, &prepared.node(&start));
        let found = Exact::new(&focused.prepared, u64::MAX).minutes(&focused.node).expect("nodes");
        same(found, expected, &format!("seed {seed}: {problem:#?}"));
        let bound = Bound::new(&focused.prepared).minutes(&focused.prepared, &focused.node);
        assert!(bound <= expected + TOLERANCE, "seed {seed}: bound {bound} above {expected}");
        for method in [Method::Greedy, Method::Rollout, Method::LookAhead] {
            let walked = walked(&prepared, &problem, method);
            assert!(
                walked >= expected - TOLERANCE,
                "seed {seed}: {method:?} {walked} below {expected}"
            );
        }
    }
}

/// Mean and worst of what the planner costs above the optimum.
fn above_optimum(make: fn(u64) -> Problem, count: u64, method: Method) -> (f64, f64) {
    let above = (0..count).map(|seed| {
        let problem = make(seed);
        let prepared = Prepared::new(&problem).expect("a sound problem");
        let best = walked(&prepared, &problem, Method::Best);
        walked(&prepared, &problem, method) / best - 1.0
    });
    let above: Vec<f64> = above.collect();
    let mean = above.iter().sum::<f64>() / count as f64;
    (mean, above.into_iter().fold(0.0, f64::max))
}

#[test]
fn look_ahead_alone_is_near_the_optimum_where_greedy_is_not() {
    for (make, mean_limit, worst_limit) in
        [(random::plain as fn(u64) -> Problem, 0.01, 0.05), (random::placed, 0.02, 0.08)]
    {
        let (mean, worst) = above_optimum(make, 12, Method::LookAhead);
        assert!(mean <= mean_limit && worst <= worst_limit, "{mean} {worst}");
        let (greedy, _) = above_optimum(make, 12, Method::Greedy);
        assert!(greedy > mean_limit, "greedy is only {greedy} above: the problems are too easy");
    }
}

#[test]
fn a_big_job_repeats_itself_and_respects_its_budget() {
    let size =
        random::Size { hypotheses: 70, tests: 120, outcomes: 3, modes: 8, places: 5, fixes: 20 };
    let problem = random::job(7, &size);
    let prepared = Prepared::new(&problem).expect("a sound problem");
    let (start, budget) = (problem.start(0), Budget { nodes: 150 });
    let once = plan(&prepared, &start, &budget, &Progress::default());
    assert_eq!(once, plan(&prepared, &start, &budget, &Progress::default()));
    assert!(once.report.nodes <= 150, "{:?}", once.report);
    assert!(once.bound_minutes <= once.expected_minutes);
    let stopped = Progress::default();
    stopped.stop.store(true, std::sync::atomic::Ordering::Relaxed);
    let early = plan(&prepared, &start, &budget, &stopped);
    assert_eq!(early.report.ended, Ended::Stopped);
    assert!(early.report.nodes < 3);
}

/// What the posterior is after some readings of a matrix.
#[derive(Deserialize)]
struct PosteriorCheck {
    observed: Vec<(String, usize)>,
    evidence_probability: f64,
    posterior: Vec<f64>,
}

#[test]
fn readings_of_noisy_matrices_move_belief_as_known() {
    let mut checked = 0;
    for (path, text) in files("matrices") {
        let matrices = matrix::read(&text).expect("a matrix file");
        let expected: Expected = serde_yaml::from_str(&text).expect("expectations");
        for (matrix, expected) in matrices.iter().zip(&expected.matrices) {
            let Some(check) = &expected.posterior_check else { continue };
            let problem = matrix.problem().expect("a sound problem");
            let mut belief = Belief::new(&problem.priors).expect("priors");
            for (name, outcome) in &check.observed {
                let test = matrix.tests.iter().position(|test| test == name).expect("a test");
                let likelihood = problem.tests[test].likelihood[*outcome].clone();
                belief.read(Reading::sure(likelihood)).expect("possible");
            }
            same(belief.log_evidence().exp(), check.evidence_probability, &path);
            for (found, expected) in belief.shares().iter().zip(&check.posterior) {
                same(*found, *expected, &path);
            }
            checked += 1;
        }
    }
    assert!(checked >= 4);
}

/// Two decisions, and a test that may be bought before.
#[derive(Deserialize)]
struct Decision {
    prior: Vec<f64>,
    value: Vec<f64>,
    test: BoughtTest,
    expect: DecisionExpected,
}

#[derive(Deserialize)]
struct BoughtTest {
    cost: f64,
    likelihood: Vec<Vec<f64>>,
}

#[derive(Deserialize)]
struct DecisionExpected {
    value_without_test: f64,
    best_value: f64,
    buys_test: bool,
}

#[test]
fn a_test_is_bought_for_its_worth_not_for_its_bits() {
    for (path, text) in files("decisions") {
        let case: Decision = serde_yaml::from_str(&text).expect("a decision");
        // The best decision of each state is its class, and what the wrong one loses weighs the state: the
        // chance to be wrong, in these weights, is then the expected loss.
        let lost: Vec<f64> = case.prior.iter().zip(&case.value).map(|(p, v)| p * v.abs()).collect();
        let loss_if_wrong: f64 = lost.iter().sum();
        let best: f64 = case.prior.iter().zip(&case.value).map(|(p, v)| p * v.max(0.0)).sum();
        let problem = Problem {
            priors: lost.iter().map(|lost| lost / loss_if_wrong).collect(),
            class_of: case.value.iter().map(|value| u32::from(*value > 0.0)).collect(),
            tests: vec![Test {
                minutes: case.test.cost,
                mode: 0,
                places: vec![],
                likelihood: case.test.likelihood,
                proof: None,
            }],
            fixes: vec![],
            batches: vec![],
            switch_minutes: vec![vec![0.0]],
            place_minutes: vec![],
            place_parent: vec![],
            goal: Goal::StopAnyTime { loss_if_wrong },
        };
        let prepared = Prepared::new(&problem).expect("a sound problem");
        let chosen = plan(&prepared, &problem.start(0), &AMPLE, &Progress::default());
        assert_eq!(chosen.action == Action::Test(0), case.expect.buys_test, "{path}");
        same(best - chosen.expected_minutes, case.expect.best_value, &path);
        let stop = chosen.ranking.iter().find(|ranked| ranked.action == Action::Stop);
        let without = stop.expect("stopping is an action").expected_minutes;
        same(best - without, case.expect.value_without_test, &path);
    }
}
