//! What a message means. Everything is decided here and nothing is done: the effects say what is
//! wanted, and the terminal loop does it.

mod answers;
mod aside;
mod pointer;
mod reply;
mod sheets;

pub use answers::odd_words;
pub use sheets::{REASONS, reasons};

use crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

use super::keys::{self, Action, Scene};
use super::message::{Ask, Effect, Message};
use super::model::{Model, Pane, Sheet};
use super::{Leave, LeaveCause, view};

/// A press of the same answer key within this time of the last one is taken for a bounce or a key
/// held too long, and asked about (from memory: keyboards begin to repeat after 250 to 660 ms).
const BOUNCE_MILLIS: u64 = 700;

/// Changes the model by a message and returns what is to be done.
pub fn update(model: &mut Model, message: Message) -> Vec<Effect> {
    match message {
        Message::Key(key, millis) => match key.kind {
            KeyEventKind::Press | KeyEventKind::Repeat => press(model, key, millis),
            KeyEventKind::Release => Vec::new(),
        },
        Message::Pasted(text) => {
            sheets::pasted(model, &text);
            Vec::new()
        }
        Message::Mouse(event) => {
            pointer::moved(model, event);
            Vec::new()
        }
        Message::Resized(columns, rows) => {
            model.size = (columns, rows);
            // A window that was narrower for a moment has lost what stood there, whatever its size is now.
            vec![Effect::Repaint]
        }
        Message::Told { generation, told } => reply::told(model, generation, told),
        Message::Suspend => vec![Effect::Suspend],
        Message::Repaint => vec![Effect::Repaint],
        Message::Leave(cause) => leave(model, cause),
        // The loop ends with an error of its own; nothing is left to decide.
        Message::PlannerLost => vec![Effect::Leave],
    }
}

/// The first question: how does the job stand?
pub fn begin(model: &mut Model) -> Vec<Effect> {
    ask_for_step(model, Ask::Standing)
}

fn press(model: &mut Model, key: KeyEvent, millis: u64) -> Vec<Effect> {
    let scene = model.scene();
    let action = keys::find(scene, key);
    if view::too_small(model) {
        return press_unseen(model, action);
    }
    if !matches!(action, Some(Action::Suspend | Action::Repaint)) {
        model.notice = None;
    }
    match (action, scene) {
        (Some(action), _) => act(model, scene, action),
        (None, Scene::Note | Scene::Others | Scene::Machine) => sheets::typed(model, key),
        (None, Scene::Number) => answers::typed_number(model, key),
        (None, Scene::Test) => answers::key(model, key, millis),
        (None, Scene::Waiting) => {
            answers::hold(model, key);
            Vec::new()
        }
        (None, Scene::Leaving) => {
            model.sheet = Sheet::None;
            model.tell("Staying.");
            Vec::new()
        }
        (None, _) => wrong_key(model, scene, key),
    }
}

/// A key while the window shows one sentence only: nothing is entered blindly.
fn press_unseen(model: &mut Model, action: Option<Action>) -> Vec<Effect> {
    match action {
        Some(Action::Quit | Action::QuitNow) => leave(model, LeaveCause::Asked),
        Some(Action::Suspend) => vec![Effect::Suspend],
        Some(Action::Repaint) => vec![Effect::Repaint],
        _ => Vec::new(),
    }
}

fn act(model: &mut Model, scene: Scene, action: Action) -> Vec<Effect> {
    match action {
        Action::QuitNow => return leave(model, LeaveCause::Asked),
        Action::Suspend => return vec![Effect::Suspend],
        Action::Repaint => return vec![Effect::Repaint],
        Action::Help => {
            let under = std::mem::replace(&mut model.sheet, Sheet::None);
            model.sheet = Sheet::Help { of: scene, top: 0, under: Box::new(under) };
            return Vec::new();
        }
        _ => {}
    }
    match scene {
        Scene::Number => answers::number_action(model, action),
        Scene::Back | Scene::Whole => aside::act(model, action),
        Scene::Skip
        | Scene::Others
        | Scene::Why
        | Scene::Machine
        | Scene::Note
        | Scene::Help
        | Scene::Leaving => sheets::act(model, action),
        Scene::Waiting | Scene::Test | Scene::Fix | Scene::Ended => base_act(model, action),
    }
}

