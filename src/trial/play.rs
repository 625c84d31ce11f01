//! One hidden suspect, one way of working, to the proven repair.

use std::collections::HashMap;

use super::rival::{Next, Rival, Way};
use crate::job::agenda::{self, Proposal};
use crate::job::course::{Course, named};
use crate::job::doubt::doubted;
use crate::job::study::Study;
use crate::plan::decide::{Budget, Progress};
use crate::suspect::SuspectId;
use crate::tester::expectations::Column;

/// More steps than any sane job takes; a way of working that needs more has lost its way.
const MOST_STEPS: usize = 200;

/// What happened.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Play {
    /// Readings taken.
    pub tests: usize,
    /// Minutes spent.
    pub minutes: f64,
    /// The check passed in the end.
    pub cured: bool,
    /// Fixes that did not cure.
    pub wrong_fixes: usize,
    /// What was done, by id, with what was seen.
    pub steps: Vec<(String, String)>,
    /// Tests whose reading was doubted on the way.
    pub doubted: Vec<String>,
}

/// Somebody who reads a tester: gives the outcome seen.
pub trait Reader {
    /// The outcome of the test as this reader sees it.
    fn read(&mut self, column: &Column) -> usize;
}

/// Reads what the hidden suspect most likely shows.
struct Honest(SuspectId);

impl Reader for Honest {
    fn read(&mut self, column: &Column) -> usize {
        column.likeliest(self.0.index())
    }
}

/// Plays many suspects of one study by one way of working; steps that begin alike are planned once.
pub struct Player<'a> {
    study: &'a Study,
    budget: Budget,
    rival: Option<Rival>,
    known: HashMap<Vec<(String, String)>, Next>,
}

/// Takes a reading.
fn take(course: &mut Course<'_>, play: &mut Play, column: &Column, reader: &mut dyn Reader) {
    let seen = reader.read(column);
    course.read(column, named(column, seen));
    play.steps.push((column.test.id.clone(), column.outcomes[seen].id.clone()));
}

/// Repeats the reading that is likely wrong, once for each test.
fn repeat_the_doubtful(course: &mut Course<'_>, play: &mut Play, reader: &mut dyn Reader) {
    while let Some(doubt) = doubted(course) {
        if play.doubted.contains(&doubt.test) {
            return;
        }
        play.doubted.push(doubt.test.clone());
        let Some(column) = course.study.known(&doubt.test) else { return };
        take(course, play, &column, reader);
    }
}

impl<'a> Player<'a> {
    /// A player of `study` by `way`.
    pub fn new(study: &'a Study, way: Way, budget: Budget) -> Player<'a> {
        Player { study, budget, rival: Rival::of(way, study), known: HashMap::new() }
    }

    /// Plays `hidden` to the end, every reading right.
    pub fn play(&mut self, hidden: SuspectId, progress: &Progress) -> Play {
        self.play_with(hidden, &mut Honest(hidden), progress)
    }

    /// Plays `hidden` to the end with somebody who reads. A reading that is likely wrong is repeated
    /// once.
    pub fn play_with(
        &mut self,
        hidden: SuspectId,
        reader: &mut dyn Reader,
        progress: &Progress,
    ) -> Play {
        let study = self.study;
        let mut course = Course::new(study);
        let mut play = Play::default();
        for _ in 0..MOST_STEPS {
            let next = if let Some(next) = self.known.get(&play.steps) {
                next.clone()
            } else {
                let next = self.next(&course, progress);
                self.known.insert(play.steps.clone(), next.clone());
                next
            };
            match next {
                Next::Test(column) => {
                    take(&mut course, &mut play, &column, reader);
                    if self.rival.is_none() {
                        repeat_the_doubtful(&mut course, &mut play, reader);
                    }
                }
                Next::Fix(fix) => {
                    let cured = study.lineup().suspects[hidden.index()].fix.index() == fix;
                    course.tried(fix, cured);
                    let id = study.lineup().fixes[fix].id.clone();
                    play.steps.push((id, if cured { "cured" } else { "not-cured" }.to_owned()));
                    play.cured = cured;
                    play.wrong_fixes += usize::from(!cured);
                }
                Next::Stop => break,
            }
            if play.cured {
                break;
            }
        }
        play.tests = course.tests;
        play.minutes = course.minutes;
        play
    }

    fn next(&self, course: &Course<'_>, progress: &Progress) -> Next {
        if let Some(rival) = &self.rival {
            return rival.next(course);
        }
        match Proposal::new(course, &self.budget, progress).best() {
            agenda::Next::Test(test) => self.study.column(test).map_or(Next::Stop, Next::Test),
            agenda::Next::Fix(at) => Next::Fix(at),
            agenda::Next::Stop => Next::Stop,
        }
    }
}
