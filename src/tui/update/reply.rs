//! Answers of the planner thread.

use crate::tui::message::{Effect, Told};
use crate::tui::model::{Model, Pane, Sheet};

use super::answers;

/// Takes an answer in; an old standing is dropped, because the question has changed since.
pub(super) fn told(model: &mut Model, generation: u64, told: Told) -> Vec<Effect> {
    match told {
        Told::Recorded => {
            if let Some(words) = model.keeping.take() {
                kept(model, &format!("Kept: {words}. u takes it back."));
            }
            model.alarm = None;
        }
        Told::Noted => kept(model, "Note kept."),
        Told::Failed(words) => {
            model.keeping = None;
            model.alarm = Some(words);
        }
        Told::Undone(true) => kept(model, "Taken back."),
        Told::Undone(false) => model.tell("Nothing is left to take back."),
        Told::Redone(true) => kept(model, "Counts again."),
        Told::Redone(false) => model.tell("Nothing was taken back that could count again."),
        Told::Carded(path) => model.tell(format!("The job card is in {path}")),
        Told::Facts(facts) => {
            if let Sheet::Machine { list, .. } = &mut model.sheet {
                *list = Some(facts);
            }
        }
        Told::Past(told) => {
            if let Sheet::Back { number, past, .. } = &mut model.sheet
                && *number == told.number
            {
                *past = Some(told);
            }
        }
        Told::NoSuchTest(test) => model.ask(format!("The test `{test}` is not there any more.")),
        Told::Others(tests) => {
            if let Sheet::Others { list, .. } = &mut model.sheet {
                *list = Some(tests);
            }
        }
        Told::Explained { suspect, lines: told } => explained(model, &suspect, told),
        Told::Stood(standing, chosen) if generation == model.generation => {
            model.standing = Some(*standing);
            model.chosen = chosen.map(|step| *step);
            new_step(model);
        }
        Told::Stood(..) => {}
    }
    Vec::new()
}

/// Something else was journalled, and with it all that waited.
fn kept(model: &mut Model, words: &str) {
    // Somebody who was told that the disk refuses wants to know that it no longer does.
    let again = if model.alarm.take().is_some() { " All is on disk again." } else { "" };
    model.tell(format!("{words}{again}"));
}

fn explained(model: &mut Model, suspect: &str, told: Vec<String>) {
    let asked = match &model.sheet {
        Sheet::Why { marked, .. } => {
            model.standing.as_ref().and_then(|standing| standing.suspects.get(*marked))
        }
        _ => None,
    };
    if asked.is_none_or(|asked| asked.id != suspect) {
        return;
    }
    if let Sheet::Why { lines, .. } = &mut model.sheet {
        *lines = Some(told);
    }
}

/// A step has come: everything that belonged to the old one goes.
fn new_step(model: &mut Model) {
    model.working = false;
    model.marked = None;
    model.entry = None;
    model.questioned = None;
    model.scroll = [None; 4];
    model.pane = Pane::Step;
    // These sheets speak of the old step; a note or a list goes on.
    if matches!(model.sheet, Sheet::Skip { .. } | Sheet::Why { .. } | Sheet::Back { .. }) {
        model.sheet = Sheet::None;
    }
    answers::offer_held(model);
}
