//! Answers to the step in front: outcome keys, marks, typed numbers, repairs tried.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

use crate::job::entry::number;
use crate::job::entry::typed::{Asked, TypedError};
use crate::job::event::{Answer, Event};
use crate::job::standing::NumberEntry;
use crate::tui::keys::{self, Action};
use crate::tui::message::{Ask, Effect};
use crate::tui::model::{FEW_OUTCOMES, Model, Pane, StepRef};
use crate::tui::{view, words};

use super::{BOUNCE_MILLIS, ask_for_step};

/// The longest number anybody types.
const ENTRY_LENGTH: usize = 16;

/// A key that is none of the table's, on a test step.
pub(super) fn key(model: &mut Model, key: KeyEvent, millis: u64) -> Vec<Effect> {
    let Some(c) = plain_char(key) else {
        return wrong(model, key);
    };
    if model.working {
        hold(model, key);
        remember(model, c, millis);
        return Vec::new();
    }
    if takes_number(model) && number::begins(c) {
        model.marked = None;
        model.pane = Pane::Step;
        model.entry = Some(c.to_string());
        return Vec::new();
    }
    let Some((position, outcome)) = model.outcome_by_key(c) else {
        return wrong(model, key);
    };
    let words = outcome.words.clone();
    let again = remember(model, c, millis);
    if again || !view::shows_step(model) {
        model.pane = Pane::Step;
        model.marked = Some(position);
        let more = if again { " once more" } else { "" };
        model.ask(format!("`{c}`{more}? Enter takes it as: {words}. Esc drops it."));
        return Vec::new();
    }
    take(model, position)
}

/// Remembers an answer key; true when the same key answered a moment ago.
fn remember(model: &mut Model, c: char, millis: u64) -> bool {
    let again = model
        .last_answer
        .is_some_and(|(last, at)| last == c && millis.saturating_sub(at) < BOUNCE_MILLIS);
    model.last_answer = Some((c, millis));
    again
}

/// Keeps a key for the step that is being worked out.
pub(super) fn hold(model: &mut Model, key: KeyEvent) {
    let Some(c) = plain_char(key) else {
        return;
    };
    if model.held.chars().count() < ENTRY_LENGTH {
        model.held.push(c);
    }
    model.tell(format!("Working. `{}` waits for the next step.", model.held));
}

/// What becomes of the keys held while the step was worked out: they are offered, never used.
pub(super) fn offer_held(model: &mut Model) {
    let held = std::mem::take(&mut model.held);
    let Some(last) = held.chars().last() else {
        return;
    };
    if takes_number(model)
        && held.starts_with(number::begins)
        && held.chars().all(number::continues)
    {
        model.ask(format!("`{held}` came before this step did. Enter keeps it, Esc drops it."));
        model.entry = Some(held);
        return;
    }
    match model.outcome_by_key(last) {
        Some((position, outcome)) => {
            let words = outcome.words.clone();
            model.marked = Some(position);
            model.ask(format!(
                "`{last}` came before this step did. Enter takes it as: {words}. Esc drops it."
            ));
        }
        None => model.ask(format!(
            "`{held}` came before this step did and was not used. Press again what you mean."
        )),
    }
}

fn takes_number(model: &Model) -> bool {
    model.test().is_some_and(|step| step.number.is_some())
}

fn plain_char(key: KeyEvent) -> Option<char> {
    match key.code {
        KeyCode::Char(c)
            if !key.modifiers.intersects(KeyModifiers::CONTROL | KeyModifiers::ALT) =>
        {
            Some(c)
        }
        _ => None,
    }
}

fn wrong(model: &mut Model, key: KeyEvent) -> Vec<Effect> {
    let Some(step) = model.test() else {
        return Vec::new();
    };
    let mut here = Vec::new();
    if let Some(entry) = &step.number {
        here.push(format!("digits for the {}", words::quantity(entry.unit)));
    }
    if step.number.is_none() || step.outcomes.len() <= FEW_OUTCOMES {
        here.extend(step.outcomes.iter().map(|outcome| format!("{} {}", outcome.key, outcome.id)));
    } else {
        here.push("the letters of the ranges".to_owned());
    }
    here.push("s skip, u undo, ? all keys".to_owned());
    model.ask(format!("`{}` does nothing here. Keys: {}", keys::name(key), here.join(", ")));
    Vec::new()
}

/// Records the outcome at this position.
fn take(model: &mut Model, position: usize) -> Vec<Effect> {
    let Some(step) = model.test() else {
        return Vec::new();
    };
    let Some(outcome) = step.outcomes.get(position) else {
        return Vec::new();
    };
    let event = Event::Reading { test: step.id.clone(), answer: Answer::Named(outcome.id.clone()) };
    model.keeping = Some(outcome.words.clone());
    ask_for_step(model, Ask::Record(event))
}

