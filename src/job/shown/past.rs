//! Looking back at a step that was done: what was asked, what was seen, and what it did to the suspicion.

use crate::job::entry::answered::evidence;
use crate::job::event::{Answer, Event};
use crate::job::fold::Folded;
use crate::job::standing::SuspectLine;
use crate::job::state::Job;
use crate::job::words;

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
    let counting: Vec<Event> = job.counting().into_iter().cloned().collect();
    let at = event_of_step(job, &counting, number)?;
    // All of it was recorded once already, so it cannot fail now.
    let before = job.back_at(&counting[..at]).ok()?;
    let after = job.back_at(&counting[..=at]).ok()?;
    let (folded, folded_before) = (after.folded(), before.folded());
    let line = folded.found.get(number.checked_sub(1)?)?;
    let named = |job: &Job, folded: &Folded<'_>| {
        let mut lines = job.suspect_lines(&folded.course.belief());
        lines.truncate(NAMED);
        lines
    };
    Some(Past {
        number,
        what: line.what.clone(),
        seen: line.seen.clone(),
        doing: doing(&before, &counting[at]),
        chances: chances(&before, &counting[at]),
        before: named(&before, &folded_before),
        after: named(&after, &folded),
        minutes: folded.course.minutes - folded_before.course.minutes,
    })
}

/// The position of the event that made the step with this number.
fn event_of_step(job: &Job, counting: &[Event], number: usize) -> Option<usize> {
    let mut so_far = Folded::new(job.study());
    counting.iter().position(|event| {
        so_far.take(event);
        so_far.found.len() == number
    })
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
    let evidence = evidence(&column, answer);
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
