//! What a learner is told who asks: the tool's own step, three to choose from, hints.

use rand::SeedableRng;
use rand::seq::SliceRandom;
use rand_pcg::Pcg64Mcg;

use super::log::What;
use super::play::Drill;
use super::weigh::{leaning, proposal};
use crate::job::course::proposal::Next;
use crate::job::entry::answered;
use crate::job::event::Answer;
use crate::job::words;
use crate::plan::Action;
use crate::tester::Test;
use crate::tester::expectations::Column;

/// An outcome less likely than this is not offered where outcomes are foretold.
const OFFERED: f64 = 0.01;
/// What is foretold with this share of the likeliest outcome's probability is as good a guess.
const AS_LIKELY: f64 = 0.9;
/// Choices beside the best one.
const OTHERS: usize = 2;

/// What the tool would do now.
#[derive(Debug, Clone, PartialEq)]
pub enum Advice {
    /// Take a reading.
    Test(Box<Test>),
    /// Mend this (its number in the line-up).
    Fix(usize),
    /// Hand it on.
    Stop,
}

impl Advice {
    fn of(next: Next<'_>) -> Advice {
        match next {
            Next::Test(test) => Advice::Test(Box::new(test.clone())),
            Next::Fix(fix) => Advice::Fix(fix),
            Next::Stop => Advice::Stop,
        }
    }
}

/// The tool's own next step.
pub fn advice(drill: &Drill<'_>) -> Advice {
    Advice::of(proposal(&drill.course).best())
}

/// Three steps in an order that tells nothing, the tool's own among them.
pub fn three(drill: &Drill<'_>) -> Vec<Advice> {
    let proposal = proposal(&drill.course);
    let own = Advice::of(proposal.best());
    let mut list = vec![own.clone()];
    let mut tests: Vec<(f64, &Test)> = proposal
        .plan
        .ranking
        .iter()
        .filter_map(|one| match one.action {
            Action::Test(at) => Some((one.score, &proposal.agenda.tests[at])),
            _ => None,
        })
        .filter(|(_, test)| !matches!(&own, Advice::Test(own) if own.id == test.id))
        .collect();
    tests.sort_by(|a, b| a.0.total_cmp(&b.0));
    // The poorest of those looked at, and one in the middle.
    let middle = tests.len() / 2;
    let picks = [0, middle.max(1)];
    list.extend(
        picks
            .iter()
            .filter_map(|&at| tests.get(at))
            .map(|(_, test)| Advice::Test(Box::new((*test).clone()))),
    );
    list.truncate(1 + OTHERS);
    let seed = drill.setting.seed ^ drill.log.len() as u64;
    list.shuffle(&mut Pcg64Mcg::seed_from_u64(seed));
    list
}

/// A step in one line.
pub fn advice_words(drill: &Drill<'_>, advice: &Advice) -> String {
    let study = drill.study;
    match advice {
        Advice::Test(test) => {
            let minutes = words::show(drill.course.test_minutes(test));
            format!("{} ({minutes} min)", words::title_in_setup(study.circuit(), test))
        }
        Advice::Fix(fix) => {
            let minutes = words::show(drill.course.fix_minutes(*fix));
            format!("{} ({minutes} min with its proof)", study.lineup().fixes[*fix].title)
        }
        Advice::Stop => "hand the job on: nothing here would pay".to_owned(),
    }
}

/// A hint: where the suspicion lies; asked again at the same point, the step itself.
pub fn hint(drill: &mut Drill<'_>) -> String {
    let since = drill.log.iter().rev().take_while(|entry| {
        !matches!(entry.what, What::Look(_) | What::Mend(_) | What::Proof { .. })
    });
    let given = since.filter(|entry| matches!(entry.what, What::Hint)).count();
    let step = || format!("I would: {}.", advice_words(drill, &advice(drill)));
    if given > 1 {
        // The same once more: that was paid for.
        return step();
    }
    let words = if given == 1 {
        step()
    } else {
        let left = leaning(drill.study, &drill.course.belief());
        format!("By what you have seen, suspicion lies on: {left}. (`hint` again for the step.)")
    };
    drill.hint_given(&words);
    words
}

/// What may be foretold of a test: outcomes with their probability by what was seen, likely ones first in
/// the order of the scale.
pub fn outcomes(drill: &Drill<'_>, column: &Column) -> Vec<(usize, String, f64)> {
    let belief = drill.course.belief();
    let chance =
        |row: &[f64]| belief.iter().zip(row).map(|(share, chance)| share * chance).sum::<f64>();
    let all = column.outcomes.iter().zip(&column.likelihood).enumerate();
    let all = all.map(|(at, (outcome, row))| (at, outcome.words.clone(), chance(row)));
    let few = column.test.tester.unit().is_none();
    all.filter(|(_, _, chance)| few || *chance >= OFFERED).collect()
}

/// The outcome an answer is.
pub fn outcome_of(column: &Column, answer: &Answer) -> usize {
    answered::outcome_of(column, answer).unwrap_or(0)
}

/// Whether an outcome was as good a guess as any.
pub fn is_likeliest(outcomes: &[(usize, String, f64)], guess: usize) -> bool {
    let most = outcomes.iter().map(|one| one.2).fold(0.0, f64::max);
    outcomes.iter().any(|one| one.0 == guess && one.2 >= AS_LIKELY * most)
}
