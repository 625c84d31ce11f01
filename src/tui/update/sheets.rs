//! What lies over the step: skip, other tests, why, note, help, and whether to leave.

use crossterm::event::{Event as TerminalEvent, KeyEvent};
use tui_input::backend::crossterm::EventHandler;
use tui_input::{Input, InputRequest};

use crate::job::event::{Event, SkipReason};
use crate::tui::keys::Action;
use crate::tui::message::{Ask, Effect};
use crate::tui::model::{Model, Sheet, StepRef, matching, matching_facts};
use crate::tui::{view, words};

use super::{LeaveCause, ask_for_step, leave};

/// The reasons for passing a test over, in the order of their keys.
pub const REASONS: [(SkipReason, &str, &str); 3] = [
    (SkipReason::CannotReach, "cannot reach that", "nothing more is asked at this place"),
    (SkipReason::NoTester, "no such tester", "nothing more is asked with this tester"),
    (SkipReason::NotThis, "just not this one", "only this one is left out"),
];

/// Longest note that is kept.
const NOTE_LENGTH: usize = 500;

/// Opens a sheet over the step.
pub(super) fn open(model: &mut Model, action: Action) -> Vec<Effect> {
    match action {
        Action::Skip => {
            model.sheet = Sheet::Skip { marked: 0 };
            Vec::new()
        }
        Action::Others => {
            model.sheet = Sheet::Others { search: Input::default(), list: None, marked: 0 };
            question_beside(model, Ask::Others)
        }
        Action::Machine => {
            model.sheet = Sheet::Machine { search: Input::default(), list: None, marked: 0 };
            question_beside(model, Ask::Facts)
        }
        Action::Why => {
            model.sheet = Sheet::Why { marked: 0, lines: None };
            explain(model)
        }
        Action::Note => {
            model.sheet = Sheet::Note(Input::default());
            Vec::new()
        }
        Action::Quit => {
            model.sheet = Sheet::Leaving;
            let kept = kept_words(model);
            model.ask(format!("Leave? q again leaves, any other key stays. {kept}"));
            Vec::new()
        }
        _ => Vec::new(),
    }
}

/// What is said about the job when the person leaves.
fn kept_words(model: &Model) -> String {
    match &model.kept_at {
        Some(path) => format!("Nothing is lost: the job is kept in {path}."),
        None => "This job is kept nowhere: what was entered goes.".to_owned(),
    }
}

/// A question that leaves the running one alone: its answer is found by what it is about.
fn question_beside(model: &Model, ask: Ask) -> Vec<Effect> {
    vec![Effect::Ask { generation: model.generation, ask }]
}

/// Asks what speaks for and against the marked suspect.
fn explain(model: &Model) -> Vec<Effect> {
    let Sheet::Why { marked, .. } = model.sheet else {
        return Vec::new();
    };
    let suspect = model.standing.as_ref().and_then(|standing| standing.suspects.get(marked));
    suspect
        .map_or_else(Vec::new, |suspect| question_beside(model, Ask::Explain(suspect.id.clone())))
}

/// A key of the table, with a sheet open.
pub(super) fn act(model: &mut Model, action: Action) -> Vec<Effect> {
    match action {
        Action::Close => close(model),
        Action::Up => return move_mark(model, -1),
        Action::Down => return move_mark(model, 1),
        Action::PageUp => return move_mark(model, -8),
        Action::PageDown => return move_mark(model, 8),
        Action::ScrollUp => scroll_help(model, -1),
        Action::ScrollDown => scroll_help(model, 1),
        Action::Pick(position) => return skip(model, position),
        Action::Accept => return accept(model),
        _ => {}
    }
    Vec::new()
}

fn close(model: &mut Model) {
    let sheet = std::mem::replace(&mut model.sheet, Sheet::None);
    match sheet {
        Sheet::Help { under, .. } => model.sheet = *under,
        Sheet::Note(input) if !input.value().trim().is_empty() => model.tell("Note dropped."),
        Sheet::Leaving => model.tell("Staying."),
        _ => {}
    }
}

fn scroll_help(model: &mut Model, by: i32) {
    let reach = view::help_reach(model);
    if let Sheet::Help { top, .. } = &mut model.sheet {
        let next = (i32::from(*top) + by).clamp(0, i32::from(reach));
        *top = u16::try_from(next).unwrap_or(0);
    }
}

