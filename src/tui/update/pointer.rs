//! The mouse, where it was asked for: the wheel scrolls the pane below it, a click brings it to the front.

use crossterm::event::{MouseButton, MouseEvent, MouseEventKind};

use crate::tui::model::{Model, Sheet};
use crate::tui::view;

/// Lines a notch of the wheel scrolls.
const NOTCH: i32 = 3;

/// Takes a move of the mouse in.
pub(super) fn moved(model: &mut Model, event: MouseEvent) {
    if !matches!(model.sheet, Sheet::None) || view::too_small(model) {
        return;
    }
    let Some(pane) = view::pane_at(model, event.column, event.row) else {
        return;
    };
    match event.kind {
        MouseEventKind::ScrollUp => super::scroll_pane(model, pane, -NOTCH),
        MouseEventKind::ScrollDown => super::scroll_pane(model, pane, NOTCH),
        MouseEventKind::Down(MouseButton::Left) => model.pane = pane,
        _ => {}
    }
}
