//! A problem in which some hypotheses have come to show something else than when it was laid out.

use super::focus::Focus;
use super::node::Node;
use super::prepared::{Prepared, Source, Step};
use super::problem::State;

/// What one hypothesis shows by now.
#[derive(Debug, Clone, PartialEq)]
pub struct Revised {
    /// Its position in the problem.
    pub hypothesis: usize,
    /// For each test of the problem the probability of each outcome; empty where it shows what it did.
    pub rows: Vec<Vec<f64>>,
}

/// `prepared` in `state`, each of `revised` as a group of its own.
pub fn revise(prepared: &Prepared, state: &State, revised: &[Revised]) -> Focus {
    let mut rest = state.clone();
    for one in revised {
        rest.belief[one.hypothesis] = 0.0;
    }
    let total: f64 = state.belief.iter().sum();
    let left: f64 = rest.belief.iter().sum();
    let node = prepared.node(&rest);
    // Which group each new one is: an old group, or one of `revised`.
    let mut sources: Vec<Result<usize, &Revised>> = Vec::new();
    let mut classes = Vec::new();
    for class in &prepared.classes {
        let first = sources.len();
        sources.extend(class.clone().map(Ok));
        let own = revised.iter().filter(|one| class.contains(&prepared.group_of[one.hypothesis]));
        sources.extend(own.map(Err));
        classes.push(first..sources.len());
    }
    let belief = sources.iter().map(|source| match source {
        Ok(group) => node.belief[*group] * left / total,
        Err(one) => state.belief[one.hypothesis] / total,
    });
    let belief = belief.collect();
    let steps = prepared.steps.iter().map(|step| {
        let row = |outcome: usize| {
            sources.iter().map(|source| chance(prepared, step, outcome, *source)).collect()
        };
        step.with_rows((0..step.rows.len()).map(row).collect())
    });
    let prepared = prepared.with_steps(steps.collect(), classes);
    Focus { prepared, node: Node { belief, ..node } }
}

fn chance(
    prepared: &Prepared,
    step: &Step,
    outcome: usize,
    source: Result<usize, &Revised>,
) -> f64 {
    let group = match source {
        Ok(group) => group,
        Err(one) => {
            let now = match step.source {
                Source::Test(test) => one.rows.get(test).and_then(|row| row.get(outcome)),
                Source::Fix(_) | Source::Batch(_) => None,
            };
            if let Some(chance) = now {
                return *chance;
            }
            prepared.group_of[one.hypothesis]
        }
    };
    step.rows[outcome][group]
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

    #[test]
    fn a_revised_problem_is_the_one_that_would_be_laid_out_anew() {
        let before = Prepared::new(&problem([0.5, 0.5, 0.5])).unwrap();
        let state = State {
            belief: vec![0.3, 0.3, 0.4],
            mode: 0,
            opened: BitSet::default(),
            used_tests: BitSet::default(),
            used_fixes: BitSet::default(),
        };
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
        // Nothing is left where the suspect stood before.
        assert!(node.belief.contains(&0.0));
    }
}