fn move_mark(model: &mut Model, by: isize) -> Vec<Effect> {
    let suspects = model.standing.as_ref().map_or(0, |standing| standing.suspects.len());
    let choices = reasons(model);
    match &mut model.sheet {
        Sheet::Skip { marked } => *marked = moved(*marked, by, choices),
        Sheet::Others { search, list, marked } => {
            let count = list.as_ref().map_or(0, |list| matching(list, search.value()).len());
            *marked = moved(*marked, by, count);
        }
        Sheet::Machine { search, list, marked } => {
            let count = list.as_ref().map_or(0, |list| matching_facts(list, search.value()).len());
            *marked = moved(*marked, by, count);
        }
        Sheet::Why { marked, lines } => {
            let next = moved(*marked, by, suspects);
            if next != *marked {
                *marked = next;
                *lines = None;
                return explain(model);
            }
        }
        _ => {}
    }
    Vec::new()
}

fn moved(at: usize, by: isize, count: usize) -> usize {
    at.saturating_add_signed(by).min(count.saturating_sub(1))
}

/// How many reasons there are for passing this step over: a repair needs none.
pub fn reasons(model: &Model) -> usize {
    if model.test().is_some() { REASONS.len() } else { 1 }
}

fn accept(model: &mut Model) -> Vec<Effect> {
    match &model.sheet {
        Sheet::Skip { marked } => skip(model, *marked),
        Sheet::Others { search, list, marked } => {
            let shown = matching(list.as_deref().unwrap_or_default(), search.value());
            let Some(test) = shown.get(*marked) else {
                model.ask("No test is marked. Backspace widens the search, Esc goes back.");
                return Vec::new();
            };
            let id = test.id.clone();
            model.sheet = Sheet::None;
            model.keeping = Some("your own choice".to_owned());
            ask_for_step(model, Ask::Choose(id))
        }
        Sheet::Machine { search, list, marked } => {
            let shown = matching_facts(list.as_deref().unwrap_or_default(), search.value());
            let Some(fact) = shown.get(*marked) else {
                model.ask("Nothing is marked. Backspace widens the search, Esc goes back.");
                return Vec::new();
            };
            let name = fact.now.split(':').next().unwrap_or_default();
            let (event, then) = (fact.event.clone(), format!("{name}: {}", fact.then));
            model.sheet = Sheet::None;
            model.chosen = None;
            model.keeping = Some(then);
            ask_for_step(model, Ask::Record(event))
        }
        Sheet::Note(input) => {
            let text = input.value().trim().to_owned();
            model.sheet = Sheet::None;
            if text.is_empty() {
                model.tell("No words, no note.");
                return Vec::new();
            }
            question_beside(model, Ask::Note(text))
        }
        Sheet::Leaving => leave(model, LeaveCause::Asked),
        _ => Vec::new(),
    }
}

/// Records that the step in front is passed over.
fn skip(model: &mut Model, position: usize) -> Vec<Effect> {
    if position >= reasons(model) {
        model.ask("A repair is only left out for now: Enter does it, Esc goes back.");
        return Vec::new();
    }
    let (because, reason, _) = REASONS[position];
    let event = match model.step() {
        Some(StepRef::Test(step)) => Event::Skipped { test: step.id.clone(), because },
        Some(StepRef::Fix(step)) => Event::FixSkipped { fix: step.id.clone() },
        _ => return Vec::new(),
    };
    let said = if model.test().is_some() { reason } else { "this repair later" };
    model.sheet = Sheet::None;
    model.keeping = Some(format!("skipped, {said}"));
    ask_for_step(model, Ask::Record(event))
}

/// Pasted words, into whatever one types into.
pub(super) fn pasted(model: &mut Model, text: &str) {
    let input = match &mut model.sheet {
        Sheet::Note(input) => input,
        Sheet::Others { search, marked, .. } | Sheet::Machine { search, marked, .. } => {
            *marked = 0;
            search
        }
        _ => {
            model.ask("Pasted text is taken in a note and in a search only.");
            return;
        }
    };
    let room = NOTE_LENGTH.saturating_sub(input.value().chars().count());
    for c in words::clean(text).chars().take(room) {
        input.handle(InputRequest::InsertChar(c));
    }
}

/// A key that is none of the table's, in a sheet one types into.
pub(super) fn typed(model: &mut Model, key: KeyEvent) -> Vec<Effect> {
    let event = TerminalEvent::Key(key);
    if let Sheet::Note(input) = &mut model.sheet {
        let before = input.clone();
        input.handle_event(&event);
        if input.value().chars().count() > NOTE_LENGTH {
            *input = before;
            model.ask("The note is full. Enter keeps it; a second note may follow.");
        }
    } else if let Sheet::Others { search, marked, .. } | Sheet::Machine { search, marked, .. } =
        &mut model.sheet
    {
        let changed = search.handle_event(&event).is_some_and(|change| change.value);
        *marked = if changed { 0 } else { *marked };
    }
    Vec::new()
}
