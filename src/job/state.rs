//! The job: its events, and what follows from them.

use std::sync::Arc;

use crate::suspect::FixId;
use crate::tester::expectations::Column;

use super::course::pairs;
use super::entry::answered::check_answer;
use super::error::JobError;
use super::event::{self, Event};
use super::fold::Folded;
use super::known::{known, part_called, place_called, tester_called};
use super::study::Study;
use super::study::battery;

/// A diagnosis: a circuit reckoned through, and what was done since.
///
/// The events are the whole state: the same events on the same circuit give the same standing on any
/// machine. Nothing is ever removed from them; taking one back is an event too.
#[derive(Debug, Clone)]
pub struct Job {
    /// The circuit as its file has it.
    as_filed: Arc<Study>,
    /// The same with the battery as measured, once it was.
    singles: Arc<Study>,
    /// The volts that `singles` has the battery measured at.
    battery_volts: Option<f64>,
    /// The same with pairs of suspects where one fault does not explain what was seen.
    study: Arc<Study>,
    events: Vec<Event>,
}

impl Job {
    /// A job in which nothing was done yet.
    pub fn new(study: Arc<Study>) -> Job {
        let (as_filed, singles) = (Arc::clone(&study), Arc::clone(&study));
        Job { as_filed, singles, battery_volts: None, study, events: Vec::new() }
    }

    /// A job in which all this was done: as if recorded one by one, but reckoned once, and nothing of it checked.
    ///
    /// # Errors
    /// Where the circuit cannot be reckoned with the battery as measured.
    pub fn with_events(study: Arc<Study>, events: &[Event]) -> Result<Job, JobError> {
        let mut job = Job::new(study);
        job.events = events.to_vec();
        job.reckon_with_battery()?;
        job.study = job.with_pairs();
        Ok(job)
    }

    /// The same job when only these of its events were in.
    ///
    /// # Errors
    /// As [`Job::with_events`].
    pub fn back_at(&self, events: &[Event]) -> Result<Job, JobError> {
        Job::with_events(Arc::clone(&self.as_filed), events)
    }

    /// What was reckoned of the circuit.
    pub fn study(&self) -> &Study {
        &self.study
    }

    /// The same, to be kept by another thread.
    pub fn shared_study(&self) -> Arc<Study> {
        Arc::clone(&self.study)
    }

    /// Everything that happened, oldest first.
    pub fn events(&self) -> &[Event] {
        &self.events
    }

    /// Adds an event, if it can be.
    pub fn record(&mut self, event: Event) -> Result<(), JobError> {
        self.check(&event)?;
        self.events.push(event);
        let kept = self.reckon_with_battery();
        if kept.is_err() {
            self.events.pop();
        }
        self.study = self.with_pairs();
        kept
    }

    /// Whether an event can be: what it names is there, and what it says can be said of it.
    ///
    /// # Errors
    /// Where not.
    pub fn check(&self, event: &Event) -> Result<(), JobError> {
        let circuit = self.study.circuit();
        match event {
            Event::Reading { test, answer } | Event::Told { test, answer } => {
                check_answer(&*self.know(test)?, answer)
            }
            Event::Replaced { part } => part_called(circuit, part).map(|_| ()),
            Event::Reach { place, .. } => place_called(circuit, place).map(|_| ()),
            Event::Equipped { tester, .. } => tester_called(tester).map(|_| ()),
            Event::Skipped { test, .. } | Event::Chose { test } => self.know(test).map(|_| ()),
            Event::Tried { fix, .. } | Event::FixSkipped { fix } => self.fix(fix).map(|_| ()),
            Event::Battery { volts } => self.check_battery(*volts),
            Event::Note { .. } | Event::Undone | Event::Redone => Ok(()),
        }
    }

    fn check_battery(&self, volts: f64) -> Result<(), JobError> {
        let (least, most) = battery::possible_volts(self.study.circuit());
        if (least..=most).contains(&volts) {
            Ok(())
        } else {
            Err(JobError::Range { typed: volts, least, most })
        }
    }

    /// Reckons the circuit again when the battery's volts are known now, or no more.
    fn reckon_with_battery(&mut self) -> Result<(), JobError> {
        let known = battery::measured(self.as_filed.circuit(), &self.counting());
        if known != self.battery_volts {
            self.singles = match known {
                Some(volts) => Arc::new(self.as_filed.measured(volts)?),
                None => Arc::clone(&self.as_filed),
            };
            self.battery_volts = known;
        }
        Ok(())
    }

    /// The study to go on with: with pairs of suspects where single ones do not explain what was seen.
    fn with_pairs(&self) -> Arc<Study> {
        let singles = || Arc::clone(&self.singles);
        let course = self.folded_on(&self.singles).course;
        if !pairs::wanted(&course) {
            return singles();
        }
        let candidates = pairs::study(&self.singles, pairs::candidates(&course), false);
        let Some(candidates) = candidates else { return singles() };
        let likeliest = pairs::likeliest(&self.folded_on(&candidates).course);
        if likeliest.is_empty() {
            return singles();
        }
        pairs::study(&self.singles, likeliest, true).unwrap_or_else(singles)
    }

    /// Whether there is anything to take back.
    pub fn can_undo(&self) -> bool {
        self.counting().iter().any(|event| !event.is_note())
    }

    /// Whether anything that was taken back can count again.
    pub fn can_redo(&self) -> bool {
        !event::counting(&self.events).1.is_empty()
    }

    /// The fix called `id`.
    pub fn fix(&self, id: &str) -> Result<FixId, JobError> {
        self.study.lineup().find_fix(id).ok_or_else(|| JobError::Fix { id: id.to_owned() })
    }

    /// The expected readings of a test, whether it was ever proposed or not.
    ///
    /// # Errors
    /// Where the id names no test of this circuit, or a test that is not done.
    pub fn know(&self, id: &str) -> Result<Arc<Column>, JobError> {
        known(&self.study, id)
    }

    /// The expected readings of a test, if there is such a test.
    pub fn column(&self, id: &str) -> Option<Arc<Column>> {
        self.know(id).ok()
    }

    /// The events that were not taken back.
    pub fn counting(&self) -> Vec<&Event> {
        event::counting(&self.events).0
    }

    /// What the events add up to.
    pub fn folded(&self) -> Folded<'_> {
        self.folded_on(&self.study)
    }

    /// The same by a study of the same circuit that knows other suspects.
    fn folded_on<'a>(&self, study: &'a Study) -> Folded<'a> {
        let mut folded = Folded::new(study);
        for event in self.counting() {
            folded.take(event);
        }
        folded
    }
}
