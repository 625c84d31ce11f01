//! What is looked at beside the step: the steps that were done, and the circuit alone.

use crate::tui::keys::Action;
use crate::tui::message::{Ask, Effect};
use crate::tui::model::{Model, Sheet};
use crate::tui::view;

/// The most detail of the circuit.
const CLOSEST: u8 = 2;

/// Opens one of them over the step.
pub(super) fn open(model: &mut Model, action: Action) -> Vec<Effect> {
    if action == Action::Whole {
        model.sheet = Sheet::Whole { detail: CLOSEST, top: None };
        return Vec::new();
    }
    match model.standing.as_ref().map_or(0, |standing| standing.found.len()) {
        0 => {
            model.ask("Nothing was done yet that one could look back at.");
            Vec::new()
        }
        last => show(model, last),
    }
}

/// Shows the step with this number and asks for what there is to tell of it.
fn show(model: &mut Model, number: usize) -> Vec<Effect> {
    model.sheet = Sheet::Back { number, past: None, top: 0 };
    vec![Effect::Ask { generation: model.generation, ask: Ask::Back(number) }]
}

/// A key of the table, with one of them in front.
pub(super) fn act(model: &mut Model, action: Action) -> Vec<Effect> {
    match action {
        Action::Close => model.sheet = Sheet::None,
        Action::Up => return turn(model, -1),
        Action::Down => return turn(model, 1),
        Action::Closer => zoom(model, 1),
        Action::Farther => zoom(model, -1),
        Action::ScrollUp => scroll(model, -1),
        Action::ScrollDown => scroll(model, 1),
        Action::PageUp => scroll(model, -super::page(model)),
        Action::PageDown => scroll(model, super::page(model)),
        Action::Top => scroll(model, i32::MIN / 2),
        _ => {}
    }
    Vec::new()
}

fn turn(model: &mut Model, by: isize) -> Vec<Effect> {
    let Sheet::Back { number, .. } = model.sheet else {
        return Vec::new();
    };
    let last = model.standing.as_ref().map_or(0, |standing| standing.found.len());
    match number.checked_add_signed(by) {
        Some(next) if (1..=last).contains(&next) => show(model, next),
        _ => {
            model.tell(if by < 0 { "This is the first step." } else { "This is the last step." });
            Vec::new()
        }
    }
}

fn zoom(model: &mut Model, by: i8) {
    if let Sheet::Whole { detail, top } = &mut model.sheet {
        *detail = detail.saturating_add_signed(by).min(CLOSEST);
        *top = None;
    }
}

fn scroll(model: &mut Model, by: i32) {
    let (now, reach) = view::sheet_scrolling(model);
    let next = u16::try_from((i32::from(now) + by).clamp(0, i32::from(reach))).unwrap_or(0);
    match &mut model.sheet {
        Sheet::Back { top, .. } => *top = next,
        Sheet::Whole { top, .. } => *top = Some(next),
        _ => {}
    }
}
