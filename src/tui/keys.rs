//! The one table of keys: what is pressed, where it counts, what it does, and its words.
//!
//! `update` looks keys up here, the footer and the help are printed from here; there is no other
//! place where a key gets its meaning, but the outcomes of a step and typed numbers, which a step
//! brings with it.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

/// What is in front of the person, as far as keys care.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scene {
    /// No step is known yet.
    Waiting,
    /// A reading is asked for.
    Test,
    /// A repair is proposed.
    Fix,
    /// The job is over, proven or stuck.
    Ended,
    /// A number is being typed.
    Number,
    /// Why a step is passed over.
    Skip,
    /// The list of other tests.
    Others,
    /// Why this step, and what speaks for and against a suspect.
    Why,
    /// What can be told of the machine and the bench.
    Machine,
    /// A step that was done.
    Back,
    /// The circuit alone.
    Whole,
    /// A note is being typed.
    Note,
    /// The keys of a scene.
    Help,
    /// Asked whether to leave.
    Leaving,
}

/// What a key of the table does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Action {
    /// Show the keys.
    Help,
    /// Take the last event back.
    Undo,
    /// Pass this step over.
    Skip,
    /// List the other tests.
    Others,
    /// Make what was taken back count again.
    Redo,
    /// Look back at a step.
    Back,
    /// Tell of places, testers and parts.
    Machine,
    /// Show the circuit alone.
    Whole,
    /// More of the circuit.
    Closer,
    /// Less of the circuit.
    Farther,
    /// Write the job card.
    Card,
    /// Say why.
    Why,
    /// Write a note.
    Note,
    /// Ask to leave.
    Quit,
    /// Leave now.
    QuitNow,
    /// Back to the shell for a while.
    Suspend,
    /// Paint all again.
    Repaint,
    /// Front the next pane.
    NextPane,
    /// Front the pane before.
    PreviousPane,
    /// One up: a mark or a line.
    Up,
    /// One down.
    Down,
    /// Scroll one line back.
    ScrollUp,
    /// Scroll one line on.
    ScrollDown,
    /// Scroll most of a page back.
    PageUp,
    /// Scroll most of a page on.
    PageDown,
    /// Back to the top.
    Top,
    /// Take what is marked or typed.
    Accept,
    /// Take the n-th of what is listed, from 0.
    Pick(usize),
    /// Close, drop, go back.
    Close,
    /// The repair cured it.
    Cured,
    /// The repair did not cure it.
    NotCured,
}

/// A key as the table names it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Press {
    /// A character, large or small.
    Char(char),
    /// A character with Ctrl.
    Ctrl(char),
    /// Any other key.
    Code(KeyCode),
}

impl Press {
    /// True when this key was pressed.
    pub fn is(self, key: KeyEvent) -> bool {
        let chorded = key.modifiers.intersects(KeyModifiers::CONTROL | KeyModifiers::ALT);
        match (self, key.code) {
            (Self::Char(wanted), KeyCode::Char(c)) => !chorded && lower(c) == wanted,
            (Self::Ctrl(wanted), KeyCode::Char(c)) => {
                key.modifiers.contains(KeyModifiers::CONTROL) && lower(c) == wanted
            }
            (Self::Code(wanted), code) => wanted == code,
            _ => false,
        }
    }
}

/// A small letter for a large one: caps lock is no reason to stand still.
pub fn lower(c: char) -> char {
    c.to_lowercase().next().unwrap_or(c)
}

/// One row of the table.
#[derive(Debug)]
pub struct Row {
    /// Where it counts.
    pub scenes: &'static [Scene],
    /// The key.
    pub press: Press,
    /// What it does.
    pub action: Action,
    /// The key's name for footer and help; empty for a second key of the row above.
    pub name: &'static str,
    /// What it does, in the footer's few words; empty when it stands in the help only.
    pub short: &'static str,
    /// What it does, for the help.
    pub long: &'static str,
}

