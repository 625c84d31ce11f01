//! The questions on the screen: a list with its keys below, large and plain.

use crossterm::event::{Event as TerminalEvent, KeyCode, KeyEvent, KeyEventKind, KeyModifiers};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};
use tui_input::Input;
use tui_input::backend::crossterm::EventHandler;
use unicode_width::UnicodeWidthStr;

use super::page::Manner;
use super::{Intake, Reply, Turn};
use crate::tui::bench::Bench;
use crate::tui::message::Message;
use crate::tui::theme::Theme;
use crate::tui::view::text::{self, cap, fit, pad, typed, wrap};
use crate::tui::window;

/// The questions as the screen has them.
pub struct Screen {
    intake: Intake,
    search: Input,
    marked: usize,
    notice: String,
    size: (u16, u16),
    /// Another question has come that nobody has seen yet.
    unseen: bool,
}

/// What comes of a message.
pub enum Outcome {
    /// The questions go on.
    Asks,
    /// The job begins.
    Begins(Box<dyn Bench>),
    /// The person leaves.
    Leaves,
    /// Back to the shell for a while.
    Suspends,
    /// Paint all again.
    Repaints,
}

impl Screen {
    /// At the first question.
    pub fn new(intake: Intake, size: (u16, u16)) -> Screen {
        Screen {
            intake,
            search: Input::default(),
            marked: 0,
            notice: String::new(),
            size,
            unseen: false,
        }
    }

    /// Takes a message in.
    pub fn update(&mut self, message: &Message) -> Outcome {
        match message {
            // To find the question may have taken a moment: a key pressed meanwhile was not meant for it.
            Message::Key(key, _)
                if self.unseen && !key.modifiers.contains(KeyModifiers::CONTROL) =>
            {
                Outcome::Asks
            }
            Message::Key(key, _) if key.kind != KeyEventKind::Release => self.key(*key),
            Message::Resized(columns, rows) => {
                self.size = (*columns, *rows);
                Outcome::Repaints
            }
            Message::Suspend => Outcome::Suspends,
            Message::Repaint => Outcome::Repaints,
            Message::Leave(_) | Message::PlannerLost => Outcome::Leaves,
            _ => Outcome::Asks,
        }
    }

    /// The question in front was painted: from now on keys are meant for it.
    pub fn seen(&mut self) {
        self.unseen = false;
    }

    fn too_small(&self) -> bool {
        window::is_too_small(self.size)
    }

    fn key(&mut self, key: KeyEvent) -> Outcome {
        self.notice.clear();
        if key.modifiers.contains(KeyModifiers::CONTROL) {
            match key.code {
                KeyCode::Char('c') => return Outcome::Leaves,
                KeyCode::Char('z') => return Outcome::Suspends,
                KeyCode::Char('l') => return Outcome::Repaints,
                _ => {}
            }
        }
        if self.too_small() {
            return Outcome::Asks;
        }
        let found = self.intake.page.matching(self.search.value());
        let manner = self.intake.page.manner;
        let at_mark = found.get(self.marked).copied();
        match (key.code, manner) {
            (KeyCode::Up, _) => self.marked = self.marked.saturating_sub(1),
            (KeyCode::Down, _) => self.marked = (self.marked + 1).min(found.len().max(1) - 1),
            (KeyCode::PageUp, _) => self.marked = self.marked.saturating_sub(8),
            (KeyCode::PageDown, _) => self.marked = (self.marked + 8).min(found.len().max(1) - 1),
            (KeyCode::Esc, _) => return self.answer(&Reply::Back),
            (KeyCode::F(2), _) => return self.answer(&Reply::Straight),
            (KeyCode::Tab, _) => return self.answer(&Reply::Skipped),
            (KeyCode::Enter, Manner::Pick) => match at_mark {
                Some(row) => return self.answer(&Reply::Picked(row)),
                None => {
                    "Nothing is marked; Backspace widens the search.".clone_into(&mut self.notice);
                }
            },
            (KeyCode::Enter, _) => {
                let typed = self.search.value().to_owned();
                return self.answer(&Reply::Taken(typed));
            }
            (KeyCode::Char(' '), Manner::Tick) => {
                if let Some(row) = at_mark {
                    self.intake.answer(&Reply::Ticked(row));
                }
            }
            (KeyCode::Char(c), _) if !self.intake.page.long && manner != Manner::Number => {
                return self.by_digit(c);
            }
            _ => {
                let changed = self.search.handle_event(&TerminalEvent::Key(key));
                if changed.is_some_and(|change| change.value) {
                    self.marked = 0;
                }
            }
        }
        Outcome::Asks
    }

    /// Short lists are answered by a digit.
    fn by_digit(&mut self, c: char) -> Outcome {
        let row = c.to_digit(10).and_then(|digit| (digit as usize).checked_sub(1));
        let Some(row) = row.filter(|row| *row < self.intake.page.rows.len()) else {
            self.notice = format!("`{c}` does nothing here; the digits pick, Tab passes it over.");
            return Outcome::Asks;
        };
        self.marked = row;
        match self.intake.page.manner {
            Manner::Tick => {
                self.intake.answer(&Reply::Ticked(row));
                Outcome::Asks
            }
            _ => self.answer(&Reply::Picked(row)),
        }
    }

