//! A screen that asks no planner: keys change it, it is drawn, and that is all.

use std::io::{self, IsTerminal};
use std::sync::mpsc::{self, Receiver};

use crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::message::Message;
use super::terminal::{Curtain, Stage, listen, watch_signals};
use super::view::text::fit;
use super::{LeaveCause, ScreenOptions, TuiError};
use crate::problem::sanitise;

/// Such a screen.
pub trait Page {
    /// A key was pressed; true to leave.
    fn key(&mut self, key: KeyEvent) -> bool;

    /// Draws it.
    fn draw(&self, area: Rect, buffer: &mut Buffer);
}

/// One line of text in a row of an area.
pub fn put(buffer: &mut Buffer, area: Rect, row: u16, text: &str, style: Style) {
    if row < area.height && area.width > 0 {
        let text = fit(&sanitise(text), area.width.into());
        buffer.set_stringn(area.x, area.y + row, text, area.width.into(), style);
    }
}

/// Shows a page until the person leaves it; the terminal is given back in every case.
///
/// # Errors
/// When there is no terminal, or when it fails.
pub fn show(page: &mut dyn Page, options: ScreenOptions) -> Result<LeaveCause, TuiError> {
    if !io::stdout().is_terminal() {
        return Err(TuiError::NoTerminal);
    }
    let (sender, receiver) = mpsc::channel();
    let signals = watch_signals(sender.clone())?;
    let curtain = Curtain;
    let mut stage = Stage::enter(options)?;
    let outcome = listen(sender).and_then(|()| live(page, &mut stage, &receiver));
    drop(curtain);
    signals.close();
    outcome
}

fn live(
    page: &mut dyn Page,
    stage: &mut Stage,
    messages: &Receiver<Message>,
) -> Result<LeaveCause, TuiError> {
    loop {
        stage.paint(|frame| {
            let area = frame.area();
            page.draw(area, frame.buffer_mut());
        })?;
        // The input thread ends with the process, so the channel cannot close before.
        let Ok(message) = messages.recv() else { return Ok(LeaveCause::InputEnded) };
        match message {
            Message::Key(key, _) if key.kind == KeyEventKind::Release => {}
            Message::Key(key, _) => match control(key) {
                Some('c') => return Ok(LeaveCause::Asked),
                Some('z') => pause(stage)?,
                Some('l') => stage.repaint()?,
                _ if page.key(key) => return Ok(LeaveCause::Asked),
                _ => {}
            },
            Message::Suspend => pause(stage)?,
            Message::Repaint | Message::Resized(..) => stage.repaint()?,
            Message::Leave(cause) => return Ok(cause),
            _ => {}
        }
    }
}

/// The letter pressed together with Ctrl.
fn control(key: KeyEvent) -> Option<char> {
    match key.code {
        KeyCode::Char(letter) if key.modifiers.contains(KeyModifiers::CONTROL) => Some(letter),
        _ => None,
    }
}

/// Gives the terminal back, stops, and takes it again when the shell continues us.
fn pause(stage: &mut Stage) -> Result<(), TuiError> {
    let (columns, rows) = stage.suspend()?;
    stage.terminal.resize(Rect::new(0, 0, columns, rows)).map_err(TuiError::Terminal)
}
