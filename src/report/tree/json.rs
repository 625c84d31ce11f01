//! The tree as JSON: nested nodes, every outcome apart.

use serde::Serialize;

use super::{FaultTree, Kind, meaning, mixed, ruled_out};
use crate::report::mark::MADE_BY;
use crate::report::plain;

#[derive(Serialize)]
struct Whole<'a> {
    made_by: &'static str,
    circuit: &'a str,
    machine: &'a str,
    complaint: &'a str,
    kit: &'a [String],
    expected_minutes: f64,
    expected_tests: f64,
    bound_minutes: f64,
    worst_minutes: f64,
    worst_cured_minutes: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    optimum_minutes: Option<f64>,
    cured_probability: f64,
    hand_on_probability: f64,
    cut_probability: f64,
    cut_below: f64,
    complete: bool,
    root: Branch<'a>,
}

#[derive(Serialize)]
struct Branch<'a> {
    kind: &'static str,
    id: &'a str,
    title: &'a str,
    minutes: f64,
    reached: f64,
    expected_minutes: f64,
    expected_tests: f64,
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    cut: bool,
    #[serde(skip_serializing_if = "<[String]>::is_empty")]
    cautions: &'a [String],
    #[serde(skip_serializing_if = "<[String]>::is_empty")]
    doing: &'a [String],
    #[serde(skip_serializing_if = "Vec::is_empty")]
    outcomes: Vec<Seen<'a>>,
}

#[derive(Serialize)]
struct Seen<'a> {
    id: &'a str,
    words: &'a str,
    #[serde(skip_serializing_if = "String::is_empty")]
    meaning: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    rules_out: Option<String>,
    probability: f64,
    next: Branch<'a>,
}

/// One line of JSON and a line break.
pub fn write(tree: &FaultTree) -> String {
    let figures = tree.figures;
    let whole = Whole {
        made_by: MADE_BY,
        circuit: &tree.subject.circuit,
        machine: &tree.subject.machine,
        complaint: &tree.subject.complaint,
        kit: &tree.subject.kit,
        expected_minutes: figures.expected_minutes,
        expected_tests: figures.expected_tests,
        bound_minutes: figures.bound_minutes,
        worst_minutes: figures.worst_minutes,
        worst_cured_minutes: figures.worst_cured_minutes,
        optimum_minutes: figures.optimum_minutes,
        cured_probability: figures.cured_probability,
        hand_on_probability: figures.hand_on_probability,
        cut_probability: figures.cut_probability,
        cut_below: tree.cut_below,
        complete: tree.complete,
        root: branch(tree, 0),
    };
    plain::json(&whole) + "\n"
}

fn branch(tree: &FaultTree, at: usize) -> Branch<'_> {
    let node = &tree.nodes[at];
    let before = mixed(node.outcomes.iter().map(|one| (one.probability, &one.leaves[..])));
    let is_look = node.kind == Kind::Test;
    let seen = node.outcomes.iter().map(|outcome| Seen {
        id: &outcome.id,
        words: &outcome.words,
        meaning: meaning(&outcome.leaves),
        rules_out: if is_look { ruled_out(&before, &outcome.leaves) } else { None },
        probability: outcome.probability,
        next: branch(tree, outcome.next),
    });
    Branch {
        kind: node.kind.word(),
        id: &node.id,
        title: &node.title,
        minutes: node.minutes,
        reached: node.reached,
        expected_minutes: node.expected_minutes,
        expected_tests: node.expected_tests,
        cut: node.kind == Kind::Cut,
        cautions: &node.cautions,
        doing: &node.doing,
        outcomes: seen.collect(),
    }
}
