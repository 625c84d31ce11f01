//! The screen of `find`, and the same job line by line in [`plain`].
//!
//! The way of a key press: an input thread turns it into a [`message::Message`]; [`update::update`]
//! decides what it means and changes the [`model::Model`]; the effects it returns are done by the
//! terminal loop, most of them by handing an [`message::Ask`] to the planner thread, which owns the
//! [`bench::Bench`]; its answer comes back as a message too. Panes under `view` are functions of the
//! model: `render(&Model, &Theme, Rect, &mut Buffer)`.
//!
//! Nothing here knows physics: all numbers and words come from [`crate::job::standing`].

pub mod bench;
pub mod keys;
pub mod message;
pub mod model;
pub mod number;
pub mod planner;
pub mod theme;
pub mod update;
pub mod view;
pub mod words;

/// How the screen shall look.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ScreenOptions {
    /// Colours may be used; without, there is reverse video and nothing else.
    pub color: bool,
    /// Only characters of ASCII are drawn.
    pub ascii: bool,
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
