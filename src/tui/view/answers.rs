//! What can be pressed on a test step: the number first where one can be read, then the outcomes.

use ratatui::text::{Line, Span};
use unicode_width::UnicodeWidthStr;

use crate::job::entry::typed::{Asked, TypedError};
use crate::job::standing::{NumberEntry, OutcomeLine, TestStep};
use crate::tui::model::{FEW_OUTCOMES, Model};
use crate::tui::theme::Theme;
use crate::tui::words;

use super::room::{Density, RANGES, gap};
use super::text::{self, MARGIN, cap, fit, pad, wrap};

/// Ranges less likely than this are left to the help.
const LIKELY: f64 = 0.01;

/// The lines of the answers.
pub fn lines(
    model: &Model,
    step: &TestStep,
    theme: &Theme,
    (width, mut density): (usize, Density),
) -> Vec<Line<'static>> {
    let mut lines = Vec::new();
    if let Some(bounds) = &step.number {
        gap(&mut lines, density);
        lines.push(number_line(model, bounds, theme, width));
        if step.outcomes.len() > FEW_OUTCOMES {
            let most = match density {
                Density::Tight { ranges, .. } => ranges,
                _ => RANGES,
            };
            lines.extend(ranges(model, step, most, (theme, width)));
            return lines;
        }
    }
    for (position, outcome) in step.outcomes.iter().enumerate() {
        gap(&mut lines, density);
        let first = position == 0 && step.number.is_none();
        let marked = model.marked == Some(position);
        lines.extend(outcome_lines(outcome, (first, marked), theme, (width, &mut density)));
    }
    lines
}

fn outcome_lines(
    outcome: &OutcomeLine,
    (first, marked): (bool, bool),
    theme: &Theme,
    (width, density): (usize, &mut Density),
) -> Vec<Line<'static>> {
    let share = words::share(outcome.probability);
    let indent = MARGIN + 4;
    let room = width.saturating_sub(indent + share.width() + 1);
    let mut spans = text::margin(if first { "PRESS" } else { "" }, theme.label());
    spans.push(cap(&outcome.key.to_string(), theme));
    spans.push(Span::raw(if marked { "►" } else { " " }));
    let style = if marked { theme.marked() } else { theme.label() };
    spans.push(Span::styled(pad(&outcome.words, room), style));
    spans.push(Span::raw(format!(" {share}")));
    let mut lines = vec![Line::from(spans)];
    if !outcome.meaning.is_empty() {
        let room = width.saturating_sub(indent);
        let mut rows = wrap(&outcome.meaning, room);
        if let Density::Tight { spare, .. } = density {
            let more = rows.len() - 1;
            if more > *spare {
                rows = vec![fit(&outcome.meaning, room)];
            } else {
                *spare -= more;
            }
        }
        let indented = |row: String| Line::from(format!("{}{row}", " ".repeat(indent)));
        lines.extend(rows.into_iter().map(indented));
    }
    lines
}

/// The likeliest ranges of a number, in their order, a line each.
fn ranges(
    model: &Model,
    step: &TestStep,
    most: usize,
    (theme, width): (&Theme, usize),
) -> Vec<Line<'static>> {
    let mut order: Vec<usize> = (0..step.outcomes.len()).collect();
    order.sort_by(|a, b| step.outcomes[*b].probability.total_cmp(&step.outcomes[*a].probability));
    let likely = |at: &usize| step.outcomes[*at].probability >= LIKELY;
    let mut shown: Vec<usize> = order.into_iter().filter(likely).take(most).collect();
    if let Some(marked) = model.marked.filter(|marked| !shown.contains(marked)) {
        shown.push(marked);
    }
    shown.sort_unstable();
    let widest = shown.iter().map(|at| step.outcomes[*at].words.width()).max().unwrap_or(0);
    let mut lines: Vec<Line<'static>> = shown
        .iter()
        .map(|at| {
            range_line(&step.outcomes[*at], widest, model.marked == Some(*at), (theme, width))
        })
        .collect();
    let hidden = step.outcomes.len() - shown.len();
    if hidden > 0 {
        let words = format!("{hidden} ranges more: ? lists them");
        lines.push(Line::from(format!("{}{words}", " ".repeat(MARGIN + 4))));
    }
    lines
}

fn range_line(
    outcome: &OutcomeLine,
    widest: usize,
    marked: bool,
    (theme, width): (&Theme, usize),
) -> Line<'static> {
    let words = widest.min(width / 2);
    let room = width.saturating_sub(MARGIN + 4 + words + 8);
    let mut spans = text::margin("", theme.label());
    spans.push(cap(&outcome.key.to_string(), theme));
    spans.push(Span::raw(if marked { "►" } else { " " }));
    let style = if marked { theme.marked() } else { theme.label() };
    spans.push(Span::styled(pad(&outcome.words, words), style));
    let share = words::share(outcome.probability);
    spans.push(Span::raw(format!(" {share:>5}  {}", fit(&outcome.meaning, room))));
    Line::from(spans)
}

fn number_line(model: &Model, bounds: &NumberEntry, theme: &Theme, width: usize) -> Line<'static> {
    let mut spans = text::margin("PRESS", theme.label());
    let quantity = words::quantity(bounds.unit);
    let Some(entry) = &model.entry else {
        spans.push(cap("0-9", theme));
        spans.push(Span::styled(format!(" the {quantity}, "), theme.label()));
        spans.push(Span::raw(words::range(bounds)));
        return Line::from(spans);
    };
    spans.push(Span::styled(format!(" {entry} "), theme.marked()));
    let read = model.test().map(|step| Asked::of_step(step).read(entry));
    let read = match read {
        Some(Ok(answer)) => format!(" is {}; Enter keeps it", words::answer(&answer, bounds.unit)),
        // Enter refuses it, and says what it can be.
        Some(Err(TypedError::Range { shown, .. })) => format!(" is {shown}: not possible here"),
        Some(Err(_)) | None => format!(" {quantity}: not a number yet"),
    };
    let room = width.saturating_sub(MARGIN + entry.width() + 2);
    spans.push(Span::styled(fit(&read, room), theme.label()));
    Line::from(spans)
}
