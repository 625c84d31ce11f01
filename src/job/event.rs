//! What a person did or saw: the only input of a job, and the lines of its journal.

use serde::{Deserialize, Serialize};

/// One line of a job's journal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", tag = "event")]
pub enum Event {
    /// A reading was taken.
    Reading {
        /// The test's id.
        test: String,
        /// What was seen.
        answer: Answer,
    },
    /// A proposed test cannot or shall not be done.
    Skipped {
        /// The test's id.
        test: String,
        /// Why, so that others like it are not proposed either.
        because: SkipReason,
    },
    /// A fix was done, and its check after it.
    Tried {
        /// The fix's id.
        fix: String,
        /// The circuit worked afterwards.
        cured: bool,
    },
    /// A proposed fix shall not be done now.
    FixSkipped {
        /// The fix's id.
        fix: String,
    },
    /// The person chose another test than the proposed one.
    Chose {
        /// The test's id.
        test: String,
    },
    /// The battery's volts were measured, at rest.
    Battery {
        /// As the meter read them.
        volts: f64,
    },
    /// Something was seen or heard before the job began: a reading that cost nothing and left the machine
    /// as it was.
    Told {
        /// The test's id.
        test: String,
        /// What was seen.
        answer: Answer,
    },
    /// A part was replaced lately, before the job.
    Replaced {
        /// The part's id.
        part: String,
    },
    /// A place can be reached, or cannot.
    Reach {
        /// The place's id.
        place: String,
        /// Whether it can.
        can: bool,
    },
    /// A tester is at hand, or is not.
    Equipped {
        /// The tester, as in the file's `kit`.
        tester: String,
        /// Whether it is.
        at_hand: bool,
    },
    /// Words of the person.
    Note {
        /// The words.
        text: String,
    },
    /// The last event that counts was taken back.
    Undone,
    /// The last event that was taken back counts again.
    Redone,
}

impl Event {
    /// An event that says nothing of the machine: it is never taken back.
    pub fn is_note(&self) -> bool {
        matches!(self, Event::Note { .. })
    }
}

/// The events that count, and those that could count again, the next one last.
///
/// Taking back and counting again are events themselves, so that a journal only ever grows.
pub fn counting(events: &[Event]) -> (Vec<&Event>, Vec<&Event>) {
    let mut list: Vec<&Event> = Vec::new();
    let mut back: Vec<&Event> = Vec::new();
    for event in events {
        match event {
            Event::Undone => {
                let last = list.iter().rposition(|event| !event.is_note());
                back.extend(last.map(|at| list.remove(at)));
            }
            Event::Redone => list.extend(back.pop()),
            event => {
                if !event.is_note() {
                    back.clear();
                }
                list.push(event);
            }
        }
    }
    (list, back)
}

/// What was seen.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Answer {
    /// A number in the test's unit.
    Number(f64),
    /// The id of a named outcome: `lit`, `dark`, `click`.
    Named(String),
    /// One of several named outcomes: `dim` or `lit`.
    AnyOf {
        /// Their ids.
        any_of: Vec<String>,
    },
    /// A number in the test's unit, vaguely: no less and no more than this.
    Between {
        /// Least; open where it is left out.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        least: Option<f64>,
        /// Most; open where it is left out.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        most: Option<f64>,
    },
}

/// Why a test was passed over.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SkipReason {
    /// Its place cannot be reached: nothing more is proposed there.
    CannotReach,
    /// The tester is not at hand: nothing more is proposed with it.
    NoTester,
    /// Just not this one.
    NotThis,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fix(name: &str) -> Event {
        Event::FixSkipped { fix: name.to_owned() }
    }

    #[track_caller]
    fn check(events: &[Event], counting_now: &[Event], back: &[Event]) {
        let found = counting(events);
        assert_eq!(found.0, counting_now.iter().collect::<Vec<_>>());
        assert_eq!(found.1, back.iter().collect::<Vec<_>>());
    }

    #[test]
    fn what_was_taken_back_can_count_again_until_something_else_is_done() {
        let note = Event::Note { text: "words".to_owned() };
        let (a, b, c) = (fix("a"), fix("b"), fix("c"));
        let undone = [a.clone(), b.clone(), note.clone(), Event::Undone, Event::Undone];
        check(&undone, std::slice::from_ref(&note), &[b.clone(), a.clone()]);
        let again = [&undone[..], &[Event::Redone]].concat();
        check(&again, &[note.clone(), a.clone()], std::slice::from_ref(&b));
        let other = [&again[..], &[note.clone(), c.clone(), Event::Redone]].concat();
        check(&other, &[note.clone(), a, note, c], &[]);
        check(&[Event::Redone, Event::Undone], &[], &[]);
    }
}
