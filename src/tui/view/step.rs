//! The pane of the step: what to do now, what to look at, and what each outcome would mean.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::text::{Line, Span};
use unicode_width::UnicodeWidthStr;

use crate::job::standing::{Ending, FixStep, TestStep};
use crate::tui::model::{Model, Pane, StepRef};
use crate::tui::theme::Theme;
use crate::tui::words;

use super::room::{Density, RANGES, gap};
use super::text::{self, block, cap, hanging, numbered, pad, wrap};

/// Lines of an end that come before what has to be put back.
const VERDICT: usize = 3;
/// And where there is none.
const FEWEST: usize = 2;

/// The two parts of the pane: what scrolls, and what is pinned below it.
pub struct Parts {
    /// Cautions and what to do.
    pub doing: Vec<Line<'static>>,
    /// What to look at, and what can be pressed.
    pub answers: Vec<Line<'static>>,
}

impl Parts {
    /// Rows of both parts.
    pub fn height(&self) -> usize {
        self.doing.len() + self.answers.len()
    }

    /// Rows left for the part that scrolls when the pane has `height` rows.
    pub fn doing_rows(&self, height: u16) -> u16 {
        let pinned = u16::try_from(self.answers.len()).unwrap_or(u16::MAX);
        height.saturating_sub(pinned).max(height.min(3))
    }
}

/// Paints the step.
pub fn render(model: &Model, theme: &Theme, area: Rect, buffer: &mut Buffer) {
    let parts = fitting(model, theme, usize::from(area.width), area.height);
    let rows = parts.doing_rows(area.height);
    let reach = text::reach(parts.doing.len(), rows);
    let top = model.scroll[Pane::Step.index()].unwrap_or(0).min(reach);
    let used = rows.min(u16::try_from(parts.doing.len()).unwrap_or(rows));
    text::paint(&parts.doing, top, Rect { height: used, ..area }, buffer);
    let below = Rect { y: area.y + used, height: area.height.saturating_sub(used), ..area };
    text::paint(&parts.answers, 0, below, buffer);
}

/// The lines of the step, as airy as `height` rows allow.
pub fn fitting(model: &Model, theme: &Theme, width: usize, height: u16) -> Parts {
    for density in [Density::Airy, Density::Normal] {
        let parts = parts(model, theme, width, density);
        if parts.height() <= usize::from(height) {
            return parts;
        }
    }
    // What to do is worth more than the last of the ranges.
    let mut tight = parts(model, theme, width, Density::Tight { spare: 0, ranges: FEWEST });
    for ranges in [RANGES, 3, FEWEST] {
        let density = |spare| Density::Tight { spare, ranges };
        let least = parts(model, theme, width, density(0)).height();
        if let Some(spare) = usize::from(height).checked_sub(least) {
            return parts(model, theme, width, density(spare));
        }
    }
    tight.answers.retain(|line| line.width() > 0);
    tight
}

/// The lines of the step for a pane of this width.
pub fn parts(model: &Model, theme: &Theme, width: usize, density: Density) -> Parts {
    let mut parts = match model.step() {
        None => {
            Parts { doing: bar("Reckoning the first step", "", theme, width), answers: Vec::new() }
        }
        Some(StepRef::Test(step)) => test(model, step, theme, (width, density)),
        Some(StepRef::Fix(step)) => fix(step, theme, (width, density)),
        Some(StepRef::Cured(ending)) => ended(("CURED", "SINCE"), ending, theme, width),
        Some(StepRef::Stuck(ending)) => ended(("NO FURTHER", "KNOWN"), ending, theme, width),
    };
    let surprise = model.standing.as_ref().and_then(|standing| standing.surprise.as_ref());
    if let Some(surprise) = surprise {
        let doubt = block(("DOUBT", theme.care()), surprise, theme.plain(), width);
        parts.doing.splice(0..0, doubt);
    }
    parts
}

/// The bar with the title, its minutes at the right end of the last line when they fit.
fn bar(title: &str, right: &str, theme: &Theme, width: usize) -> Vec<Line<'static>> {
    let mut rows = wrap(title, width.saturating_sub(2));
    let last = rows.len() - 1;
    let room = width.saturating_sub(2 + right.width());
    if !right.is_empty() && rows[last].width() < room {
        rows[last] = format!("{}{right}", pad(&rows[last], room));
    }
    let paint = |row: String| Line::from(format!(" {row} ")).style(theme.bar());
    rows.into_iter().map(paint).collect()
}

