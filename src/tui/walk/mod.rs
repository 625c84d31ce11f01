//! A fault tree walked branch by branch on the screen, for a group: large, arrow keys, suspects that fade as
//! branches close.

pub mod model;
mod view;

use std::cell::Cell;

use crossterm::event::{KeyCode, KeyEvent};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::page::{Page, show};
use super::theme::Theme;
use super::{LeaveCause, ScreenOptions, TuiError};
use crate::report::tree::FaultTree;
use model::Walk;

/// Lines that `PgUp` and `PgDn` move a step by.
const PAGE: usize = 5;

/// Walks a tree until the person leaves.
///
/// # Errors
/// When there is no terminal, or when it fails.
pub fn run(tree: &FaultTree, options: ScreenOptions) -> Result<LeaveCause, TuiError> {
    let mut screen = Screen::new(Walk::new(tree), Theme::new(options));
    show(&mut screen, options)
}

/// The walk, ready to be drawn.
#[derive(Debug)]
pub struct Screen<'a> {
    /// Where it stands.
    pub walk: Walk<'a>,
    /// How it looks.
    pub theme: Theme,
    /// The first line of the step that is shown, as drawn last.
    top: Cell<usize>,
    /// The person has moved it; else what is marked stays in sight.
    moved: bool,
}

impl<'a> Screen<'a> {
    /// A walk at its beginning.
    pub fn new(walk: Walk<'a>, theme: Theme) -> Screen<'a> {
        Screen { walk, theme, top: Cell::new(0), moved: false }
    }
}

impl Page for Screen<'_> {
    fn key(&mut self, key: KeyEvent) -> bool {
        self.moved = matches!(key.code, KeyCode::PageUp | KeyCode::PageDown);
        let top = self.top.get_mut();
        match key.code {
            KeyCode::PageUp => *top = top.saturating_sub(PAGE),
            // The end is known when it is drawn.
            KeyCode::PageDown => *top += PAGE,
            KeyCode::Up | KeyCode::Char('k') => self.walk.up(),
            KeyCode::Down | KeyCode::Char('j') => self.walk.down(),
            KeyCode::Right | KeyCode::Enter | KeyCode::Char('l' | ' ') => self.walk.into_branch(),
            KeyCode::Left | KeyCode::Backspace | KeyCode::Char('h' | 'u') => self.walk.back(),
            KeyCode::Home | KeyCode::Char('g') => self.walk.home(),
            KeyCode::Char('q') => return true,
            KeyCode::Char(digit @ '1'..='9') => {
                let at = digit as usize - '1' as usize;
                if at < self.walk.outcomes().len() {
                    self.walk.choose(at);
                    self.walk.into_branch();
                }
            }
            _ => {}
        }
        false
    }

    fn draw(&self, area: Rect, buffer: &mut Buffer) {
        view::draw(self, area.intersection(buffer.area), buffer);
        self.theme.finish(buffer);
    }
}
