//! What a typed line means on the step in front.

use crate::job::entry::number;
use crate::job::entry::typed::{Asked, TypedError};
use crate::job::event::{Answer, Event, SkipReason};
use crate::job::standing::{OutcomeLine, TestStep};
use crate::tui::keys::lower;
use crate::tui::model::StepRef;
use crate::tui::update::odd_words;
use crate::tui::words;

/// A line, understood.
#[derive(Debug, PartialEq)]
pub(super) enum Line {
    /// Something to record, and what to say when it is kept.
    Event(Event, String),
    /// The same for a number that hardly any suspect would show: typed again, it is recorded.
    Odd(Event, String),
    Undo,
    Redo,
    /// Look back at the step with this number.
    Back(usize),
    /// What can be told of machine and bench, with these words.
    Machine(String),
    /// Change one of those listed.
    Change(usize),
    Card,
    Note(String),
    /// Why this step, or what speaks for and against a suspect.
    Why(Option<String>),
    Suspects,
    Circuit,
    Found,
    /// The other tests with these words.
    Tests(String),
    /// A test by number or id.
    Take(String),
    Help,
    Quit,
    Empty,
    /// Not understood, with the words that say what would be.
    Wrong(String),
}

/// Reads a line typed at this step.
pub(super) fn line(line: &str, step: StepRef<'_>) -> Line {
    let typed = line.trim();
    let (word, rest) = typed.split_once(char::is_whitespace).unwrap_or((typed, ""));
    let rest = rest.trim();
    match (word.to_lowercase().as_str(), rest.is_empty()) {
        ("", _) => Line::Empty,
        ("quit" | "q" | "exit", true) => Line::Quit,
        ("undo" | "u", true) => Line::Undo,
        ("redo" | "r", true) => Line::Redo,
        ("back", _) => {
            number_behind(rest, Line::Back, "back NUMBER: which step, as `found` lists them")
        }
        ("machine" | "m", _) => Line::Machine(rest.to_owned()),
        ("change", _) => {
            number_behind(rest, Line::Change, "change NUMBER: of the list of `machine`")
        }
        ("card", true) => Line::Card,
        ("?" | "help" | "h", true) => Line::Help,
        ("why" | "w", true) => Line::Why(None),
        ("why" | "w", false) => Line::Why(Some(rest.to_owned())),
        ("suspects", true) => Line::Suspects,
        ("circuit", true) => Line::Circuit,
        ("found", true) => Line::Found,
        ("tests" | "t", _) => Line::Tests(rest.to_owned()),
        ("take", false) => Line::Take(rest.to_owned()),
        ("note" | "n", false) => Line::Note(rest.to_owned()),
        ("note" | "n", true) => {
            Line::Wrong("Write the note behind the word: note WORDS".to_owned())
        }
        ("skip" | "s", _) => skip(&rest.to_lowercase(), step),
        _ => answer(typed, step),
    }
}

fn number_behind(rest: &str, line: fn(usize) -> Line, how: &str) -> Line {
    rest.parse().map_or_else(|_| Line::Wrong(how.to_owned()), line)
}

fn skip(rest: &str, step: StepRef<'_>) -> Line {
    let test = match step {
        StepRef::Test(step) => step.id.clone(),
        StepRef::Fix(step) => {
            let event = Event::FixSkipped { fix: step.id.clone() };
            return Line::Event(event, "Kept: this repair later.".to_owned());
        }
        _ => return Line::Wrong("There is no step to skip.".to_owned()),
    };
    let (because, said) = match rest {
        "reach" | "1" => (SkipReason::CannotReach, "cannot reach that"),
        "tester" | "2" => (SkipReason::NoTester, "no such tester"),
        "this" | "3" => (SkipReason::NotThis, "just not this one"),
        _ => {
            let words = "Say why: skip reach (cannot reach that), skip tester (no such tester), \
                         skip this (just not this one)";
            return Line::Wrong(words.to_owned());
        }
    };
    Line::Event(Event::Skipped { test, because }, format!("Kept: skipped, {said}."))
}

fn answer(typed: &str, step: StepRef<'_>) -> Line {
    match step {
        StepRef::Test(step) => reading(typed, step),
        StepRef::Fix(step) => {
            let cured = match typed.to_lowercase().replace(['-', ' '], "").as_str() {
                "c" | "cured" => true,
                "x" | "notcured" => false,
                _ => {
                    return Line::Wrong(format!(
                        "`{typed}`? Here it is: c cured, x not cured, skip"
                    ));
                }
            };
            let said = if cured { "Kept: cured." } else { "Kept: not cured." };
            Line::Event(Event::Tried { fix: step.id.clone(), cured }, said.to_owned())
        }
        _ => Line::Wrong(format!("`{typed}`? The job is at its end: undo or quit")),
    }
}

fn reading(typed: &str, step: &TestStep) -> Line {
    let mut chars = typed.chars();
    let key = chars.next().filter(|_| chars.next().is_none());
    let by_key = |outcome: &&OutcomeLine| key.is_some_and(|key| lower(key) == lower(outcome.key));
    // A single digit is a number where one can be read, the letters are keys.
    let pressed = match &step.number {
        Some(_) if typed.starts_with(number::begins) => None,
        _ => step.outcomes.iter().find(by_key),
    };
    let answer = match pressed {
        Some(outcome) => Ok(Answer::Named(outcome.id.clone())),
        None => Asked::of_step(step).read(typed),
    };
    let unit = step.number.as_ref().map_or("", |bounds| bounds.unit);
    let words = |id: &String| {
        let known = step.outcomes.iter().find(|outcome| outcome.id == *id);
        known.map_or_else(|| id.clone(), |outcome| outcome.words.clone())
    };
    let kept = match (&answer, &step.number) {
        (Ok(Answer::Named(id)), _) => words(id),
        (Ok(Answer::AnyOf { any_of }), _) => {
            any_of.iter().map(words).collect::<Vec<_>>().join(" or ")
        }
        (Ok(answer), _) => words::answer(answer, unit),
        (Err(TypedError::Range { shown, .. }), Some(bounds)) => {
            let range = words::range(bounds);
            return Line::Wrong(format!("{shown}? Here it can only be {range}."));
        }
        (Err(error), Some(_)) if typed.starts_with(number::begins) => {
            return Line::Wrong(error.to_string());
        }
        (Err(_), _) => {
            return Line::Wrong(format!("`{typed}`? Here it is: {}", choices(step)));
        }
    };
    match answer {
        Ok(answer) => {
            let odd = step.number.as_ref().and_then(|bounds| odd_words(bounds, &answer));
            let event = Event::Reading { test: step.id.clone(), answer };
            if let Some(words) = odd {
                return Line::Odd(event, words);
            }
            Line::Event(event, format!("Kept: {kept}."))
        }
        Err(error) => Line::Wrong(error.to_string()),
    }
}

/// What can be answered, in one line.
fn choices(step: &TestStep) -> String {
    let mut choices = Vec::new();
    if let Some(bounds) = &step.number {
        choices.push(format!("the {}, {}", words::quantity(bounds.unit), words::range(bounds)));
    }
    let outcomes = step.outcomes.iter();
    choices.extend(outcomes.map(|outcome| format!("{} {}", outcome.key, outcome.id)));
    choices.push("? for more".to_owned());
    choices.join(", ")
}
