//! What comes after each outcome of the present step, reckoned while the person does it.
//!
//! The answer is the one that would be reckoned afresh: the same events, the same budget. A number that is
//! typed is an outcome of its own and is not foreseen.

use std::sync::atomic::Ordering;
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::{self, JoinHandle};

use crate::job::event::{Answer, Event};
use crate::job::standing::{Standing, Step};
use crate::job::state::Job;
use crate::plan::{Budget, Progress};

/// Outcomes of a step that are looked behind, the likeliest ones.
const MOST_OUTCOMES: usize = 8;

/// Standings, each with the events that lead to it.
type Ready = Arc<Mutex<Vec<(Vec<Event>, Standing)>>>;

/// Reckons ahead in a thread of its own.
#[derive(Default)]
pub struct Ahead {
    ready: Ready,
    progress: Arc<Progress>,
    thread: Option<JoinHandle<()>>,
}

impl Ahead {
    /// The standing of `job`, if it was foreseen. What is still being reckoned is dropped.
    pub fn take(&mut self, job: &Job) -> Option<Standing> {
        self.progress.stop.store(true, Ordering::Relaxed);
        // A thread that panicked while it held the lock left whole standings behind it.
        let mut ready = self.ready.lock().unwrap_or_else(PoisonError::into_inner);
        let at = ready.iter().position(|(events, _)| events == job.events())?;
        Some(ready.swap_remove(at).1)
    }

    /// Begins to look behind the outcomes of `standing`, where `job` is now.
    pub fn begin(&mut self, job: &Job, standing: &Standing, budget: Budget) {
        self.progress.stop.store(true, Ordering::Relaxed);
        let (ready, progress) = (Ready::default(), Arc::new(Progress::default()));
        (self.ready, self.progress) = (Arc::clone(&ready), Arc::clone(&progress));
        let (job, events) = (job.clone(), outcomes(&standing.step));
        let reckon = move || {
            job.study().get_ready();
            for event in events {
                let mut after = job.clone();
                if after.record(event).is_err() {
                    continue;
                }
                let standing = after.standing(&budget, &progress);
                if progress.stop.load(Ordering::Relaxed) {
                    return;
                }
                let mut ready = ready.lock().unwrap_or_else(PoisonError::into_inner);
                ready.push((after.events().to_vec(), standing));
            }
        };
        // Without a thread nothing is foreseen, and all is reckoned when it is asked for.
        self.thread = thread::Builder::new().name("ahead".to_owned()).spawn(reckon).ok();
    }
}

/// What may happen in a step, the likeliest first.
fn outcomes(step: &Step) -> Vec<Event> {
    match step {
        Step::Test(test) => {
            let mut list: Vec<_> = test.outcomes.iter().collect();
            list.sort_by(|a, b| b.probability.total_cmp(&a.probability));
            let named = |id: &str| Event::Reading {
                test: test.id.clone(),
                answer: Answer::Named(id.to_owned()),
            };
            list.into_iter().take(MOST_OUTCOMES).map(|outcome| named(&outcome.id)).collect()
        }
        Step::Fix(fix) => {
            let tried = |cured| Event::Tried { fix: fix.id.clone(), cured };
            vec![tried(false), tried(true)]
        }
        Step::Cured(_) | Step::Stuck(_) => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use crate::circuit::read::read_text;
    use crate::job::study::Study;
    use crate::tester::Instrument;

    use super::*;

    fn job() -> Job {
        let text = include_str!("../../tests/data/screens/lamp.yaml");
        let circuit = Arc::new(read_text("lamp.yaml", text).0.unwrap());
        let kit = [Instrument::Lamp, Instrument::Meter];
        Job::new(Arc::new(Study::new(&circuit, &kit, 0).unwrap()))
    }

    #[test]
    fn what_was_foreseen_is_what_would_be_reckoned() {
        let (mut job, budget) = (job(), Budget { nodes: 100 });
        let mut foreseen = 0;
        for _ in 0..6 {
            let standing = job.standing(&budget, &Progress::default());
            let mut ahead = Ahead::default();
            ahead.begin(&job, &standing, budget);
            ahead.thread.take().unwrap().join().unwrap();
            let events = outcomes(&standing.step);
            for event in &events {
                let mut after = job.clone();
                after.record(event.clone()).unwrap();
                let afresh = after.standing(&budget, &Progress::default());
                assert_eq!(ahead.take(&after), Some(afresh), "{event:?}");
                foreseen += 1;
            }
            let Some(event) = events.into_iter().next() else { break };
            job.record(event).unwrap();
        }
        assert!(foreseen > 5);
    }

    #[test]
    fn nothing_is_foreseen_of_another_job() {
        let (job, budget) = (job(), Budget { nodes: 100 });
        let mut ahead = Ahead::default();
        assert_eq!(ahead.take(&job), None);
        let standing = job.standing(&budget, &Progress::default());
        ahead.begin(&job, &standing, budget);
        ahead.thread.take().unwrap().join().unwrap();
        assert_eq!(ahead.take(&job), None);
    }
}