/// Actions of the step itself, with no sheet over it.
fn base_act(model: &mut Model, action: Action) -> Vec<Effect> {
    match action {
        Action::Undo => {
            model.chosen = None;
            return ask_for_step(model, Ask::Undo);
        }
        Action::Skip if hold_action(model, 's') => {}
        Action::Cured if hold_action(model, 'c') => {}
        Action::NotCured if hold_action(model, 'x') => {}
        Action::Accept if model.working => {}
        Action::Redo => {
            model.chosen = None;
            return ask_for_step(model, Ask::Redo);
        }
        Action::Skip
        | Action::Others
        | Action::Why
        | Action::Machine
        | Action::Note
        | Action::Quit => return sheets::open(model, action),
        Action::Back | Action::Whole => return aside::open(model, action),
        Action::Card => {
            model.tell("Writing the job card.");
            return vec![Effect::Ask { generation: model.generation, ask: Ask::Card }];
        }
        Action::Cured => return answers::tried(model, true),
        Action::NotCured => return answers::tried(model, false),
        Action::Accept => return answers::take_marked(model),
        Action::Close => answers::drop_mark(model),
        Action::Up => answers::mark(model, -1),
        Action::Down => answers::mark(model, 1),
        Action::NextPane => front(model, 1),
        Action::PreviousPane => front(model, Pane::ALL.len() - 1),
        Action::ScrollUp => scroll(model, -1),
        Action::ScrollDown => scroll(model, 1),
        Action::PageUp => scroll(model, -page(model)),
        Action::PageDown => scroll(model, page(model)),
        Action::Top => scroll(model, i32::MIN / 2),
        _ => {}
    }
    Vec::new()
}

/// Holds a key for the step that is being worked out; false when nothing is being worked out.
fn hold_action(model: &mut Model, key: char) -> bool {
    if model.working {
        answers::hold(model, KeyEvent::new(KeyCode::Char(key), KeyModifiers::NONE));
    }
    model.working
}

fn front(model: &mut Model, by: usize) {
    let next = (model.pane.index() + by) % Pane::ALL.len();
    model.pane = Pane::ALL[next];
}

fn page(model: &Model) -> i32 {
    i32::from(model.size.1.saturating_sub(8).max(1))
}

fn scroll(model: &mut Model, by: i32) {
    scroll_pane(model, model.pane, by);
}

fn scroll_pane(model: &mut Model, pane: Pane, by: i32) {
    let (top, reach) = view::scrolling(model, pane);
    let next = (i32::from(top) + by).clamp(0, i32::from(reach));
    model.scroll[pane.index()] = Some(u16::try_from(next).unwrap_or(0));
}

fn wrong_key(model: &mut Model, scene: Scene, key: KeyEvent) -> Vec<Effect> {
    let here: Vec<String> = keys::rows(scene)
        .filter(|row| !row.short.is_empty())
        .map(|row| format!("{} {}", row.name, row.short))
        .collect();
    model.ask(format!("`{}` does nothing here. Keys: {}", keys::name(key), here.join(", ")));
    Vec::new()
}

fn leave(model: &mut Model, cause: LeaveCause) -> Vec<Effect> {
    model.leave = Some(Leave { cause, cured: model.cured() });
    vec![Effect::Leave]
}

/// A question whose answer is a new step: until it comes, keys for a step are held.
fn ask_for_step(model: &mut Model, ask: Ask) -> Vec<Effect> {
    model.working = true;
    model.marked = None;
    model.entry = None;
    model.generation += 1;
    vec![Effect::Ask { generation: model.generation, ask }]
}
