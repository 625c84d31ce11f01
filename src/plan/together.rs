//! Hypotheses that are kin taken together: one hypothesis with a hidden grade.
//!
//! What is done and seen depends on a grade that stays the same from test to test. The belief over the grades
//! is exact; a search over all of them would cost several times what one over their kins does. So a plan
//! knows each kin as one hypothesis, which shows of a test what its grades show on average, as likely as they
//! are where the plan begins. Within the plan two tests of one kin count as independent; at the next turn
//! what was seen has moved the grades, and so it has the next plan.

use super::focus::Focus;
use super::prepared::{Prepared, Step};
use super::problem::State;

/// A kin as the groups of a problem, with their shares in it; a group alone has all.
type Mixture = Vec<(usize, f64)>;

/// `prepared` in `state` with the hypotheses of each kin as one. `kin` has the number of the kin of each
/// hypothesis; kins stand together in the list and are of one fix class.
pub fn together(prepared: &Prepared, state: &State, kin: &[usize]) -> Focus {
    let fine = prepared.node(state);
    let mixed = mixtures(prepared, state, kin);
    let class_of = |group: usize| prepared.classes.partition_point(|class| class.end <= group);
    let mut classes: Vec<std::ops::Range<usize>> = Vec::new();
    let mut last = None;
    for (at, (mixture, _)) in mixed.iter().enumerate() {
        let class = class_of(mixture[0].0);
        match classes.last_mut() {
            Some(range) if last == Some(class) => range.end = at + 1,
            _ => classes.push(at..at + 1),
        }
        last = Some(class);
    }
    let table = prepared.table.mixed(mixed.iter().map(|(mixture, _)| &mixture[..]));
    let step = |(at, step): (usize, &Step)| step.with_rows(table.step_rows(at));
    let steps: Vec<Step> = prepared.steps.iter().enumerate().map(step).collect();
    let coarse = prepared.with_table(table, steps, classes);
    let belief = mixed.iter().map(|(_, share)| *share).collect();
    let node = super::node::Node { belief, ..fine };
    Focus { prepared: coarse, node }
}

/// The kins as mixtures of groups and their probability, sorted by class; those that are one group alone
/// stand as that group.
fn mixtures(prepared: &Prepared, state: &State, kin: &[usize]) -> Vec<(Mixture, f64)> {
    let groups = prepared.classes.last().map_or(0, |class| class.end);
    let mut alone = vec![None; groups];
    let mut mixed: Vec<(Mixture, f64)> = Vec::new();
    let total: f64 = state.belief.iter().sum();
    let mut start = 0;
    for run in kin.chunk_by(|one, next| one == next) {
        let members = start..start + run.len();
        start = members.end;
        let (mixture, share) = mixture(prepared, &state.belief, members);
        let share = if total > 0.0 { share / total } else { share };
        let known = match mixture[..] {
            [(group, _)] => {
                alone[group].replace(mixed.len()).inspect(|at| alone[group] = Some(*at))
            }
            _ => None,
        };
        match known {
            Some(at) => mixed[at].1 += share,
            None => mixed.push((mixture, share)),
        }
    }
    mixed.sort_by_key(|(mixture, _)| mixture[0].0);
    mixed
}

fn mixture(prepared: &Prepared, belief: &[f64], members: std::ops::Range<usize>) -> (Mixture, f64) {
    let share: f64 = belief[members.clone()].iter().sum();
    let even = 1.0 / members.len() as f64;
    let mut mixture: Mixture = Vec::with_capacity(members.len());
    for member in members {
        let part = if share > 0.0 { belief[member] / share } else { even };
        let group = prepared.group_of[member];
        match mixture.iter_mut().find(|(known, _)| *known == group) {
            Some((_, sum)) => *sum += part,
            None => mixture.push((group, part)),
        }
    }
    mixture.sort_by_key(|(group, _)| *group);
    (mixture, share)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::{Fix, Goal, Problem, Test};

    /// Three suspects, the first with three grades; two tests that show the same of a grade.
    fn problem() -> Problem {
        let likelihood = vec![vec![0.9, 0.5, 0.1, 0.9, 0.2], vec![0.1, 0.5, 0.9, 0.1, 0.8]];
        let test = Test {
            minutes: 1.0,
            mode: 0,
            places: vec![],
            likelihood: likelihood.clone(),
            proof: None,
        };
        let fix = |cures: [f64; 5]| Fix {
            minutes: 9.0,
            mode: 0,
            places: vec![],
            cures: cures.to_vec(),
            check_minutes: 1.0,
            check_mode: 0,
        };
        Problem {
            priors: vec![0.1, 0.1, 0.1, 0.3, 0.4],
            class_of: vec![0, 0, 0, 1, 2],
            tests: vec![test.clone(), test],
            fixes: vec![
                fix([1.0, 1.0, 1.0, 0.0, 0.0]),
                fix([0.0, 0.0, 0.0, 1.0, 0.0]),
                fix([0.0, 0.0, 0.0, 0.0, 1.0]),
            ],
            batches: vec![],
            switch_minutes: vec![vec![0.0]],
            place_minutes: vec![],
            place_parent: vec![],
            goal: Goal::Repair { give_up_minutes: None },
        }
    }

    const KIN: [usize; 5] = [0, 0, 0, 1, 2];

    #[test]
    fn a_kin_shows_the_mean_of_its_grades() {
        let problem = problem();
        let prepared = Prepared::new(&problem).unwrap();
        let mut state = problem.start(0);
        let Focus { prepared: coarse, node } = together(&prepared, &state, &KIN);
        assert_eq!(coarse.classes, [0..1, 1..2, 2..3]);
        assert!((node.belief[0] - 0.3).abs() < 1e-12);
        let shown = |coarse: &Prepared| coarse.steps[0].rows[0][0];
        assert!((shown(&coarse) - 0.5).abs() < 1e-12);
        // What the first test showed, the second shows again: the grades have moved.
        let seen = problem.tests[0].likelihood[0].clone();
        state.advance(&problem, crate::plan::Action::Test(0), &seen);
        let after = together(&prepared, &state, &KIN);
        let expected = (0.9 * 0.9 + 0.5 * 0.5 + 0.1 * 0.1) / 1.5;
        assert!((shown(&after.prepared) - expected).abs() < 1e-12);
        assert!(after.node.used.contains(0) && !after.node.used.contains(1));
        // The probabilities of what is seen next are those of all grades.
        let all: f64 = state.belief.iter().zip(&seen).map(|(share, chance)| share * chance).sum();
        let next = after.node.probability(&after.prepared.steps[1], 0);
        assert!((next - all).abs() < 1e-12, "{next} {all}");
    }
}
