//! The screen of `find`, and the same job line by line in [`plain`].
//!
//! The way of a key press: an input thread turns it into a [`message::Message`]; [`update::update`]
//! decides what it means and changes the [`model::Model`]; the effects it returns are done by the
//! terminal loop, most of them by handing an [`message::Ask`] to the planner thread, which owns the
//! [`bench::Bench`]; its answer comes back as a message too. Panes under `view` are functions of the
//! model: `render(&Model, &Theme, Rect, &mut Buffer)`.
//!
//! What is asked before the first step is a loop of its own, [`intake`], on the same terminal.
//!
//! Nothing here knows physics: all numbers and words come from [`crate::job::standing`].

pub mod bench;
pub mod drill;
pub mod intake;
pub mod keys;
pub mod message;
pub mod model;
pub mod page;
pub mod plain;
pub mod planner;
mod terminal;
pub mod theme;
pub mod update;
pub mod view;
pub mod walk;
mod window;
pub mod words;

pub use terminal::{Start, run};

/// Why the screen could not go on.
#[derive(Debug, thiserror::Error)]
pub enum TuiError {
    /// Standard output is no terminal.
    #[error("there is no terminal to draw on; `--plain` works without one")]
    NoTerminal,
    /// The terminal refused something.
    #[error("the terminal does not answer as it should: {0}")]
    Terminal(#[source] std::io::Error),
    /// The system gave no thread.
    #[error("no thread to be had: {0}")]
    Thread(#[source] std::io::Error),
    /// The job behind the screen broke; what was journalled before is kept.
    #[error("the job broke while it was being reckoned; what was entered before is kept")]
    PlannerLost,
    /// Standard input or output of the line-by-line form failed.
    #[error("reading or writing failed: {0}")]
    Lines(#[source] std::io::Error),
}

/// How the screen shall look.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ScreenOptions {
    /// Colours may be used; without, there is reverse video and nothing else.
    pub color: bool,
    /// Only characters of ASCII are drawn.
    pub ascii: bool,
    /// Who has to read it.
    pub look: Look,
    /// The mouse is listened to; then it no longer marks and copies as usual.
    pub mouse: bool,
}

/// Looks of the screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Look {
    /// The terminal's own colours.
    #[default]
    Usual,
    /// Black on white and nothing between, whatever the terminal has: for bright sun.
    Sun,
}

/// How a person left a job; the job itself is kept in every case.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Leave {
    /// What ended it.
    pub cause: LeaveCause,
    /// The repair was proven when the person left.
    pub cured: bool,
}

/// What ended the screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LeaveCause {
    /// The person wanted to.
    Asked,
    /// A signal, by its number: hang-up or termination.
    Signal(i32),
    /// The input came to its end.
    InputEnded,
}
