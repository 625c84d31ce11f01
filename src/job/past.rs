//! Looking back at a step that was done: what was asked, what was seen, and what it did to the suspicion.

use super::event::{Answer, Event};
use super::standing::SuspectLine;
use super::state::Job;
use super::words;

/// Suspects named before and after.
const NAMED: usize = 4;
/// Outcomes less likely than this are left out, unless they were seen.
const LEAST_CHANCE: f64 = 0.005;

/// A step that was done.
#[derive(Debug, Clone, PartialEq)]
pub struct Past {
    /// Number of the step, from 1.
    pub number: usize,
    /// What was done.
    pub what: String,
    /// What was seen.
    pub seen: String,
    /// Where it was and what was touched, one line each.
    pub doing: Vec<String>,
    /// What could have been seen: the words, how likely it was then, whether it was seen.
    pub chances: Vec<(String, f64, bool)>,
    /// The likeliest suspects before it.
    pub before: Vec<SuspectLine>,
    /// And after it.
    pub after: Vec<SuspectLine>,
    /// Minutes it added.
    pub minutes: f64,
}

/// The step with this number, as it was then.
pub fn look_back(job: &Job, number: usize) -> Option<Past> {
    let mut so_far = job.without_events();
    for event in job.counting() {
        let before = so_far.folded().course.minutes;
        let lines = so_far.suspect_lines(&so_far.folded().course.belief());
        let mut next = so_far.clone();
        // It was recorded once already, so it cannot fail now; if it does, it has no line either.
        if next.record(event.clone()).is_err() {
            continue;
        }
        let folded = next.folded();
        if folded.found.len() < number {
            so_far = next;
            continue;
        }
        let line = folded.found.get(number.checked_sub(1)?)?;
        let mut after = next.suspect_lines(&folded.course.belief());
        let mut before_it = lines;
        after.truncate(NAMED);
        before_it.truncate(NAMED);
        return Some(Past {
            number,
            what: line.what.clone(),
            seen: line.seen.clone(),
            doing: doing(&so_far, event),
            chances: chances(&so_far, event),
            before: before_it,
            after,
            minutes: folded.course.minutes - before,
        });
    }
    None
}

/// What had to be done for it then.
fn doing(job: &Job, event: &Event) -> Vec<String> {
    let Event::Reading { test, .. } = event else { return Vec::new() };
    let Some(column) = job.column(test) else { return Vec::new() };
    let folded = job.folded();
    let mut lines = words::way_on(&folded.course, &column.test.setup, &column.test.places);
    lines.extend(words::touch(job.study().circuit(), &column.test, folded.course.in_hand));
    lines
}

/// How likely each outcome was then.
fn chances(job: &Job, event: &Event) -> Vec<(String, f64, bool)> {
    let (Event::Reading { test, answer } | Event::Told { test, answer }) = event else {
        return Vec::new();
    };
    let Some(column) = job.column(test) else { return Vec::new() };
    let belief = job.folded().course.belief();
    let evidence = job.evidence(job.study(), &column, answer);
    let seen = |at: usize| match answer {
        Answer::AnyOf { any_of } => any_of.contains(&column.outcomes[at].id),
        _ => evidence.as_ref().is_some_and(|(_, outcome, _)| *outcome == at),
    };
    let rows = column.outcomes.iter().zip(&column.likelihood).enumerate();
    rows.map(|(at, (outcome, row))| {
        let chance = belief.iter().zip(row).map(|(share, chance)| share * chance).sum();
        (outcome.words.clone(), chance, seen(at))
    })
    .filter(|(_, chance, seen)| *seen || *chance >= LEAST_CHANCE)
    .collect()
}
