//! What the program says at each point of a job, remembered: many jobs begin alike.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use super::rival::Next;
use crate::job::course::doubt::{doubted, weakest};
use crate::job::course::pairs;
use crate::job::course::proposal::{self, Proposal};
use crate::job::event::Event;
use crate::job::state::Job;
use crate::job::study::Study;
use crate::plan::budget::{Budget, Progress};

/// What the program says.
#[derive(Debug, Clone, PartialEq)]
pub struct Said {
    /// What to do next; not planned while a reading is to be taken once more first.
    pub next: Option<Next>,
    /// The test whose reading is likely wrong.
    pub doubted: Option<String>,
    /// Suspicion on two faults at once.
    pub two: f64,
}

/// The program, asked by many players at once.
#[derive(Debug)]
pub struct Desk {
    /// The circuit, reckoned through.
    pub study: Arc<Study>,
    budget: Budget,
    said: Mutex<HashMap<String, Said>>,
}

impl Desk {
    /// A desk that plans with this budget.
    pub fn new(study: &Arc<Study>, budget: Budget) -> Desk {
        Desk { study: Arc::clone(study), budget, said: Mutex::default() }
    }

    /// What the program says after these events: the same whoever asks, and whenever. Who has not yet taken
    /// the doubted reading once more, as `again` says, does that whatever is planned, so nothing is.
    pub fn ask(&self, events: &[Event], again: &[String], progress: &Progress) -> Said {
        // Numbers in an answer have no hash; their words do.
        let key = format!("{events:?}");
        // A thread that panicked while it held the lock left whole entries behind it.
        let known = || self.said.lock().unwrap_or_else(PoisonError::into_inner);
        let enough = |said: &&Said| said.next.is_some() || self.looks_again(said, again);
        if let Some(said) = known().get(&key).filter(enough) {
            return said.clone();
        }
        let said = self.reckon(events, again, progress);
        known().insert(key, said.clone());
        said
    }

    /// A reading is doubted that was not yet taken once more.
    fn looks_again(&self, said: &Said, again: &[String]) -> bool {
        let fresh = |test: &String| !again.contains(test) && self.study.known(test).is_some();
        said.doubted.as_ref().is_some_and(fresh)
    }

    fn reckon(&self, events: &[Event], again: &[String], progress: &Progress) -> Said {
        let Ok(job) = Job::with_events(Arc::clone(&self.study), events) else {
            return Said { next: Some(Next::Stop), doubted: None, two: 0.0 };
        };
        let course = job.folded().course;
        let two = pairs::share(job.study().lineup(), &course.believed().shares);
        let said = Said { next: None, doubted: doubted(&course).map(|doubt| doubt.test), two };
        if self.looks_again(&said, again) {
            return said;
        }
        let next = match Proposal::new(&course, &self.budget, progress).best() {
            proposal::Next::Test(test) => self.study.column(test).map_or(Next::Stop, Next::Test),
            proposal::Next::Fix(at) => Next::Fix(at),
            proposal::Next::Stop => Next::Stop,
        };
        // Who has nothing left to try takes the weakest reading once more before handing the job on.
        let last = if next == Next::Stop { weakest(&course) } else { None };
        let doubted = last.map(|doubt| doubt.test).or(said.doubted);
        Said { next: Some(next), doubted, two }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::read::read_text;
    use crate::job::event::Answer;
    use crate::tester::Instrument;

    fn desk() -> Desk {
        let text = include_str!("../../tests/data/screens/lamp.yaml");
        let circuit = Arc::new(read_text("lamp.yaml", text).0.unwrap());
        let kit = [Instrument::Lamp, Instrument::Meter];
        Desk::new(&Arc::new(Study::new(&circuit, &kit, 0).unwrap()), Budget { nodes: 50 })
    }

    /// Goes behind every outcome, `deep` readings far, and collects where a reading is to be taken once more.
    fn walk(desk: &Desk, events: &mut Vec<Event>, deep: usize, doubts: &mut Vec<Vec<Event>>) {
        let said = desk.ask(events, &[], &Progress::default());
        let column = match said.next {
            Some(Next::Test(column)) if deep > 0 => column,
            None => return doubts.push(events.clone()),
            _ => return,
        };
        for outcome in &column.outcomes {
            let (test, answer) = (column.test.id.clone(), Answer::Named(outcome.id.clone()));
            events.push(Event::Reading { test, answer });
            walk(desk, events, deep - 1, doubts);
            events.pop();
        }
    }

    #[test]
    fn what_was_left_unplanned_for_a_doubt_is_planned_for_who_has_looked_again() {
        let (desk, mut doubts) = (desk(), Vec::new());
        walk(&desk, &mut Vec::new(), 4, &mut doubts);
        assert!(!doubts.is_empty());
        for events in doubts.iter().take(5) {
            let first = desk.ask(events, &[], &Progress::default());
            let test = first.doubted.clone().unwrap();
            let looked_again = desk.ask(events, std::slice::from_ref(&test), &Progress::default());
            assert!(looked_again.next.is_some());
            assert_eq!((&looked_again.doubted, looked_again.two), (&first.doubted, first.two));
            // Whoever asks first, the answer is the same.
            let afresh = Desk::new(&desk.study, desk.budget);
            assert_eq!(afresh.ask(events, &[test], &Progress::default()), looked_again);
        }
    }
}
