//! The planner on published and constructed problems whose answers are known.
#![expect(clippy::disallowed_methods, reason = "test cases are files")]

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use halfsplit::plan::bound::Bound;
use halfsplit::plan::exact::Exact;
use halfsplit::plan::focus::focus;
use halfsplit::plan::tree::{Limits, policy_tree};
use halfsplit::plan::walk::Walk;
use halfsplit::plan::{Budget, Method, Prepared, Problem, Progress};
use serde::Deserialize;

#[path = "../../examples/cases/matrix.rs"]
mod matrix;
#[path = "../../examples/cases/repair.rs"]
mod repair;

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
        let focused = focus(prepared, &prepared.node(&problem.start(0)), 0.0);
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
        let focused = focus(prepared, &prepared.node(&problem.start(0)), 0.0);
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
        let limits = Limits { budget: AMPLE, ..Limits::default() };
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