const fn row(
    scenes: &'static [Scene],
    press: Press,
    action: Action,
    words: [&'static str; 3],
) -> Row {
    Row { scenes, press, action, name: words[0], short: words[1], long: words[2] }
}

const ALL: &[Scene] = &[
    Scene::Waiting,
    Scene::Test,
    Scene::Fix,
    Scene::Ended,
    Scene::Number,
    Scene::Skip,
    Scene::Others,
    Scene::Why,
    Scene::Machine,
    Scene::Back,
    Scene::Whole,
    Scene::Note,
    Scene::Help,
    Scene::Leaving,
];
const BASE: &[Scene] = &[Scene::Waiting, Scene::Test, Scene::Fix, Scene::Ended];
const STEPS: &[Scene] = &[Scene::Test, Scene::Fix];
const TEST: &[Scene] = &[Scene::Test];
const FIX: &[Scene] = &[Scene::Fix];
const ENDED: &[Scene] = &[Scene::Ended];
const UNENDED: &[Scene] = &[Scene::Waiting, Scene::Test, Scene::Fix];
const JOB: &[Scene] = &[Scene::Test, Scene::Fix, Scene::Ended];
const NUMBER: &[Scene] = &[Scene::Number];
const SKIP: &[Scene] = &[Scene::Skip];
const LISTS: &[Scene] = &[Scene::Skip, Scene::Others, Scene::Why, Scene::Machine];
const OTHERS: &[Scene] = &[Scene::Others];
const WHY: &[Scene] = &[Scene::Why];
const NOTE: &[Scene] = &[Scene::Note];
const HELP: &[Scene] = &[Scene::Help];
const LEAVING: &[Scene] = &[Scene::Leaving];
const CLOSABLE: &[Scene] =
    &[Scene::Skip, Scene::Why, Scene::Help, Scene::Machine, Scene::Back, Scene::Whole];
const MACHINE: &[Scene] = &[Scene::Machine];
const BACK: &[Scene] = &[Scene::Back];
const WHOLE: &[Scene] = &[Scene::Whole];
const SCROLLED: &[Scene] = &[Scene::Back, Scene::Whole];
/// Scenes of a step but the test, whose outcomes may have these keys.
const READ: &[Scene] = &[Scene::Waiting, Scene::Fix, Scene::Ended];

use Action as A;
use Press::{Char, Code, Ctrl};

/// The table, in the order of footer and help.
pub const TABLE: &[Row] = &[
    row(FIX, Char('c'), A::Cured, ["c", "", "cured: the check passed after this repair"]),
    row(FIX, Char('x'), A::NotCured, ["x", "", "not cured: the check failed"]),
    row(TEST, Code(KeyCode::Down), A::Down, ["arrows", "", "mark what you saw, Enter takes it"]),
    row(TEST, Code(KeyCode::Up), A::Up, ["", "", ""]),
    row(TEST, Code(KeyCode::Enter), A::Accept, ["", "", ""]),
    row(
        JOB,
        Code(KeyCode::Esc),
        A::Close,
        ["Esc", "", "drop a mark or an early key; back to the step"],
    ),
    row(STEPS, Char('s'), A::Skip, ["s", "skip", "skip this step, and say why"]),
    row(JOB, Char('u'), A::Undo, ["u", "undo", "undo: take the last entry back"]),
    row(JOB, Char('r'), A::Redo, ["r", "", "redo: what was taken back counts again"]),
    row(JOB, Char('t'), A::Others, ["t", "tests", "tests: do another one than this"]),
    row(JOB, Char('w'), A::Why, ["w", "why", "why this; for and against a suspect"]),
    row(JOB, Char('v'), A::Whole, ["v", "circuit", "view the circuit on the whole window"]),
    row(JOB, Char('h'), A::Back, ["h", "back", "history: look back at the steps that were done"]),
    row(
        JOB,
        Char('m'),
        A::Machine,
        ["m", "machine", "machine: places out of reach, testers missing, parts replaced lately"],
    ),
    row(JOB, Char('n'), A::Note, ["n", "note", "note: write words into the job"]),
    row(ENDED, Char('c'), A::Card, ["c", "", "card: write the job card"]),
    row(BASE, Code(KeyCode::Tab), A::NextPane, ["Tab", "pane", "front the next pane"]),
    row(BASE, Code(KeyCode::BackTab), A::PreviousPane, ["", "", ""]),
    row(BASE, Char('j'), A::ScrollDown, ["j k", "", "scroll the pane in front"]),
    row(BASE, Char('k'), A::ScrollUp, ["", "", ""]),
    row(&[Scene::Fix, Scene::Ended], Code(KeyCode::Down), A::ScrollDown, ["", "", ""]),
    row(&[Scene::Fix, Scene::Ended], Code(KeyCode::Up), A::ScrollUp, ["", "", ""]),
    row(BASE, Code(KeyCode::PageDown), A::PageDown, ["PgDn PgUp", "", "scroll by a page"]),
    row(BASE, Code(KeyCode::PageUp), A::PageUp, ["", "", ""]),
    row(BASE, Code(KeyCode::Home), A::Top, ["Home", "", "go to the top of the pane"]),
    row(READ, Char('g'), A::Top, ["", "", ""]),
    row(NUMBER, Code(KeyCode::Enter), A::Accept, ["Enter", "keep it", "keep the number"]),
    row(NUMBER, Code(KeyCode::Esc), A::Close, ["Esc", "drop it", "drop the number"]),
    row(SKIP, Char('1'), A::Pick(0), ["1 2 3", "pick", "pick a reason"]),
    row(SKIP, Char('2'), A::Pick(1), ["", "", ""]),
    row(SKIP, Char('3'), A::Pick(2), ["", "", ""]),
    row(LISTS, Code(KeyCode::Down), A::Down, ["arrows", "mark", "move the mark"]),
    row(LISTS, Code(KeyCode::Up), A::Up, ["", "", ""]),
    row(&[Scene::Skip, Scene::Why], Char('j'), A::Down, ["", "", ""]),
    row(&[Scene::Skip, Scene::Why], Char('k'), A::Up, ["", "", ""]),
    row(LISTS, Code(KeyCode::PageDown), A::PageDown, ["PgDn PgUp", "", "move the mark by a page"]),
    row(LISTS, Code(KeyCode::PageUp), A::PageUp, ["", "", ""]),
    row(SKIP, Code(KeyCode::Enter), A::Accept, ["Enter", "take it", "take the marked reason"]),
    row(OTHERS, Code(KeyCode::Enter), A::Accept, ["Enter", "do this one", "do the marked test"]),
    row(OTHERS, Code(KeyCode::Esc), A::Close, ["Esc", "back", "back to the step"]),
    row(MACHINE, Code(KeyCode::Enter), A::Accept, ["Enter", "change", "change what is marked"]),
    row(BACK, Code(KeyCode::Left), A::Up, ["< >", "step", "the step before, the step after"]),
    row(BACK, Code(KeyCode::Right), A::Down, ["", "", ""]),
    row(BACK, Char('h'), A::Up, ["h", "", "the step before"]),
    row(WHOLE, Char('+'), A::Closer, ["+ -", "more, less", "more or less of the circuit"]),
    row(WHOLE, Char('-'), A::Farther, ["", "", ""]),
    row(WHOLE, Char('v'), A::Close, ["", "", ""]),
    row(SCROLLED, Code(KeyCode::Down), A::ScrollDown, ["arrows", "scroll", "scroll"]),
    row(SCROLLED, Code(KeyCode::Up), A::ScrollUp, ["", "", ""]),
    row(SCROLLED, Char('j'), A::ScrollDown, ["", "", ""]),
    row(SCROLLED, Char('k'), A::ScrollUp, ["", "", ""]),
    row(SCROLLED, Code(KeyCode::PageDown), A::PageDown, ["PgDn PgUp", "", "scroll by a page"]),
    row(SCROLLED, Code(KeyCode::PageUp), A::PageUp, ["", "", ""]),
    row(SCROLLED, Code(KeyCode::Home), A::Top, ["Home", "", "go to the top"]),
    row(SCROLLED, Char('?'), A::Help, ["", "", ""]),
    row(SCROLLED, Char('q'), A::Close, ["", "", ""]),
    row(NOTE, Code(KeyCode::Enter), A::Accept, ["Enter", "keep it", "keep the note"]),
    row(NOTE, Code(KeyCode::Esc), A::Close, ["Esc", "drop it", "drop the note"]),
    row(CLOSABLE, Code(KeyCode::Esc), A::Close, ["Esc", "back", "back to the step"]),
    row(WHY, Char('w'), A::Close, ["", "", ""]),
    row(SKIP, Char('s'), A::Close, ["", "", ""]),
    row(HELP, Char('?'), A::Close, ["", "", ""]),
    row(HELP, Char('q'), A::Close, ["", "", ""]),
    row(HELP, Code(KeyCode::Enter), A::Close, ["", "", ""]),
    row(HELP, Char('j'), A::ScrollDown, ["j k", "scroll", "scroll"]),
    row(HELP, Char('k'), A::ScrollUp, ["", "", ""]),
    row(HELP, Code(KeyCode::Down), A::ScrollDown, ["", "", ""]),
    row(HELP, Code(KeyCode::Up), A::ScrollUp, ["", "", ""]),
    row(LEAVING, Char('q'), A::QuitNow, ["q", "leave", "leave"]),
    row(LEAVING, Code(KeyCode::Enter), A::QuitNow, ["", "", ""]),
    row(LEAVING, Code(KeyCode::Esc), A::Close, ["Esc", "stay", "stay"]),
    row(BASE, Char('?'), A::Help, ["?", "keys", "this list"]),
    row(&[Scene::Skip, Scene::Why], Char('?'), A::Help, ["", "", ""]),
    row(ALL, Code(KeyCode::F(1)), A::Help, ["", "", ""]),
    row(UNENDED, Char('q'), A::Quit, ["q", "leave", "leave"]),
    row(ENDED, Char('q'), A::QuitNow, ["q", "leave", "leave"]),
    row(&[Scene::Skip, Scene::Why], Char('q'), A::Close, ["", "", ""]),
    row(ALL, Ctrl('c'), A::QuitNow, ["Ctrl-C", "", "leave at once"]),
    row(ALL, Ctrl('z'), A::Suspend, ["Ctrl-Z", "", "to the shell for a while, `fg` comes back"]),
    row(ALL, Ctrl('l'), A::Repaint, ["Ctrl-L", "", "paint the screen again"]),
];

/// What a key does in a scene, if the table knows it there.
pub fn find(scene: Scene, key: KeyEvent) -> Option<Action> {
    TABLE.iter().find(|row| row.scenes.contains(&scene) && row.press.is(key)).map(|row| row.action)
}

/// The rows of a scene that have words, in the table's order.
pub fn rows(scene: Scene) -> impl Iterator<Item = &'static Row> {
    TABLE.iter().filter(move |row| row.scenes.contains(&scene) && !row.name.is_empty())
}

