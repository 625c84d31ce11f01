//! The picture: where the panes stand at each size, and what is in them.

mod answers;
mod aside;
mod circuit;
mod found;
mod frame;
mod room;
mod sheets;
mod step;
mod suspects;
pub mod text;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::ScreenOptions;
use super::model::{Model, Pane, Sheet, StepRef};
use super::theme::Theme;
use super::window;

use room::Density;

/// From this width on, the circuit stands beside the step.
const BESIDE: u16 = 80;
/// Most rows a notice may take.
const NOTICE: u16 = 4;

/// Where everything stands; a pane without room has none.
#[derive(Debug, Default)]
struct Places {
    head: Rect,
    tabs: Option<Rect>,
    /// The name of a pane that stands where the step stood.
    title: Option<Rect>,
    step: Option<Rect>,
    suspects: Option<Rect>,
    found: Option<Rect>,
    circuit: Option<Rect>,
    /// The line between the columns.
    rule: Option<Rect>,
    /// All between head and notice.
    body: Rect,
    /// What a sheet covers.
    sheet: Rect,
    notice: Rect,
    foot: Rect,
}

/// Paints the whole screen into `area`.
pub fn draw(model: &Model, theme: &Theme, area: Rect, buffer: &mut Buffer) {
    let area = area.intersection(buffer.area);
    if window::refused(area, buffer) {
        theme.finish(buffer);
        return;
    }
    let places = places(model, theme, area);
    frame::head(model, theme, places.head, buffer);
    if matches!(model.sheet, Sheet::Whole { .. }) {
        circuit::render_whole(model, theme, places.body, buffer);
    } else {
        panes(model, theme, &places, buffer);
    }
    let notice = frame::notice_lines(model, theme, usize::from(area.width));
    text::paint(&notice, 0, places.notice, buffer);
    frame::foot(model, theme, places.foot, buffer);
    theme.finish(buffer);
}

/// Paints the panes, and the sheet over them.
fn panes(model: &Model, theme: &Theme, places: &Places, buffer: &mut Buffer) {
    if let Some(rule) = places.rule {
        for row in rule.y..rule.bottom() {
            buffer.set_string(rule.x, row, "│", Style::new());
        }
    }
    if let Some(tabs) = places.tabs {
        frame::tabs(model, theme, tabs, buffer);
    }
    if let Some(title) = places.title {
        frame::title(model, theme, title, buffer);
    }
    let covered = sheets::render(model, theme, places.sheet, buffer);
    for pane in Pane::ALL {
        let Some(place) = places.of(pane) else { continue };
        if covered && places.sheet.intersects(place) {
            continue;
        }
        match pane {
            Pane::Step => step::render(model, theme, place, buffer),
            Pane::Suspects => suspects::render(model, theme, place, buffer),
            Pane::Circuit => circuit::render(model, theme, place, buffer),
            Pane::Found => found::render(model, theme, place, buffer),
        }
    }
}

/// The first line shown of a pane and how far it can be scrolled, for the size the model knows.
pub fn scrolling(model: &Model, pane: Pane) -> (u16, u16) {
    let theme = &Theme::new(ScreenOptions::default());
    let places = places(model, theme, window(model));
    let Some(place) = places.of(pane) else {
        return (0, 0);
    };
    let width = usize::from(place.width);
    let (reach, resting) = match pane {
        Pane::Step => {
            let parts = step::fitting(model, theme, width, place.height);
            (text::reach(parts.doing.len(), parts.doing_rows(place.height)), 0)
        }
        Pane::Suspects => {
            (text::reach(suspects::lines(model, theme, width).len(), place.height), 0)
        }
        Pane::Found => {
            let reach = text::reach(found::lines(model, theme, width).len(), place.height);
            (reach, reach)
        }
        Pane::Circuit => {
            let drawing = circuit::drawing(model, theme, place);
            (text::reach(drawing.height(), place.height), drawing.follow(place.height))
        }
    };
    (model.scroll[pane.index()].unwrap_or(resting).min(reach), reach)
}

/// True when the window is too small to show anything but the one sentence.
pub fn too_small(model: &Model) -> bool {
    window::is_too_small(model.size)
}

/// The first line shown of what is looked at beside the step, and how far it can be scrolled.
pub fn sheet_scrolling(model: &Model) -> (u16, u16) {
    let theme = &Theme::new(ScreenOptions::default());
    let places = places(model, theme, window(model));
    match &model.sheet {
        Sheet::Back { top, .. } => {
            let lines = aside::back(model, theme, usize::from(places.sheet.width));
            let reach = text::reach(lines.len(), places.sheet.height);
            ((*top).min(reach), reach)
        }
        Sheet::Whole { detail, top } => {
            let body = places.body;
            let drawing = circuit::whole(model, theme, body, *detail);
            let reach = text::reach(drawing.height(), body.height);
            (top.unwrap_or_else(|| drawing.follow(body.height)).min(reach), reach)
        }
        _ => (0, 0),
    }
}

/// The pane at this cell.
pub fn pane_at(model: &Model, column: u16, row: u16) -> Option<Pane> {
    let theme = &Theme::new(ScreenOptions::default());
    let places = places(model, theme, window(model));
    let here = ratatui::layout::Position { x: column, y: row };
    Pane::ALL.into_iter().find(|pane| places.of(*pane).is_some_and(|area| area.contains(here)))
}

