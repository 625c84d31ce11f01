//! What lies over the step: skip, other tests, why, note, help.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};
use tui_input::Input;
use unicode_width::UnicodeWidthStr;

use crate::tui::bench::{Fact, OtherTest};
use crate::tui::keys::{self, Scene};
use crate::tui::model::{Model, Sheet, StepRef, matching, matching_facts};
use crate::tui::theme::Theme;
use crate::tui::update::{REASONS, reasons};
use crate::tui::words;

use super::suspects::suspect_spans;
use super::text::{self, block, cap, fit, meter, pad, typed, wrap};

/// Paints the sheet in front; false when there is none, or when it is asked in the notice line.
pub fn render(model: &Model, theme: &Theme, area: Rect, buffer: &mut Buffer) -> bool {
    let width = usize::from(area.width);
    let (lines, focus) = match &model.sheet {
        Sheet::None | Sheet::Leaving | Sheet::Whole { .. } => return false,
        Sheet::Back { .. } => {
            super::aside::render(model, theme, area, buffer);
            return true;
        }
        Sheet::Machine { search, list, marked } => {
            machine(search, list.as_deref(), *marked, (theme, width))
        }
        Sheet::Skip { marked } => skip(model, *marked, theme, width),
        Sheet::Others { search, list, marked } => {
            others(search, list.as_deref(), *marked, (theme, width))
        }
        Sheet::Why { marked, lines } => why(model, *marked, lines.as_deref(), (theme, width)),
        Sheet::Note(input) => (note(input, theme, width), 0),
        Sheet::Help { of, top, .. } => {
            text::paint(&help(model, *of, theme, width), *top, area, buffer);
            return true;
        }
    };
    text::paint(&lines, top_for(focus, lines.len(), area.height), area, buffer);
    true
}

/// The first row shown so that the row in focus is in sight, with some of what follows it.
fn top_for(focus: usize, count: usize, height: u16) -> u16 {
    let focus = u16::try_from(focus).unwrap_or(u16::MAX);
    let margin = height / 3;
    if focus + margin < height {
        return 0;
    }
    (focus + margin + 1).saturating_sub(height).min(text::reach(count, height))
}

fn bar(words: &str, theme: &Theme) -> Line<'static> {
    Line::from(format!(" {words}")).style(theme.bar())
}

fn skip(model: &Model, marked: usize, theme: &Theme, width: usize) -> (Vec<Line<'static>>, usize) {
    if reasons(model) == 1 {
        let title = match model.step() {
            Some(StepRef::Fix(step)) => step.title.as_str(),
            _ => "",
        };
        let mut lines = vec![bar("Leave this repair for later?", theme)];
        lines.extend(block(("", theme.label()), title, theme.plain(), width));
        lines.push(key_words("1", "later: go on with something else", true, theme));
        return (lines, 0);
    }
    let mut lines = vec![bar("Skip this step, because", theme)];
    let mut focus = 0;
    for (position, (_, words, meaning)) in REASONS.iter().enumerate() {
        if position == marked {
            focus = lines.len();
        }
        let key = (position + 1).to_string();
        lines.push(key_words(&key, words, position == marked, theme));
        lines.extend(block(("", theme.label()), meaning, theme.plain(), width));
    }
    (lines, focus)
}

fn key_words(key: &str, words: &str, marked: bool, theme: &Theme) -> Line<'static> {
    let style = if marked { theme.marked() } else { theme.label() };
    let pointer = if marked { " ►" } else { "  " };
    Line::from(vec![cap(key, theme), Span::raw(pointer), Span::styled(format!(" {words} "), style)])
}

fn others(
    search: &Input,
    list: Option<&[OtherTest]>,
    marked: usize,
    (theme, width): (&Theme, usize),
) -> (Vec<Line<'static>>, usize) {
    let mut lines = vec![bar("Do another test: type to search", theme)];
    lines.push(typed("FIND", search, theme, width));
    let Some(list) = list else {
        lines.push(Line::from("Looking through the tests"));
        return (lines, 0);
    };
    let shown = matching(list, search.value());
    if shown.is_empty() {
        lines.push(Line::from("No test has all these words; Backspace widens the search."));
    }
    let best = list.iter().map(|test| test.worth).fold(0.0, f64::max);
    let mut focus = 0;
    for (position, test) in shown.iter().enumerate() {
        if position == marked {
            focus = lines.len();
        }
        lines.extend(other(test, best, position == marked, (theme, width)));
    }
    (lines, focus)
}

/// What can be told of the machine and the bench.
fn machine(
    search: &Input,
    list: Option<&[Fact]>,
    marked: usize,
    (theme, width): (&Theme, usize),
) -> (Vec<Line<'static>>, usize) {
    let mut lines = vec![bar("This machine, this bench: type to search", theme)];
    lines.push(typed("FIND", search, theme, width));
    let shown = matching_facts(list.unwrap_or_default(), search.value());
    if list.is_some() && shown.is_empty() {
        lines.push(Line::from("Nothing has all these words; Backspace widens the search."));
    }
    let mut focus = 0;
    for (position, fact) in shown.iter().enumerate() {
        let here = position == marked;
        let lead =
            format!("{}[{}] ", if here { "►" } else { " " }, if fact.holds { "x" } else { " " });
        let text =
            if here { format!("{}; Enter: {}", fact.now, fact.then) } else { fact.now.clone() };
        if here {
            focus = lines.len();
        }
        let style = if here { theme.marked() } else { theme.plain() };
        let rows = wrap(&text, width.saturating_sub(lead.width())).into_iter().enumerate();
        lines.extend(rows.map(|(row, words)| {
            let start = if row == 0 { lead.clone() } else { " ".repeat(lead.width()) };
            Line::from(vec![Span::raw(start), Span::styled(words, style)])
        }));
    }
    (lines, focus)
}