/// A key's name for a message: `z`, `Ctrl-X`, `F5`.
pub fn name(key: KeyEvent) -> String {
    let base = match key.code {
        KeyCode::Char(' ') => "Space".to_owned(),
        KeyCode::Char(c) if !c.is_control() => c.to_string(),
        KeyCode::F(n) => format!("F{n}"),
        other => format!("{other:?}"),
    };
    if key.modifiers.contains(KeyModifiers::CONTROL) {
        format!("Ctrl-{}", base.to_uppercase())
    } else if key.modifiers.contains(KeyModifiers::ALT) {
        format!("Alt-{base}")
    } else {
        base
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::standing::RESERVED_KEYS;

    #[test]
    fn no_key_means_two_things_in_one_scene() {
        for scene in ALL {
            let rows: Vec<&Row> = TABLE.iter().filter(|row| row.scenes.contains(scene)).collect();
            for (position, row) in rows.iter().enumerate() {
                let twin = rows[position + 1..].iter().find(|other| other.press == row.press);
                assert!(twin.is_none(), "{:?} twice in {scene:?}", row.press);
            }
        }
    }

    #[test]
    fn letters_used_beside_outcomes_are_reserved() {
        for row in TABLE.iter().filter(|row| row.scenes.contains(&Scene::Test)) {
            if let Press::Char(c) = row.press {
                assert!(RESERVED_KEYS.contains(c), "`{c}` must be among the reserved keys");
            }
        }
    }

    #[test]
    fn each_scene_says_how_to_get_out() {
        for scene in ALL {
            let out = |row: &&'static Row| {
                matches!(row.action, Action::Quit | Action::QuitNow | Action::Close)
            };
            assert!(rows(*scene).any(|row| out(&row)), "{scene:?}");
        }
    }
}
