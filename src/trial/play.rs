//! One hidden suspect, one way of working, to the proven repair.

use std::sync::Arc;

use super::desk::Desk;
use super::rival::{Next, Rival, Way};
use crate::job::course::Course;
use crate::job::event::{Answer, Event};
use crate::job::study::Study;
use crate::plan::budget::Progress;
use crate::suspect::SuspectId;
use crate::tester::expectations::{Column, Seen};

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
    /// Two faults at once were named on the way.
    pub two_named: bool,
}

/// A machine with something wrong in it, and somebody who reads testers at it.
pub trait Machine {
    /// The outcome of the test as it is seen here.
    fn read(&mut self, column: &Column) -> usize;

    /// What is entered for that outcome.
    fn entered(&self, column: &Column, seen: usize) -> Answer {
        Answer::Named(column.outcomes[seen].id.clone())
    }

    /// Does a fix and its check; true when that passes.
    fn mend(&mut self, fix: usize) -> bool;
}

/// One suspect, which shows what it most likely shows.
pub struct Honest<'a> {
    /// The circuit.
    pub study: &'a Study,
    /// What is wrong.
    pub hidden: SuspectId,
}

impl Machine for Honest<'_> {
    fn read(&mut self, column: &Column) -> usize {
        column.likeliest(self.hidden.index())
    }

    fn mend(&mut self, fix: usize) -> bool {
        self.study.lineup().mends(fix, self.hidden)
    }
}

/// Plays many machines by one way of working.
pub struct Player<'a> {
    desk: &'a Desk,
    rival: Option<Rival>,
}

/// One job as it goes.
struct Run<'a, 'm> {
    course: Course<'a>,
    events: Vec<Event>,
    play: Play,
    machine: &'m mut dyn Machine,
}

impl Run<'_, '_> {
    /// Takes a reading.
    fn take(&mut self, column: &Column) {
        let seen = self.machine.read(column);
        let answer = self.machine.entered(column, seen);
        self.course.read(column, &[Seen::Outcome(seen)], seen);
        let test = column.test.id.clone();
        self.play.steps.push((test.clone(), column.outcomes[seen].id.clone()));
        self.events.push(Event::Reading { test, answer });
    }

    /// Does a fix and its check.
    fn mend(&mut self, fix: usize) {
        let cured = self.machine.mend(fix);
        self.course.tried(fix, cured);
        let id = self.course.study.lineup().fixes[fix].id.clone();
        self.play.steps.push((id.clone(), if cured { "cured" } else { "not-cured" }.to_owned()));
        self.events.push(Event::Tried { fix: id, cured });
        self.play.cured = cured;
        self.play.wrong_fixes += usize::from(!cured);
    }
}

impl<'a> Player<'a> {
    /// A player who works by `way`, and asks `desk` where that is the planner's.
    pub fn new(desk: &'a Desk, way: Way) -> Player<'a> {
        Player { desk, rival: Rival::of(way, &desk.study) }
    }

    /// Plays one hidden suspect to the end, every reading right.
    pub fn play(&self, hidden: SuspectId, progress: &Progress) -> Play {
        self.play_with(&mut Honest { study: &self.desk.study, hidden }, progress)
    }

    /// Plays a machine to the end. Under the planner, a reading that is likely wrong is repeated once.
    pub fn play_with(&self, machine: &mut dyn Machine, progress: &Progress) -> Play {
        let course = Course::new(&self.desk.study);
        let mut run = Run { course, events: Vec::new(), play: Play::default(), machine };
        for _ in 0..MOST_STEPS {
            match self.next(&mut run, progress) {
                Next::Test(column) => run.take(&column),
                Next::Fix(fix) => run.mend(fix),
                Next::Stop => break,
            }
            if run.play.cured {
                break;
            }
        }
        run.play.tests = run.course.tests;
        run.play.minutes = run.course.minutes;
        run.play
    }

    fn next(&self, run: &mut Run<'_, '_>, progress: &Progress) -> Next {
        if let Some(rival) = &self.rival {
            return rival.next(&run.course);
        }
        let said = self.desk.ask(&run.events, &run.play.doubted, progress);
        run.play.two_named |= said.two > 0.5;
        let again = said.doubted.filter(|test| !run.play.doubted.contains(test));
        let column: Option<Arc<Column>> =
            again.as_ref().and_then(|test| self.desk.study.known(test));
        run.play.doubted.extend(again);
        column.map(Next::Test).or(said.next).unwrap_or(Next::Stop)
    }
}