fn test(
    model: &Model,
    step: &TestStep,
    theme: &Theme,
    (width, density): (usize, Density),
) -> Parts {
    let mut doing = bar(&step.title, &words::short_minutes(step.minutes), theme, width);
    if model.chosen.is_some() {
        let words = "Your own choice; u goes back to the proposed test.";
        doing.extend(block(("YOURS", theme.label()), words, theme.plain(), width));
    }
    if !step.cautions.is_empty() {
        gap(&mut doing, density);
        doing.extend(cautions(&step.cautions, theme, width));
    }
    if !step.doing.is_empty() {
        gap(&mut doing, density);
        doing.extend(numbered(("DO", theme.label()), &step.doing, theme.plain(), width));
    }
    let mut answers = Vec::new();
    gap(&mut answers, density);
    // Where room is tight, what books allow stays out.
    let published = step.published.as_deref().filter(|_| !matches!(density, Density::Tight { .. }));
    let then = [Some(step.watch.as_str()), step.sound.as_deref(), published];
    let then = then.into_iter().flatten().collect::<Vec<_>>().join(" ");
    answers.extend(block(("THEN", theme.label()), &then, theme.plain(), width));
    answers.extend(super::answers::lines(model, step, theme, (width, density)));
    Parts { doing, answers }
}

fn cautions(cautions: &[String], theme: &Theme, width: usize) -> Vec<Line<'static>> {
    let lines = cautions.iter().enumerate().flat_map(|(position, caution)| {
        let label = if position == 0 { ("CARE", theme.care()) } else { ("", theme.plain()) };
        hanging(label, "! ", caution, (theme.label(), width))
    });
    lines.collect()
}

fn fix(step: &FixStep, theme: &Theme, (width, density): (usize, Density)) -> Parts {
    let right = words::short_minutes(step.minutes);
    let mut doing = bar(&step.title, &right, theme, width);
    let sure = format!("Repair now: {} that this cures it.", words::share(step.probability));
    doing.extend(block(("WHY", theme.label()), &sure, theme.plain(), width));
    if !step.cautions.is_empty() {
        gap(&mut doing, density);
        doing.extend(cautions(&step.cautions, theme, width));
    }
    if !step.parts.is_empty() {
        gap(&mut doing, density);
        let words = format!("{}.", step.parts.join("; "));
        doing.extend(block(("PARTS", theme.label()), &words, theme.plain(), width));
    }
    gap(&mut doing, density);
    doing.extend(numbered(("DO", theme.label()), &step.doing, theme.plain(), width));
    gap(&mut doing, density);
    doing.extend(numbered(("PROVE", theme.label()), &step.proof, theme.plain(), width));
    let mut answers = Vec::new();
    gap(&mut answers, density);
    answers.push(key_line(("PRESS", "c"), "cured: the proof is as it should be", theme));
    answers.push(key_line(("", "x"), "not cured: it is as before", theme));
    Parts { doing, answers }
}

fn ended((word, label): (&str, &str), ending: &Ending, theme: &Theme, width: usize) -> Parts {
    let mut doing = bar(&format!("{word}  {}", ending.title), "", theme, width);
    doing.push(Line::default());
    // What has to be put back must be in sight; what the verdict rests on may be scrolled to.
    let (verdict, rests) = ending.lines.split_at(ending.lines.len().min(VERDICT));
    for (position, line) in verdict.iter().enumerate() {
        let label = if position == 0 { label } else { "" };
        doing.extend(block((label, theme.label()), line, theme.plain(), width));
    }
    if !ending.put_back.is_empty() {
        doing.push(Line::default());
        let words = "Before the machine is handed over:";
        doing.extend(block(("BACK", theme.care()), words, theme.plain(), width));
        doing.extend(numbered(("", Style::new()), &ending.put_back, theme.plain(), width));
        doing.extend((!rests.is_empty()).then(Line::default));
    }
    for line in rests {
        doing.extend(block(("", theme.label()), line, theme.plain(), width));
    }
    let answers = vec![
        Line::default(),
        key_line(("PRESS", "c"), "write the job card", theme),
        key_line(("", "u"), "undo: something was entered wrong", theme),
        key_line(("", "q"), "leave", theme),
    ];
    Parts { doing, answers }
}

fn key_line((label, key): (&str, &str), words: &str, theme: &Theme) -> Line<'static> {
    let mut spans = text::margin(label, theme.label());
    spans.push(cap(key, theme));
    spans.push(Span::styled(format!(" {words}"), theme.label()));
    Line::from(spans)
}
