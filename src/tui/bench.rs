//! The job as the screen needs it.

use crate::job::event::Event;
use crate::job::shown::past::Past;
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

    /// Makes the last event that was taken back count again; false when there is none.
    fn redo(&mut self) -> Result<bool, String> {
        Ok(false)
    }

    /// The step with this number in what was found, as it was then.
    fn look_back(&mut self, _number: usize) -> Option<Past> {
        None
    }

    /// What can be told of the machine and the bench beside the steps.
    fn facts(&mut self) -> Vec<Fact> {
        Vec::new()
    }

    /// Writes the job card; where it is, in words.
    fn card(&mut self) -> Result<String, String> {
        Err("this job has no card".to_owned())
    }

    /// What keeps the job from being kept, from the start.
    fn trouble(&self) -> Option<String> {
        None
    }

    /// Where the job is kept, in words: the path of its file; `None` when it is kept nowhere.
    fn kept_at(&self) -> Option<String> {
        None
    }
}

/// Something that is so, or is not: a place that can be reached, a tester at hand, a part replaced lately.
#[derive(Debug, Clone, PartialEq)]
pub struct Fact {
    /// How it stands, in words: `headlamp shell: can be reached`.
    pub now: String,
    /// It is so.
    pub holds: bool,
    /// How it would stand, in words.
    pub then: String,
    /// What is recorded when it changes.
    pub event: Event,
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