/// A test of the list: its worth beside the best one's, its minutes, its title; all of it when marked.
fn other(
    test: &OtherTest,
    best: f64,
    marked: bool,
    (theme, width): (&Theme, usize),
) -> Vec<Line<'static>> {
    let worth = if best > 0.0 { test.worth / best } else { 0.0 };
    let minutes = words::short_minutes(test.minutes);
    let lead = format!("{}{} {minutes:>6} ", if marked { "►" } else { " " }, meter(worth, 4));
    let room = width.saturating_sub(lead.width());
    let text = match test.place.as_str() {
        "" => test.title.clone(),
        place => format!("{}; {place}", test.title),
    };
    if !marked {
        return vec![Line::from(format!("{lead}{}", fit(&text, room)))];
    }
    let rows = wrap(&text, room).into_iter().enumerate().map(|(row, words)| {
        let start = if row == 0 { lead.clone() } else { " ".repeat(lead.width()) };
        Line::from(vec![Span::raw(start), Span::styled(pad(&words, room), theme.marked())])
    });
    rows.collect()
}

fn why(
    model: &Model,
    marked: usize,
    told: Option<&[String]>,
    (theme, width): (&Theme, usize),
) -> (Vec<Line<'static>>, usize) {
    let mut lines = vec![bar("Why this step", theme)];
    let reasons = match model.step() {
        Some(StepRef::Test(step)) => step.why.as_slice(),
        Some(StepRef::Fix(step)) => step.why.as_slice(),
        _ => &[],
    };
    for reason in reasons {
        lines.extend(text::hanging(("", theme.label()), "- ", reason, (theme.plain(), width)));
    }
    let suspects = model.standing.as_ref().map_or(&[][..], |standing| &standing.suspects);
    lines.push(bar("For and against: mark a suspect", theme));
    let mut focus = 0;
    for (position, suspect) in suspects.iter().enumerate() {
        let pointer = if position == marked { "►" } else { " " };
        let mut spans = vec![Span::raw(pointer)];
        spans.extend(suspect_spans(suspect, theme, width.saturating_sub(1)));
        if position != marked {
            lines.push(Line::from(spans));
            continue;
        }
        focus = lines.len();
        lines.push(Line::from(spans).style(theme.marked()));
        match told {
            None => lines.push(Line::from("      reckoning")),
            Some(told) => lines.extend(
                told.iter().flat_map(|line| block(("", theme.label()), line, theme.plain(), width)),
            ),
        }
    }
    (lines, focus)
}

fn note(input: &Input, theme: &Theme, width: usize) -> Vec<Line<'static>> {
    let mut lines = vec![bar("A note into the job", theme)];
    lines.push(typed("NOTE", input, theme, width));
    lines.push(Line::default());
    let words = "For the job card: what was seen beside the way, what was promised, which part was ordered.";
    lines.extend(block(("", theme.label()), words, theme.plain(), width));
    lines
}

/// The keys of a scene, from the table, and those the step brings with it.
pub fn help(model: &Model, of: Scene, theme: &Theme, width: usize) -> Vec<Line<'static>> {
    let mut lines = vec![bar("Keys here", theme)];
    if of == Scene::Test
        && let Some(step) = model.test()
    {
        if let Some(bounds) = &step.number {
            let words = format!("type the {}, Enter keeps them", words::quantity(bounds.unit));
            lines.extend(help_row("0-9", &words, theme, width));
        }
        for outcome in &step.outcomes {
            lines.extend(help_row(&outcome.key.to_string(), &outcome.words, theme, width));
        }
    }
    for row in keys::rows(of) {
        lines.extend(help_row(row.name, row.long, theme, width));
    }
    lines.push(bar("The drawing", theme));
    for (sign, words) in [
        ("[ ]", "a part; without brackets a wire, a pin or a ground point"),
        ("┃", "live when all is sound"),
        ("│", "held at ground when all is sound"),
        ("╎", "afloat: nothing holds it, a meter's reading wanders"),
        ("█▌", "how suspected it is beside the others"),
        ("◄─", "a point the step touches"),
    ] {
        lines.extend(help_row(sign, words, theme, width));
    }
    lines
}

fn help_row(name: &str, words: &str, theme: &Theme, width: usize) -> Vec<Line<'static>> {
    const NAMES: usize = 12;
    let rows = wrap(words, width.saturating_sub(NAMES)).into_iter().enumerate();
    rows.map(|(row, words)| {
        let name = if row == 0 { name } else { "" };
        Line::from(vec![
            Span::styled(pad(&format!(" {name}"), NAMES), theme.label()),
            Span::raw(words),
        ])
    })
    .collect()
}