/// True when the step is on the screen, and what its keys would mean with it.
pub fn shows_step(model: &Model) -> bool {
    let theme = &Theme::new(ScreenOptions::default());
    !too_small(model) && places(model, theme, window(model)).step.is_some()
}

/// How far the help in front can be scrolled.
pub fn help_reach(model: &Model) -> u16 {
    let Sheet::Help { of, .. } = &model.sheet else {
        return 0;
    };
    let theme = &Theme::new(ScreenOptions::default());
    let sheet = places(model, theme, window(model)).sheet;
    text::reach(sheets::help(model, *of, theme, usize::from(sheet.width)).len(), sheet.height)
}

fn window(model: &Model) -> Rect {
    Rect::new(0, 0, model.size.0, model.size.1)
}

impl Places {
    fn of(&self, pane: Pane) -> Option<Rect> {
        match pane {
            Pane::Step => self.step,
            Pane::Suspects => self.suspects,
            Pane::Circuit => self.circuit,
            Pane::Found => self.found,
        }
    }
}

/// Shares the window out.
fn places(model: &Model, theme: &Theme, area: Rect) -> Places {
    let notice = frame::notice_lines(model, theme, usize::from(area.width)).len();
    // One row is kept free for it, so that the panes do not jump when something is said.
    let notice = u16::try_from(notice).unwrap_or(NOTICE).clamp(1, NOTICE);
    let head = Rect { height: 2.min(area.height), ..area };
    let foot = Rect { y: area.bottom().saturating_sub(1), height: 1, ..area };
    let notice = Rect { y: foot.y.saturating_sub(notice), height: notice, ..area };
    let body = Rect { y: head.bottom(), height: notice.y.saturating_sub(head.bottom()), ..area };
    let frame = Places { head, body, notice, foot, ..Places::default() };
    if area.width < BESIDE {
        one_column(model, frame, body)
    } else {
        two_columns(model, theme, frame, body)
    }
}

fn one_column(model: &Model, mut places: Places, body: Rect) -> Places {
    places.tabs = Some(Rect { height: 1.min(body.height), ..body });
    let pane = Rect { y: body.y + 1, height: body.height.saturating_sub(1), ..body };
    places.sheet = pane;
    match model.pane {
        Pane::Step => places.step = Some(pane),
        Pane::Suspects => places.suspects = Some(pane),
        Pane::Circuit => places.circuit = Some(pane),
        Pane::Found => places.found = Some(pane),
    }
    places
}

fn two_columns(model: &Model, theme: &Theme, mut places: Places, body: Rect) -> Places {
    let right = if body.width >= 116 {
        body.width * 43 / 100
    } else {
        circuit::COLUMN + (body.width - BESIDE) / 2
    };
    let left = body.width - right - 3;
    let column = Rect { width: left, ..body };
    places.sheet = column;
    places.rule = Some(Rect { x: body.x + left + 1, width: 1, ..body });
    places.circuit = Some(Rect { x: body.x + left + 3, width: right, ..body });
    // In front, suspects and findings take the step's place: there they have room for all words.
    let below = Rect { y: column.y + 1, height: column.height.saturating_sub(1), ..column };
    match model.pane {
        Pane::Suspects => places.suspects = Some(below),
        Pane::Found => places.found = Some(below),
        Pane::Step | Pane::Circuit => {
            stack(model, theme, &mut places, column);
            return places;
        }
    }
    places.title = Some(Rect { height: 1.min(column.height), ..column });
    places
}

/// Stacks step, suspects and found in the left column.
///
/// The step takes what it needs, but leaves a line for the likeliest suspect and one for the last
/// thing found where the window is not too low; it grows airy only when nothing else has to shrink.
fn stack(model: &Model, theme: &Theme, places: &mut Places, column: Rect) {
    let width = usize::from(column.width);
    let rows = |count: usize| u16::try_from(count).unwrap_or(u16::MAX);
    let step_rows = |density| rows(step::parts(model, theme, width, density).height());
    // The verdict names what was mended: a line of suspicion below it would only take room from what is left
    // to be done.
    let over = matches!(model.step(), Some(StepRef::Cured(_)));
    let suspects = if over { 0 } else { rows(suspects::lines(model, theme, width).len()) };
    let found = rows(found::lines(model, theme, width).len());
    let kept = if column.height < 14 { 0 } else { 1 + u16::from(!over) };
    let normal = step_rows(Density::Normal).min(column.height - kept);
    let airy = step_rows(Density::Airy);
    let roomy = airy + 2 + suspects.min(8) + found.min(4) <= column.height;
    let step = if roomy { airy } else { normal };
    let rest = column.height - step;
    let gap = u16::from(rest > kept + 3);
    let found = found.min((rest / 3).max(1)).min(rest);
    let suspects = suspects.min((rest - found).saturating_sub(2 * gap));
    places.step = Some(Rect { height: step, ..column });
    let suspects_top = column.y + step + gap;
    places.suspects = Some(Rect { y: suspects_top, height: suspects, ..column });
    let found_top = (suspects_top + suspects + gap).min(column.bottom());
    let found = found.min(column.bottom() - found_top);
    places.found = Some(Rect { y: found_top, height: found, ..column });
}
