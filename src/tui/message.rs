//! What can happen to the screen, and what the screen wants done.

use crossterm::event::{KeyEvent, MouseEvent};

use crate::job::event::Event;
use crate::job::shown::past::Past;
use crate::job::standing::{Standing, TestStep};

use super::LeaveCause;
use super::bench::{Fact, OtherTest};

/// Everything that can happen; the one channel of the loop carries nothing else.
#[derive(Debug, Clone, PartialEq)]
pub enum Message {
    /// A key, with the milliseconds since the screen began (they tell a bounce from an answer).
    Key(KeyEvent, u64),
    /// The mouse, where it was asked for.
    Mouse(MouseEvent),
    /// Words pasted into the terminal; they are never keys.
    Pasted(String),
    /// The terminal has this many columns and rows now.
    Resized(u16, u16),
    /// The planner thread has something to say.
    Told {
        /// The generation of the question; answers to old questions are dropped.
        generation: u64,
        /// The answer.
        told: Told,
    },
    /// Ctrl-Z from outside: step back to the shell.
    Suspend,
    /// The screen may have been overwritten: paint all of it again.
    Repaint,
    /// A signal or the end of the input: go.
    Leave(LeaveCause),
    /// The planner thread is gone; nothing can be recorded any more.
    PlannerLost,
}

/// A question to the planner thread, or a deed for it.
#[derive(Debug, Clone, PartialEq)]
pub enum Ask {
    /// How does the job stand?
    Standing,
    /// Take an event that changes the belief, then tell how the job stands.
    Record(Event),
    /// Take words down; the step stays as it is.
    Note(String),
    /// Take the last event back, then tell how the job stands.
    Undo,
    /// Make the last event taken back count again, then tell how the job stands.
    Redo,
    /// What can be told beside the steps?
    Facts,
    /// How was the step with this number?
    Back(usize),
    /// Write the job card.
    Card,
    /// Which other tests are there?
    Others,
    /// Make this test the step.
    Choose(String),
    /// What speaks for and against this suspect?
    Explain(String),
}

/// An answer of the planner thread. All texts in it are already fit for a terminal.
#[derive(Debug, Clone, PartialEq)]
pub enum Told {
    /// An event was journalled.
    Recorded,
    /// The words of a note were journalled.
    Noted,
    /// Something could not be done or journalled, in words for the person.
    Failed(String),
    /// An event was taken back; false: there was none left.
    Undone(bool),
    /// An event counts again; false: there was none left.
    Redone(bool),
    /// What can be told beside the steps.
    Facts(Vec<Fact>),
    /// A step that was done.
    Past(Box<Past>),
    /// The job card was written to this file.
    Carded(String),
    /// How the job stands, and the step of the test the person chose, if that was the question.
    Stood(Box<Standing>, Option<Box<TestStep>>),
    /// The other tests, by falling worth.
    Others(Vec<OtherTest>),
    /// The test asked for is not there.
    NoSuchTest(String),
    /// What speaks for and against a suspect.
    Explained {
        /// The suspect's id.
        suspect: String,
        /// One line each.
        lines: Vec<String>,
    },
}

/// What the screen wants done; `update` itself does nothing.
#[derive(Debug, Clone, PartialEq)]
pub enum Effect {
    /// Hand this to the planner thread.
    Ask {
        /// Comes back with the answer.
        generation: u64,
        /// The question.
        ask: Ask,
    },
    /// Give the terminal back and stop until the shell continues us.
    Suspend,
    /// Paint every cell again.
    Repaint,
    /// End the loop.
    Leave,
}
