//! The job as the screen needs it.

use crate::job::event::Event;
use crate::job::standing::{Standing, TestStep};

/// The job behind the screen: the real one, or one with canned answers in tests.
///
/// All calls come from one thread, the planner thread, in the order of the person's deeds; a call may
/// take up to a second without the screen standing still.
pub trait Bench: Send {
    /// What there is to show after the last event.
    fn standing(&mut self) -> Standing;

    /// Takes an event, journalled before this returns; the error is in words for the person. An
    /// event that could not be journalled may still have been taken: the standing tells.
    fn record(&mut self, event: Event) -> Result<(), String>;

    /// Takes back the last event that counts, a [`Event::Chose`] included; false when there is none.
    fn undo(&mut self) -> Result<bool, String>;

    /// The other tests that could be made now, by falling worth.
    fn others(&mut self) -> Vec<OtherTest>;

    /// The step of a test the person chose, from the present setup; `None` for an unknown id.
    fn step_for(&mut self, test: &str) -> Option<TestStep>;

    /// What speaks for and against a suspect, one line each.
    fn explain(&mut self, suspect: &str) -> Vec<String>;

    /// The circuit's name and its machine.
    fn title(&self) -> (String, String);

    /// Where the job is kept, in words: the path of its file; `None` when it is kept nowhere.
    fn kept_at(&self) -> Option<String> {
        None
    }
}

/// A test that was not proposed.
#[derive(Debug, Clone, PartialEq)]
pub struct OtherTest {
    /// Its id.
    pub id: String,
    /// In one line.
    pub title: String,
    /// Where it is done.
    pub place: String,
    /// Minutes it would add.
    pub minutes: f64,
    /// What it would tell for its minutes, in any unit; only compared within one list.
    pub worth: f64,
}