    fn answer(&mut self, reply: &Reply) -> Outcome {
        match self.intake.answer(reply) {
            Turn::Asks => {
                self.unseen = true;
                self.search = Input::default();
                self.marked = 0;
                Outcome::Asks
            }
            Turn::Wrong(words) => {
                let mut chars = words.chars();
                let first: String = chars.next().into_iter().flat_map(char::to_uppercase).collect();
                self.notice = format!("{first}{}.", chars.as_str());
                Outcome::Asks
            }
            Turn::Begins(bench) => Outcome::Begins(bench),
        }
    }

    /// Paints the question in front.
    pub fn draw(&self, theme: &Theme, area: Rect, buffer: &mut Buffer) {
        let area = area.intersection(buffer.area);
        if window::refused(area, buffer) {
            theme.finish(buffer);
            return;
        }
        let width = usize::from(area.width);
        let page = &self.intake.page;
        let about = wrap(&page.about, width).into_iter().filter(|row| !row.is_empty());
        let about = about.map(|row| Line::from(row).style(theme.label()));
        let title = wrap(&page.title, width.saturating_sub(2)).into_iter();
        let head: Vec<Line<'static>> = about
            .chain(title.map(|row| Line::from(pad(&format!(" {row}"), width)).style(theme.bar())))
            .chain(self.typed_line(theme, width))
            .chain([Line::default()])
            .collect();
        let tall = u16::try_from(head.len()).unwrap_or(1).min(area.height / 2);
        text::paint(&head, 0, Rect { height: tall, ..area }, buffer);
        let list = Rect { y: area.y + tall, height: area.height - tall - 2, ..area };
        let (lines, focus) = self.rows(theme, width);
        let focus = u16::try_from(focus).unwrap_or(u16::MAX);
        let top =
            (focus + 4).saturating_sub(list.height).min(text::reach(lines.len(), list.height));
        text::paint(&lines, top, list, buffer);
        let notice = Rect { y: area.bottom() - 2, height: 1, ..area };
        if !self.notice.is_empty() {
            let words = format!(" {}", fit(&self.notice, width.saturating_sub(2)));
            text::paint(&[Line::from(words).style(theme.marked())], 0, notice, buffer);
        }
        let foot = Rect { y: area.bottom() - 1, height: 1, ..area };
        text::paint(&[self.keys(theme, width)], 0, foot, buffer);
        theme.finish(buffer);
    }

    fn typed_line(&self, theme: &Theme, width: usize) -> Option<Line<'static>> {
        let page = &self.intake.page;
        let label = match page.manner {
            Manner::Number => "VOLTS",
            _ if page.long => "FIND",
            _ => return None,
        };
        Some(typed(label, &self.search, theme, width))
    }

    fn rows(&self, theme: &Theme, width: usize) -> (Vec<Line<'static>>, usize) {
        let page = &self.intake.page;
        let found = page.matching(self.search.value());
        let mut lines = Vec::new();
        let mut focus = 0;
        if found.is_empty() && page.manner != Manner::Number {
            lines.push(Line::from("Nothing has all these words; Backspace widens the search."));
        }
        for (position, at) in found.into_iter().enumerate() {
            let row = &page.rows[at];
            let here = position == self.marked;
            if here {
                focus = lines.len();
            }
            let tick = match row.on {
                Some(true) => "[x] ",
                Some(false) => "[ ] ",
                None => "",
            };
            let mut lead = vec![Span::raw(if here { "►" } else { " " })];
            if !page.long {
                lead.push(cap(&(position + 1).to_string(), theme));
                lead.push(Span::raw(" "));
            }
            lead.push(Span::raw(tick));
            let indent: usize = lead.iter().map(Span::width).sum();
            let room = width.saturating_sub(indent + 1);
            let style = if here { theme.marked() } else { theme.label() };
            for (number, words) in wrap(&row.text, room).into_iter().enumerate() {
                let mut spans = std::mem::take(&mut lead);
                if number > 0 {
                    spans.push(Span::raw(" ".repeat(indent)));
                }
                spans.push(Span::styled(words, style));
                lines.push(Line::from(spans));
            }
            // All words of the marked row, one line of the others where there is no digit to pick by.
            let detail = wrap(&row.detail, room);
            let shown = if here { detail.len() } else { usize::from(page.long).min(detail.len()) };
            let detail = if here { detail } else { vec![fit(&row.detail, room)] };
            for words in detail.into_iter().take(shown).filter(|words| !words.is_empty()) {
                lines.push(Line::from(format!("{}{words}", " ".repeat(indent))));
            }
        }
        (lines, focus)
    }

    /// The keys of this page.
    fn keys(&self, theme: &Theme, width: usize) -> Line<'static> {
        let page = &self.intake.page;
        let skip = (!page.skipped.is_empty()).then(|| format!("skip: {}", page.skipped));
        let enter = match page.manner {
            Manner::Pick => "take it",
            Manner::Tick | Manner::Number => "go on",
        };
        let mut keys = vec![("Enter", enter.to_owned())];
        if page.manner == Manner::Tick {
            keys.push(("Space", "tick".to_owned()));
        }
        keys.extend(skip.map(|words| ("Tab", words)));
        keys.extend([
            ("Esc", "back".to_owned()),
            ("F2", "first step".to_owned()),
            ("Ctrl-C", "leave".to_owned()),
        ]);
        let mut spans = Vec::new();
        let mut used = 0;
        for (name, words) in keys {
            used += name.width() + words.width() + 5;
            if used > width + 2 {
                break;
            }
            spans.push(cap(name, theme));
            spans.push(Span::raw(format!(" {words}  ")));
        }
        Line::from(spans)
    }
}