pub(super) fn take_marked(model: &mut Model) -> Vec<Effect> {
    if let Some(position) = model.marked {
        return take(model, position);
    }
    model.ask("Press the key of what you saw, or mark it with the arrows first.");
    Vec::new()
}

/// Drops what is half done, and fronts the step again.
pub(super) fn drop_mark(model: &mut Model) {
    model.pane = Pane::Step;
    model.marked = None;
    model.held.clear();
}

pub(super) fn mark(model: &mut Model, by: isize) {
    let count = model.test().map_or(0, |step| step.outcomes.len());
    if count == 0 || model.working {
        return;
    }
    let last = count - 1;
    model.marked = Some(match (model.marked, by < 0) {
        (None, true) => last,
        (None, false) => 0,
        (Some(at), true) => at.saturating_sub(1),
        (Some(at), false) => (at + 1).min(last),
    });
}

/// Records that the repair in front was tried.
pub(super) fn tried(model: &mut Model, cured: bool) -> Vec<Effect> {
    let Some(StepRef::Fix(step)) = model.step() else {
        return Vec::new();
    };
    let fix = step.id.clone();
    if !view::shows_step(model) {
        model.pane = Pane::Step;
        model.ask("Here is the repair. Press again what its proof has shown.");
        return Vec::new();
    }
    let event = Event::Tried { fix, cured };
    model.keeping = Some(if cured { "cured" } else { "not cured" }.to_owned());
    ask_for_step(model, Ask::Record(event))
}

/// A key within a number.
pub(super) fn typed_number(model: &mut Model, key: KeyEvent) -> Vec<Effect> {
    let Some(entry) = &mut model.entry else {
        return Vec::new();
    };
    match key.code {
        KeyCode::Backspace => {
            model.questioned = None;
            entry.pop();
            if entry.is_empty() {
                model.entry = None;
            }
        }
        KeyCode::Char(c) if plain_char(key).is_some() && number::continues(c) => {
            if entry.chars().count() < ENTRY_LENGTH {
                entry.push(c);
            }
        }
        _ => model.ask(format!(
            "`{}` is no part of a number. Enter keeps the number, Esc drops it.",
            keys::name(key)
        )),
    }
    Vec::new()
}

pub(super) fn number_action(model: &mut Model, action: Action) -> Vec<Effect> {
    match action {
        Action::Accept => take_number(model),
        Action::Close => {
            model.entry = None;
            model.tell("Number dropped.");
            Vec::new()
        }
        _ => Vec::new(),
    }
}

/// Keeps the typed number, or questions it when it cannot be.
fn take_number(model: &mut Model) -> Vec<Effect> {
    let (Some(entry), Some(step)) = (&model.entry, model.test()) else {
        return Vec::new();
    };
    let Some(bounds) = &step.number else {
        return Vec::new();
    };
    let answer = match Asked::of_step(step).read(entry) {
        Ok(answer) => answer,
        Err(TypedError::Range { shown, .. }) => {
            let range = words::range(bounds);
            model.ask(format!(
                "{shown}? Here it can only be {range}. Backspace mends it, Esc drops it."
            ));
            return Vec::new();
        }
        Err(error) => {
            model.ask(sentence(&error.to_string()));
            return Vec::new();
        }
    };
    let kept = words::answer(&answer, bounds.unit);
    if let Some(words) =
        odd_words(bounds, &answer).filter(|_| model.questioned.as_ref() != Some(entry))
    {
        model.questioned = Some(entry.clone());
        model.ask(words);
        return Vec::new();
    }
    let event = Event::Reading { test: step.id.clone(), answer };
    model.keeping = Some(kept);
    ask_for_step(model, Ask::Record(event))
}

/// What is asked about a number, or a range of numbers, that hardly any suspect would show.
pub fn odd_words(bounds: &NumberEntry, answer: &Answer) -> Option<String> {
    let shown = words::answer(answer, bounds.unit);
    let meant = match answer {
        Answer::Number(value) if bounds.is_odd(*value) => meant(bounds, *value),
        Answer::Between { least, most } if bounds.is_odd_between(*least, *most) => None,
        _ => return None,
    };
    let meant = meant.unwrap_or_default();
    Some(format!(
        "{shown}? Hardly anything suspected would show that.{meant} Entered again it is kept."
    ))
}

/// A thousand times more or less, where somebody could well read that.
fn meant(bounds: &NumberEntry, value: f64) -> Option<String> {
    let other = [1e-3, 1e3].into_iter().map(|scale| value * scale);
    other
        .filter(|other| (bounds.least..=bounds.most).contains(other) && !bounds.is_odd(*other))
        .map(|other| format!(" Or is it {}?", number::as_typed(other, bounds.unit)))
        .next()
}

fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    let first = chars.next().map(|c| c.to_uppercase().collect::<String>()).unwrap_or_default();
    format!("{first}{}.", chars.as_str())
}
