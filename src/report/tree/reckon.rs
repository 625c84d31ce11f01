//! What a grown tree costs, added up from its ends.

use super::{Figures, Kind, Node};
use crate::job::study::Study;

/// Bits lacking about which fix cures, when the suspects weigh so much.
pub fn bits(study: &Study, weights: &[f64]) -> f64 {
    let mut shares = vec![0.0; study.lineup().fixes.len()];
    for (weight, suspect) in weights.iter().zip(&study.lineup().suspects) {
        shares[suspect.fix.index()] += weight;
    }
    let total: f64 = shares.iter().sum();
    let possible = shares.iter().filter(|share| **share > 0.0);
    possible.map(|share| -(share / total) * (share / total).log2()).sum()
}

/// Fills in the expectations of all nodes and gives the figures of the whole; bound and optimum are
/// none of its business. `lacks` has the bits lacking at each node.
pub fn reckon(mut nodes: Vec<Node>, lacks: &[f64]) -> (Vec<Node>, Figures) {
    let per_test = bits_per_test(&nodes, lacks);
    for at in (0..nodes.len()).rev() {
        let mut minutes = nodes[at].minutes;
        let mut tests = match nodes[at].kind {
            Kind::Test => 1.0,
            Kind::Cut if per_test > 0.0 => lacks[at] / per_test,
            _ => 0.0,
        };
        for outcome in &nodes[at].outcomes {
            minutes += outcome.probability * nodes[outcome.next].expected_minutes;
            tests += outcome.probability * nodes[outcome.next].expected_tests;
        }
        nodes[at].expected_minutes = minutes;
        nodes[at].expected_tests = tests;
    }
    let spent = minutes_before(&nodes);
    let worst = |wanted: &dyn Fn(Kind) -> bool| {
        let ends = nodes.iter().zip(&spent).filter(|(node, _)| wanted(node.kind));
        ends.map(|(node, before)| before + node.minutes).fold(0.0, f64::max)
    };
    let reached = |kind: Kind| {
        nodes.iter().filter(|one| one.kind == kind).fold(0.0, |sum, one| sum + one.reached)
    };
    let figures = Figures {
        expected_minutes: nodes[0].expected_minutes,
        expected_tests: nodes[0].expected_tests,
        bound_minutes: 0.0,
        worst_minutes: worst(&|kind| kind.word() == "end"),
        worst_cured_minutes: worst(&|kind| kind == Kind::Cured),
        optimum_minutes: None,
        cured_probability: reached(Kind::Cured),
        hand_on_probability: reached(Kind::HandOn),
        cut_probability: reached(Kind::Cut),
    };
    (nodes, figures)
}

/// Minutes spent on the way to each node.
fn minutes_before(nodes: &[Node]) -> Vec<f64> {
    let mut spent = vec![0.0; nodes.len()];
    for (at, node) in nodes.iter().enumerate() {
        for outcome in &node.outcomes {
            spent[outcome.next] = spent[at] + node.minutes;
        }
    }
    spent
}

/// Mean bits about the fix that a reading of this tree brings.
fn bits_per_test(nodes: &[Node], lacks: &[f64]) -> f64 {
    let (mut gained, mut count) = (0.0, 0.0);
    for (at, node) in nodes.iter().enumerate().filter(|(_, node)| node.kind == Kind::Test) {
        let left: f64 = node.outcomes.iter().map(|one| one.probability * lacks[one.next]).sum();
        gained += node.reached * (lacks[at] - left);
        count += node.reached;
    }
    if count > 0.0 { gained / count } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::super::Outcome;
    use super::*;

    fn node(kind: Kind, minutes: f64, outcomes: &[(f64, usize)]) -> Node {
        Node {
            kind,
            id: String::new(),
            title: String::new(),
            minutes,
            reached: 1.0,
            expected_minutes: 0.0,
            expected_tests: 0.0,
            cautions: vec![],
            doing: vec![],
            outcomes: outcomes
                .iter()
                .map(|&(probability, next)| Outcome {
                    id: String::new(),
                    words: String::new(),
                    probability,
                    leaves: vec![],
                    next,
                })
                .collect(),
        }
    }

    #[test]
    fn a_tree_costs_what_its_ways_cost() {
        // A test of 2 min; one time in four it leads to a cut way with 10 min and 1 bit left.
        let mut nodes = vec![
            node(Kind::Test, 2.0, &[(0.75, 1), (0.25, 2)]),
            node(Kind::Fix, 8.0, &[(1.0, 3)]),
            node(Kind::Cut, 10.0, &[]),
            node(Kind::Cured, 0.0, &[]),
        ];
        nodes[2].reached = 0.25;
        let (nodes, figures) = reckon(nodes, &[2.0, 0.0, 1.0, 0.0]);
        assert!((figures.expected_minutes - (2.0 + 0.75 * 8.0 + 0.25 * 10.0)).abs() < 1e-12);
        // The test brings 2 - 0.25 bits; the cut way lacks 1, so it counts as 1/1.75 readings.
        assert!((figures.expected_tests - (1.0 + 0.25 / 1.75)).abs() < 1e-12);
        assert!((figures.worst_minutes - 12.0).abs() < 1e-12);
        assert!((figures.worst_cured_minutes - 10.0).abs() < 1e-12);
        assert!((figures.cut_probability - 0.25).abs() < 1e-12);
        assert!((nodes[1].expected_minutes - 8.0).abs() < 1e-12);
    }
}
