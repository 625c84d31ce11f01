//! What the program says at each point of a job, remembered: many jobs begin alike.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use super::rival::Next;
use crate::job::agenda::{self, Proposal};
use crate::job::doubt::{doubted, weakest};
use crate::job::event::Event;
use crate::job::pairs;
use crate::job::state::Job;
use crate::job::study::Study;
use crate::plan::decide::{Budget, Progress};

/// What the program says.
#[derive(Debug, Clone, PartialEq)]
pub struct Said {
    /// What to do next.
    pub next: Next,
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

    /// What the program says after these events: the same whoever asks, and whenever.
    pub fn ask(&self, events: &[Event], progress: &Progress) -> Said {
        // Numbers in an answer have no hash; their words do.
        let key = format!("{events:?}");
        // A thread that panicked while it held the lock left whole entries behind it.
        let known = || self.said.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(said) = known().get(&key) {
            return said.clone();
        }
        let said = self.reckon(events, progress);
        known().entry(key).or_insert(said).clone()
    }

    fn reckon(&self, events: &[Event], progress: &Progress) -> Said {
        let Ok(job) = Job::with_events(Arc::clone(&self.study), events) else {
            return Said { next: Next::Stop, doubted: None, two: 0.0 };
        };
        let course = job.folded().course;
        let next = match Proposal::new(&course, &self.budget, progress).best() {
            agenda::Next::Test(test) => self.study.column(test).map_or(Next::Stop, Next::Test),
            agenda::Next::Fix(at) => Next::Fix(at),
            agenda::Next::Stop => Next::Stop,
        };
        let two = pairs::share(job.study().lineup(), &course.believed(None).shares());
        // Who has nothing left to try takes the weakest reading once more before handing the job on.
        let doubted = if next == Next::Stop { weakest(&course) } else { doubted(&course) };
        Said { next, doubted: doubted.map(|doubt| doubt.test), two }
    }
}
