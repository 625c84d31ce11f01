//! What the events of a job add up to, one after the other.

use crate::circuit::PlaceId;
use crate::tester::Instrument;
use crate::tester::expectations::Column;

use super::course::Course;
use super::entry::answered::evidence;
use super::event::{Event, SkipReason};
use super::known::{known, part_called, place_called, tester_called};
use super::standing::FoundLine;
use super::study::Study;
use super::study::battery;
use super::words;

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

impl<'a> Folded<'a> {
    /// Before anything was done, by a study of the job's circuit.
    pub fn new(study: &'a Study) -> Folded<'a> {
        Folded { course: Course::new(study), found: Vec::new(), chosen: None, cured: None }
    }

    /// One more event, that was not taken back.
    pub fn take(&mut self, event: &Event) {
        let study = self.course.study;
        match event {
            Event::Reading { .. } => self.take_reading(event),
            Event::Skipped { test, because } => self.take_skipped(test, *because),
            Event::Tried { fix, cured } => {
                let Some(fix) = study.lineup().find_fix(fix) else { return };
                let title = study.lineup().fixes[fix.index()].title.clone();
                self.find(title, if *cured { "cured" } else { "did not cure" });
                self.course.tried(fix.index(), *cured);
                self.cured = cured.then_some(fix.index());
            }
            Event::FixSkipped { fix } => {
                let Some(fix) = study.lineup().find_fix(fix) else { return };
                self.find(study.lineup().fixes[fix.index()].title.clone(), "put off");
                self.course.put_off.push(fix.index());
            }
            Event::Chose { test } => self.chosen = Some(test.clone()),
            Event::Battery { volts } => self.find("Battery at rest".into(), &format!("{volts} V")),
            Event::Note { text } => self.find("note".to_owned(), text),
            Event::Undone | Event::Redone => {}
            told => self.take_told(told),
        }
    }

    fn find(&mut self, what: String, seen: &str) {
        let (number, brief, seen) = (self.found.len() + 1, what.clone(), seen.to_owned());
        self.found.push(FoundLine { number, what, brief, seen });
    }

    fn take_reading(&mut self, event: &Event) {
        let Event::Reading { test, answer } = event else { return };
        let study = self.course.study;
        let circuit = study.circuit();
        let Ok(column) = known(study, test) else { return };
        let Some((mut said, outcome, seen)) = evidence(&column, answer) else { return };
        if battery::of_event(circuit, event).is_some() {
            // The study has it: counted here it would count twice.
            said.clear();
        }
        let number = self.found.len() + 1;
        let what = words::title_in_setup(circuit, &column.test);
        let brief = words::brief(circuit, &column.test);
        self.found.push(FoundLine { number, what, brief, seen });
        self.course.read(&column, &said, outcome);
        self.chosen = None;
    }

    fn take_skipped(&mut self, test: &str, because: SkipReason) {
        let study = self.course.study;
        let Ok(column) = known(study, test) else { return };
        let course = &mut self.course;
        course.spent.push(test.to_owned());
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
        self.find(words::title_in_setup(study.circuit(), &column.test), why);
        self.chosen = None;
    }

    /// What was told beside the steps: of the time before the job, of places and testers.
    fn take_told(&mut self, event: &Event) {
        let study = self.course.study;
        let circuit = study.circuit();
        match event {
            Event::Told { test, answer } => {
                let Ok(column) = known(study, test) else { return };
                let Some((said, outcome, seen)) = evidence(&column, answer) else { return };
                let number = self.found.len() + 1;
                let what =
                    format!("Before the job: {}", words::title_in_setup(circuit, &column.test));
                let brief = format!("Before: {}", words::brief(circuit, &column.test));
                self.found.push(FoundLine { number, what, brief, seen });
                self.course.told(&column, &said, outcome);
            }
            Event::Replaced { part } => {
                let Ok(part) = part_called(circuit, part) else { return };
                self.find(circuit.part(part).name.clone(), "replaced lately");
                self.course.renewed(part);
            }
            Event::Reach { place, can } => {
                let Ok(place) = place_called(circuit, place) else { return };
                let words = if *can { "can be reached" } else { "cannot be reached" };
                self.find(circuit.places[place.index()].name.clone(), words);
                self.course.reach(place, *can);
            }
            Event::Equipped { tester, at_hand } => {
                let Ok(tester) = tester_called(tester) else { return };
                let words = if *at_hand { "at hand" } else { "not at hand" };
                self.find(tester.words().to_owned(), words);
                self.course.equip(tester, *at_hand);
            }
            _ => {}
        }
    }
}

/// A skipped test makes those of its places unreachable that are neither open nor everywhere needed.
fn far_places(course: &Course<'_>, column: &Column) -> Vec<PlaceId> {
    let closed: Vec<_> =
        column.test.places.iter().copied().filter(|at| !course.opened[at.index()]).collect();
    if closed.is_empty() { column.test.places.clone() } else { closed }
}
