//! A problem in which some hypotheses have come to show something else than when it was laid out.

use super::focus::{Focus, kept_groups};
use super::node::Node;
use super::prepared::Prepared;
use super::problem::State;
use super::step::{Source, Step};

/// What one hypothesis shows by now.
#[derive(Debug, Clone, PartialEq)]
pub struct Revised {
    /// Its position in the problem.
    pub hypothesis: usize,
    /// For each test of the problem the probability of each outcome; empty where it shows what it did.
    pub rows: Vec<Vec<f64>>,
}

/// Chances closer than this count as the same: a test that tells next to nothing would be taken for its low
/// price, as good as any in front of the one that does.
const GRAIN: f64 = 0.02;
/// Groups with a smaller share need not be like others.
const LEAST_LIKE: f64 = 0.005;

/// A group of the new problem: an old group, or one hypothesis.
type Origin<'a> = Result<usize, &'a Revised>;

/// Groups that have less than this together are left out: what is laid out anew had better be small.
const NEGLECTED: f64 = 0.001;

/// `prepared` in `state`, each of `revised` as a group of its own, the likeliest first.
pub fn revise(prepared: &Prepared, state: &State, revised: &[Revised]) -> Focus {
    let mut rest = state.clone();
    for one in revised {
        rest.belief[one.hypothesis] = 0.0;
    }
    let total: f64 = state.belief.iter().sum();
    let left: f64 = rest.belief.iter().sum();
    let node = prepared.node(&rest);
    let kept = kept_groups(&node, NEGLECTED);
    let (origins, classes) = origins(prepared, &kept, revised);
    let share = |origin: &Origin<'_>| match origin {
        Ok(group) => node.belief[*group] * left / total,
        Err(one) => state.belief[one.hypothesis] / total,
    };
    let mut belief: Vec<f64> = origins.iter().map(share).collect();
    let sum: f64 = belief.iter().sum();
    for share in &mut belief {
        *share /= sum;
    }
    // Who is like whom is asked of the likelier first, and of those that show what they did before the others.
    let mut order: Vec<usize> =
        (0..origins.len()).filter(|&at| origins[at].is_err() || belief[at] > LEAST_LIKE).collect();
    order.sort_by(|&a, &b| {
        let new = |at: usize| origins[at].is_err();
        new(a).cmp(&new(b)).then(belief[b].total_cmp(&belief[a]))
    });
    let step = |step: &Step| {
        let mut rows = rows(prepared, step, &origins);
        if step.ending.is_none() {
            make_like(&mut rows, &origins, &order);
        }
        step.with_rows(rows)
    };
    let steps = prepared.steps.iter().map(step).collect();
    Focus { prepared: prepared.with_steps(steps, classes), node: Node { belief, ..node } }
}

/// The groups of the new problem, and the ranges of the classes.
fn origins<'a>(
    prepared: &Prepared,
    kept: &[usize],
    revised: &'a [Revised],
) -> (Vec<Origin<'a>>, Vec<std::ops::Range<usize>>) {
    let mut origins: Vec<Origin<'a>> = Vec::new();
    let mut classes = Vec::new();
    for class in &prepared.classes {
        let first = origins.len();
        origins.extend(kept.iter().copied().filter(|group| class.contains(group)).map(Ok));
        let own = revised.iter().filter(|one| class.contains(&prepared.group_of[one.hypothesis]));
        origins.extend(own.map(Err));
        if origins.len() > first {
            classes.push(first..origins.len());
        }
    }
    (origins, classes)
}

/// The rows of a step over the new groups.
fn rows(prepared: &Prepared, step: &Step, origins: &[Origin<'_>]) -> Vec<Vec<f64>> {
    let chance = |outcome: usize, origin: &Origin<'_>| {
        let now = match (origin, step.source) {
            (Err(one), Source::Test(test)) => one.rows.get(test).and_then(|row| row.get(outcome)),
            _ => None,
        };
        let group = origin.unwrap_or_else(|one| prepared.group_of[one.hypothesis]);
        now.copied().unwrap_or(step.rows[outcome][group])
    };
    let row = |outcome| origins.iter().map(|origin| chance(outcome, origin)).collect();
    (0..step.rows.len()).map(row).collect()
}

/// Gives each new group the chances of one before it in `order` that shows nearly the same.
fn make_like(rows: &mut [Vec<f64>], origins: &[Origin<'_>], order: &[usize]) {
    for (place, &at) in order.iter().enumerate().filter(|(_, at)| origins[**at].is_err()) {
        let alike = |other: &usize| rows.iter().all(|row| (row[*other] - row[at]).abs() < GRAIN);
        let Some(&like) = order[..place].iter().find(|other| alike(other)) else { continue };
        for row in rows.iter_mut() {
            row[at] = row[like];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::bit_set::BitSet;
    use crate::plan::{Fix, Goal, Problem, Test};

    /// Three suspects, of which the first test tells the first alone and the second none.
    fn problem(second: [f64; 3]) -> Problem {
        let test = |shown: [f64; 3]| Test {
            minutes: 1.0,
            mode: 0,
            places: vec![],
            likelihood: vec![shown.to_vec(), shown.iter().map(|chance| 1.0 - chance).collect()],
            proof: None,
        };
        let fix = |at: usize| Fix {
            minutes: 10.0,
            mode: 0,
            places: vec![],
            cures: (0..3).map(|of| f64::from(u8::from(of == at))).collect(),
            check_minutes: 1.0,
            check_mode: 0,
        };
        Problem {
            priors: vec![0.3, 0.3, 0.4],
            class_of: vec![0, 1, 2],
            tests: vec![test([0.9, 0.2, 0.2]), test(second)],
            fixes: (0..3).map(fix).collect(),
            batches: vec![],
            switch_minutes: vec![vec![0.0]],
            place_minutes: vec![],
            place_parent: vec![],
            goal: Goal::Repair { give_up_minutes: Some(100.0) },
        }
    }

    fn state() -> State {
        State {
            belief: vec![0.3, 0.3, 0.4],
            mode: 0,
            opened: BitSet::default(),
            used_tests: BitSet::default(),
            used_fixes: BitSet::default(),
        }
    }

    #[test]
    fn a_revised_problem_is_the_one_that_would_be_laid_out_anew() {
        let before = Prepared::new(&problem([0.5, 0.5, 0.5])).unwrap();
        let state = state();
        let revised = [Revised { hypothesis: 1, rows: vec![vec![], vec![0.95, 0.05]] }];
        let Focus { prepared, node } = revise(&before, &state, &revised);
        let anew = Prepared::new(&problem([0.5, 0.95, 0.5])).unwrap();
        let same = anew.node(&state);
        assert!((node.belief.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        for (step, other) in prepared.steps.iter().zip(&anew.steps) {
            for outcome in 0..step.rows.len() {
                let found = node.probability(step, outcome);
                assert!((found - same.probability(other, outcome)).abs() < 1e-12);
            }
        }
    }

    #[test]
    fn what_shows_nearly_the_same_shows_the_same() {
        let before = Prepared::new(&problem([0.5, 0.9, 0.5])).unwrap();
        let state = state();
        let revised = [Revised { hypothesis: 1, rows: vec![vec![], vec![0.51, 0.49]] }];
        let Focus { prepared, node } = revise(&before, &state, &revised);
        assert!(!node.splits(&prepared.steps[1]) && node.splits(&prepared.steps[0]));
    }
}
