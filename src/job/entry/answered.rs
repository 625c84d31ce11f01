//! What an answer says was seen, and whether it can be given.

use super::{number, typed};
use crate::job::error::JobError;
use crate::job::event::Answer;
use crate::tester::expectations::{Column, Seen};
use crate::tester::outcome::Outcome;

/// What an answer says was seen, one or the other of these; the position of the outcome it stands for; and the
/// answer in words.
pub type Evidence = (Vec<Seen>, usize, String);

/// The evidence of an answer.
///
/// Its ranges may have had other names when it was given: when the battery was not measured yet, or pairs of
/// suspects were not looked at.
pub fn evidence(column: &Column, answer: &Answer) -> Option<Evidence> {
    match answer {
        Answer::Number(typed) => {
            let unit = column.test.tester.unit().unwrap_or("");
            let outcome = column.outcome_of(*typed);
            Some((vec![Seen::Number(*typed)], outcome, number::as_typed(*typed, unit)))
        }
        Answer::Named(id) => {
            if let Some(at) = outcome_named(column, id) {
                return Some((vec![Seen::Outcome(at)], at, column.outcomes[at].words.clone()));
            }
            let ((low, high), words) = range_named(column, id)?;
            Some((vec![Seen::Between(low, high)], column.outcome_at(low), words))
        }
        Answer::AnyOf { any_of } => any_of
            .iter()
            .map(|id| evidence(column, &Answer::Named(id.clone())))
            .reduce(|all, one| all.zip(one).map(|(all, one)| either(all, one)))
            .flatten(),
        Answer::Between { least, most } => {
            let unit = column.test.tester.unit().unwrap_or("");
            let (low, high) = column.test.scale.levels_between(*least, *most);
            let outcome = outcome_of(column, answer)?;
            Some((vec![Seen::Between(low, high)], outcome, typed::said(*least, *most, unit)))
        }
    }
}

/// The position of the outcome called `id`.
fn outcome_named(column: &Column, id: &str) -> Option<usize> {
    column.outcomes.iter().position(|outcome| outcome.id == id)
}

/// The levels and the words of a range that goes by this name where outcomes are cut in another way.
fn range_named(column: &Column, id: &str) -> Option<((f64, f64), String)> {
    column.test.tester.unit()?;
    column.test.scale.range_named(id)
}

/// The position of the outcome that an answer stands for: of several the first, of a range its middle.
pub fn outcome_of(column: &Column, answer: &Answer) -> Option<usize> {
    let named = |id: &String| outcome_named(column, id);
    match answer {
        Answer::Number(typed) => Some(column.outcome_of(*typed)),
        Answer::Named(id) => named(id),
        Answer::AnyOf { any_of } => any_of.iter().find_map(named),
        Answer::Between { least, most } => {
            let (low, high) = column.test.scale.levels_between(*least, *most);
            Some(column.outcome_at(0.5 * (low.max(-1e9) + high.min(1e9))))
        }
    }
}

/// One or the other was seen.
fn either((mut all, at, words): Evidence, (one, _, more): Evidence) -> Evidence {
    all.extend(one);
    (all, at, format!("{words} or {more}"))
}

/// Whether an answer can be given to a test.
pub(in crate::job) fn check_answer(column: &Column, answer: &Answer) -> Result<(), JobError> {
    let known = || {
        let ids: Vec<&str> = column.outcomes.iter().map(|one: &Outcome| one.id.as_str()).collect();
        ids.join(", ")
    };
    let is_outcome =
        |id: &String| outcome_named(column, id).is_some() || range_named(column, id).is_some();
    let unknown = |id: &String| JobError::Outcome { answer: id.clone(), known: known() };
    let numbers: Vec<f64> = match answer {
        Answer::Named(id) if is_outcome(id) => return Ok(()),
        Answer::Named(id) => return Err(unknown(id)),
        Answer::AnyOf { any_of } => {
            let wrong = any_of.iter().find(|id| !is_outcome(id));
            return wrong.map_or(Ok(()), |id| Err(unknown(id)));
        }
        Answer::Number(typed) => vec![*typed],
        Answer::Between { least, most } => [*least, *most].into_iter().flatten().collect(),
    };
    if column.test.tester.unit().is_none() {
        return Err(JobError::NoNumber { known: known() });
    }
    let (least, most) = number::range(column);
    match numbers.into_iter().find(|typed| !(least..=most).contains(typed)) {
        Some(typed) => Err(JobError::Range { typed, least, most }),
        None => Ok(()),
    }
}
