//! The job: its events, and what follows from them.

use std::sync::Arc;

use crate::circuit::{PartId, PlaceId};
use crate::suspect::FixId;
use crate::tester::Instrument;
use crate::tester::expectations::{BenchError, Column};
use crate::tester::name::{self, NameError};
use crate::tester::scale::Scale;

use super::answered::{Evidence, check_answer, evidence};
use super::course::{Course, between};
use super::event::{self, Answer, Event, SkipReason};
use super::standing::FoundLine;
use super::study::{Study, StudyError};
use super::{battery, pairs, words};

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

/// Why an event cannot be.
#[derive(Debug, thiserror::Error)]
pub enum JobError {
    /// The test's id names nothing.
    #[error(transparent)]
    Name(#[from] NameError),
    /// The test cannot be reckoned.
    #[error(transparent)]
    Bench(#[from] BenchError),
    /// The outcome is none of the test's.
    #[error("`{answer}` is no outcome of this test; there are {known}")]
    Outcome {
        /// As given.
        answer: String,
        /// The test's outcomes.
        known: String,
    },
    /// A number where the test shows none, or one that is none.
    #[error("this test shows no numbers; its outcomes are {known}")]
    NoNumber {
        /// The test's outcomes.
        known: String,
    },
    /// A number outside what can be.
    #[error("{typed} cannot be read here: {least} to {most} can")]
    Range {
        /// As typed.
        typed: f64,
        /// Least.
        least: f64,
        /// Most.
        most: f64,
    },
    /// The circuit cannot be reckoned with the battery as measured.
    #[error(transparent)]
    Study(#[from] StudyError),
    /// No such part, place or tester.
    #[error("`{id}` is no {what} of this circuit")]
    Unknown {
        /// `part`, `place` or `tester`.
        what: &'static str,
        /// As given.
        id: String,
    },
    /// No such fix.
    #[error("`{id}` is no fix of this circuit")]
    Fix {
        /// As given.
        id: String,
    },
}

/// What the events add up to.
#[derive(Debug)]
pub struct Folded<'a> {
    /// Belief, machine, minutes.
    pub course: Course<'a>,
    /// What was found, oldest first.
    pub found: Vec<FoundLine>,
    /// The test the person chose, not yet read.
    pub chosen: Option<String>,
    /// The fix that cured.
    pub cured: Option<usize>,
}

/// Least and most number that can be read: one and a half times the system's volts either way, any ohms.
pub fn number_range(column: &Column) -> (f64, f64) {
    match column.test.scale {
        Scale::Volts { system } | Scale::Pointer { system } => {
            let most = 1.5 * f64::from(system);
            (-most, most)
        }
        Scale::Millivolts => (-60.0, 60.0),
        Scale::Amps | Scale::Drain => (-1000.0, 1000.0),
        _ => (0.0, 1.0e9),
    }
}

impl Job {
    /// A job in which nothing was done yet.
    pub fn new(study: Arc<Study>) -> Job {
        let (as_filed, singles) = (Arc::clone(&study), Arc::clone(&study));
        Job { as_filed, singles, battery_volts: None, study, events: Vec::new() }
    }

    /// A job in which all this was done: as if recorded one by one, but reckoned once.
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

    /// A job on the same circuit in which nothing was done yet.
    #[must_use]
    pub fn without_events(&self) -> Job {
        Job::new(Arc::clone(&self.as_filed))
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
        match &event {
            Event::Reading { test, answer } | Event::Told { test, answer } => {
                check_answer(&*self.know(test)?, answer)?;
            }
            Event::Replaced { part } => {
                self.part(part)?;
            }
            Event::Reach { place, .. } => {
                self.place(place)?;
            }
            Event::Equipped { tester, .. } => {
                tester_called(tester)?;
            }
            Event::Skipped { test, .. } | Event::Chose { test } => {
                self.know(test)?;
            }
            Event::Tried { fix, .. } | Event::FixSkipped { fix } => {
                self.fix(fix)?;
            }
            Event::Battery { volts } => self.check_battery(*volts)?,
            Event::Note { .. } | Event::Undone | Event::Redone => {}
        }
        self.events.push(event);
        let kept = self.reckon_with_battery();
        if kept.is_err() {
            self.events.pop();
        }
        self.study = self.with_pairs();
        kept
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

    fn part(&self, id: &str) -> Result<PartId, JobError> {
        let circuit = self.study.circuit();
        let found = circuit.part_ids().find(|part| circuit.part(*part).id == id);
        found.ok_or_else(|| JobError::Unknown { what: "part", id: id.to_owned() })
    }

    fn place(&self, id: &str) -> Result<PlaceId, JobError> {
        let found = self.study.circuit().places.iter().position(|place| place.id == id);
        let unknown = || JobError::Unknown { what: "place", id: id.to_owned() };
        found.map(|at| PlaceId(at as u32)).ok_or_else(unknown)
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

    /// What an answer says of each suspect of a study, the outcome it stands for, and the answer in words.
    ///
    /// Its ranges may have had other names when the answer was given: when the battery was not measured yet,
    /// or pairs of suspects were not looked at.
    pub fn evidence(&self, study: &Study, column: &Column, answer: &Answer) -> Option<Evidence> {
        let Answer::Named(id) = answer else { return evidence(study.lineup(), column, answer) };
        if column.outcomes.iter().any(|one| one.id == *id) {
            return evidence(study.lineup(), column, answer);
        }
        column.test.tester.unit()?;
        let (levels, words) = column.test.scale.range_named(id)?;
        Some((between(column, study.lineup(), levels), column.outcome_at(levels.0), words))
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
    fn folded_on<'a>(&'a self, study: &'a Study) -> Folded<'a> {
        let course = Course::new(study);
        let mut folded = Folded { course, found: Vec::new(), chosen: None, cured: None };
        for event in self.counting() {
            self.fold(&mut folded, event);
        }
        folded
    }

    fn fold(&self, folded: &mut Folded<'_>, event: &Event) {
        let study = folded.course.study;
        let circuit = study.circuit();
        let number = folded.found.len() + 1;
        let mut find = |what: String, seen: String| {
            folded.found.push(FoundLine { number, brief: what.clone(), what, seen });
        };
        match event {
            Event::Reading { test, answer } => {
                let Ok(column) = known(study, test) else { return };
                let evidence = self.evidence(study, &column, answer);
                let Some((mut reading, outcome, seen)) = evidence else { return };
                if battery::of_event(circuit, event).is_some() {
                    // The study has it: counted here it would count twice.
                    reading.likelihood.fill(1.0);
                }
                let what = words::title_in_setup(circuit, &column.test);
                let brief = words::brief(circuit, &column.test);
                folded.found.push(FoundLine { number, what, brief, seen });
                folded.course.read(&column, reading, outcome);
                folded.chosen = None;
            }
            Event::Skipped { test, because } => {
                let Ok(column) = known(study, test) else { return };
                let course = &mut folded.course;
                course.spent.push(test.clone());
                let why = match because {
                    SkipReason::CannotReach => {
                        course.unreachable.extend(far_places(course, &column));
                        "skipped: cannot be reached"
                    }
                    SkipReason::NoTester => {
                        let last = column.test.instruments().last();
                        course.missing.push(last.unwrap_or(Instrument::Senses));
                        "skipped: no such tester"
                    }
                    SkipReason::NotThis => "skipped",
                };
                find(words::title_in_setup(circuit, &column.test), why.to_owned());
                folded.chosen = None;
            }
            Event::Tried { fix, cured } => {
                let Some(fix) = study.lineup().find_fix(fix) else { return };
                let title = study.lineup().fixes[fix.index()].title.clone();
                find(title, if *cured { "cured" } else { "did not cure" }.to_owned());
                folded.course.tried(fix.index(), *cured);
                folded.cured = cured.then_some(fix.index());
            }
            Event::FixSkipped { fix } => {
                let Some(fix) = study.lineup().find_fix(fix) else { return };
                let title = study.lineup().fixes[fix.index()].title.clone();
                find(title, "put off".to_owned());
                folded.course.put_off.push(fix.index());
            }
            Event::Chose { test } => folded.chosen = Some(test.clone()),
            Event::Battery { volts } => find("Battery at rest".to_owned(), format!("{volts} V")),
            Event::Note { text } => find("note".to_owned(), text.clone()),
            Event::Undone | Event::Redone => {}
            told => self.fold_told(folded, told),
        }
    }

    /// What was told beside the steps: of the time before the job, of places and testers.
    fn fold_told(&self, folded: &mut Folded<'_>, event: &Event) {
        let study = folded.course.study;
        let circuit = study.circuit();
        let number = folded.found.len() + 1;
        let mut find = |what: String, seen: &str| {
            let (brief, seen) = (what.clone(), seen.to_owned());
            folded.found.push(FoundLine { number, what, brief, seen });
        };
        match event {
            Event::Told { test, answer } => {
                let Ok(column) = known(study, test) else { return };
                let evidence = self.evidence(study, &column, answer);
                let Some((reading, outcome, seen)) = evidence else { return };
                let what =
                    format!("Before the job: {}", words::title_in_setup(circuit, &column.test));
                let brief = format!("Before: {}", words::brief(circuit, &column.test));
                folded.found.push(FoundLine { number, what, brief, seen });
                folded.course.told(&column, reading, outcome);
            }
            Event::Replaced { part } => {
                let Ok(part) = self.part(part) else { return };
                find(circuit.part(part).name.clone(), "replaced lately");
                folded.course.renewed(part);
            }
            Event::Reach { place, can } => {
                let Ok(place) = self.place(place) else { return };
                let words = if *can { "can be reached" } else { "cannot be reached" };
                find(circuit.places[place.index()].name.clone(), words);
                folded.course.reach(place, *can);
            }
            Event::Equipped { tester, at_hand } => {
                let Ok(tester) = tester_called(tester) else { return };
                let words = if *at_hand { "at hand" } else { "not at hand" };
                find(tester.words().to_owned(), words);
                folded.course.equip(tester, *at_hand);
            }
            _ => {}
        }
    }
}

fn tester_called(id: &str) -> Result<Instrument, JobError> {
    let unknown = || JobError::Unknown { what: "tester", id: id.to_owned() };
    Instrument::KIT.into_iter().find(|one| one.id() == id).ok_or_else(unknown)
}

/// A skipped test makes those of its places unreachable that are neither open nor everywhere needed.
fn far_places(course: &Course<'_>, column: &Column) -> Vec<PlaceId> {
    let closed: Vec<_> =
        column.test.places.iter().copied().filter(|at| !course.opened[at.index()]).collect();
    if closed.is_empty() { column.test.places.clone() } else { closed }
}

/// The expected readings of a test by a study.
fn known(study: &Study, id: &str) -> Result<Arc<Column>, JobError> {
    if let Some(column) = study.known(id) {
        return Ok(column);
    }
    let test = name::parse(study.circuit(), id)?;
    Ok(study.column(&test)?)
}
