//! The drill on a screen: the conversation, and beside it the clock, how the machine stands, and the circuit
//! without any suspicion on it.

use std::cell::RefCell;
use std::io::{self, Write};
use std::rc::Rc;

use crossterm::event::{KeyCode, KeyEvent};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::lists;
use super::talk::{Asking, End, Talk};
use crate::drill::log::What;
use crate::drill::play::Drill;
use crate::job::words;
use crate::problem::sanitise;
use crate::report::plain::count;
use crate::tester::Target;
use crate::tui::page::{Page, put, show};
use crate::tui::theme::Theme;
use crate::tui::view::text::{pad, wrap};
use crate::tui::{ScreenOptions, TuiError, window};

/// Columns of the pane beside the conversation.
const PANE: u16 = 29;
/// Windows narrower than this have none.
const WIDE: u16 = 72;
/// The conversation is filled up to this, so that it fits beside the pane at 80 columns.
const FILL: usize = 49;
/// A line that is typed has at most so many letters.
const MOST_TYPED: usize = 200;

/// What the conversation has written so far.
#[derive(Clone, Default)]
struct Paper(Rc<RefCell<Vec<u8>>>);

impl Write for Paper {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.borrow_mut().extend_from_slice(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// Holds a drill on the screen until it is over.
///
/// # Errors
/// When there is no terminal, or when it fails.
pub fn run(drill: &mut Drill<'_>, asking: Asking, options: ScreenOptions) -> Result<End, TuiError> {
    let paper = Paper::default();
    let mut pen = paper.clone();
    let mut talk = Talk::new(drill, asking, &mut pen, FILL);
    talk.opening().map_err(TuiError::Lines)?;
    let theme = Theme::new(options);
    let mut screen = Screen { talk, paper, theme, typed: String::new(), back: 0, end: None };
    show(&mut screen, options)?;
    Ok(screen.end.unwrap_or(End::InputEnded))
}

struct Screen<'t, 'a> {
    talk: Talk<'t, 'a>,
    paper: Paper,
    theme: Theme,
    typed: String,
    /// Lines scrolled back from the end.
    back: usize,
    end: Option<End>,
}

impl Page for Screen<'_, '_> {
    fn key(&mut self, key: KeyEvent) -> bool {
        match key.code {
            KeyCode::Enter => {
                let line = sanitise(&std::mem::take(&mut self.typed));
                self.back = 0;
                let wants = self.talk.wants();
                let _ = writeln!(self.paper, "{wants}> {line}");
                // The paper takes everything.
                self.end = self.talk.take(line.trim()).unwrap_or(None);
            }
            KeyCode::Backspace => {
                self.typed.pop();
            }
            KeyCode::Esc => self.typed.clear(),
            KeyCode::PageUp | KeyCode::Up => {
                self.back += if key.code == KeyCode::Up { 1 } else { 10 };
            }
            KeyCode::PageDown => self.back = self.back.saturating_sub(10),
            KeyCode::Down => self.back = self.back.saturating_sub(1),
            KeyCode::Char(letter) if self.typed.chars().count() < MOST_TYPED => {
                self.typed.push(letter);
            }
            _ => {}
        }
        self.end.is_some()
    }

    fn draw(&self, area: Rect, buffer: &mut Buffer) {
        self.paint(area.intersection(buffer.area), buffer);
        self.theme.finish(buffer);
    }
}

impl Screen<'_, '_> {
    fn paint(&self, area: Rect, buffer: &mut Buffer) {
        if window::refused(area, buffer) {
            return;
        }
        let drill = &*self.talk.drill;
        let circuit = drill.study.circuit();
        let width = usize::from(area.width);
        let looks = count(drill.course.tests, "look");
        let clock = format!("{} min, {looks} ", words::show(drill.minutes()));
        let room = width.saturating_sub(clock.chars().count());
        let title = pad(&format!(" DRILL {}, {}", circuit.machine, circuit.name), room);
        put(buffer, area, 0, &format!("{title}{clock}"), self.theme.bar());
        let foot = " Enter: do it, or choices   ?: orders   PgUp PgDn: read back   Ctrl-C: leave";
        put(buffer, area, area.height - 1, &pad(foot, width), self.theme.bar());
        let line = format!("{}> {}_", self.talk.wants(), self.typed);
        put(buffer, area, area.height - 2, &line, self.theme.label());
        let inner = Rect { y: area.y + 1, height: area.height - 3, ..area };
        let pane = if area.width >= WIDE { PANE } else { 0 };
        self.words(Rect { width: inner.width - pane, ..inner }, buffer);
        if pane > 0 {
            self.machine(Rect { x: inner.x + inner.width - pane, width: pane, ..inner }, buffer);
        }
    }

    /// The end of the conversation, or as far back as was scrolled.
    fn words(&self, area: Rect, buffer: &mut Buffer) {
        let paper = self.paper.0.borrow();
        let text = String::from_utf8_lossy(&paper);
        let width = usize::from(area.width).saturating_sub(1);
        let mut lines: Vec<(String, Style)> = Vec::new();
        for line in text.lines() {
            let alarm =
                line.trim_start().starts_with("STOP") || line.trim_start().starts_with("CARE");
            let order = line.starts_with('>') || line.contains("> ") && !line.starts_with(' ');
            let style = match (alarm, order) {
                (true, _) => self.theme.care(),
                (_, true) => self.theme.label(),
                _ => Style::new(),
            };
            // Filled already, but for a narrower window than this one.
            let indent: String = line.chars().take_while(|letter| *letter == ' ').collect();
            for piece in wrap(line, width.saturating_sub(indent.len()).max(1)) {
                lines.push((format!("{indent}{piece}"), style));
            }
        }
        let room = usize::from(area.height);
        let back = self.back.min(lines.len().saturating_sub(room));
        let from = lines.len().saturating_sub(room + back);
        for (row, (line, style)) in lines.iter().skip(from).take(room).enumerate() {
            put(buffer, area, row as u16, line, *style);
        }
    }

    /// How the machine stands, and the circuit by its paths with the points of the last look.
    fn machine(&self, area: Rect, buffer: &mut Buffer) {
        let drill = &*self.talk.drill;
        let circuit = drill.study.circuit();
        let width = usize::from(area.width).saturating_sub(2);
        let mut lines: Vec<(String, Style)> = Vec::new();
        for state in lists::state(drill).into_iter().take(2) {
            lines.extend(wrap(&state, width).into_iter().map(|line| (line, Style::new())));
        }
        lines.push(("CIRCUIT".to_owned(), self.theme.label()));
        let touched = drill.log.iter().rev().find_map(|entry| match &entry.what {
            What::Look(look) => Some(match look.column.test.target {
                Target::Point(at) => vec![at],
                Target::Pair(a, b) => vec![a, b],
                Target::Part(_) | Target::Connector(_) => Vec::new(),
            }),
            _ => None,
        });
        let touched = touched.unwrap_or_default();
        for way in crate::job::study::paths::ways(circuit, &drill.study.check_setup()) {
            lines.push((format!("═╤═ {}", circuit.part(way.load).name), Style::new()));
            let mut last = None;
            for &(link, behind) in &way.links {
                let part = circuit.link(link).part;
                if last != Some(part) {
                    lines.push((format!(" │  {}", short(&circuit.part(part).name)), Style::new()));
                }
                last = Some(part);
                if touched.contains(&behind) {
                    lines.push((" │◄─ touched last".to_owned(), self.theme.probe()));
                }
            }
        }
        for row in 0..area.height {
            put(buffer, Rect { width: 1, ..area }, row, "│", Style::new());
        }
        let inner = Rect { x: area.x + 2, width: area.width.saturating_sub(2), ..area };
        for (row, (line, style)) in lines.iter().take(usize::from(area.height)).enumerate() {
            put(buffer, inner, row as u16, line, *style);
        }
        if lines.len() > usize::from(area.height) {
            let more = "... `circuit` shows all";
            put(buffer, inner, area.height - 1, &pad(more, inner.width.into()), Style::new());
        }
    }
}

/// A wire by its colour, anything else by its name.
fn short(name: &str) -> &str {
    name.split(',').next().unwrap_or(name)
}
