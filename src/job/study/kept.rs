//! What a study keeps of what it was asked for.

use std::collections::{BTreeMap, HashMap};
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};

use crate::suspect::pairs::Pair;
use crate::tester::expectations::{BenchError, Column, Graded};

/// Studies with pairs kept, so that the next event finds them; each takes some megabytes.
const MOST_KEPT: usize = 8;

/// The expected readings.
#[derive(Debug, Default)]
pub struct Columns {
    pub(super) all: OnceLock<Result<Vec<Arc<Column>>, BenchError>>,
    known: Mutex<HashMap<String, Arc<Column>>>,
}

impl Columns {
    /// Those reckoned so far, by the ids of their tests.
    pub(super) fn known(&self) -> MutexGuard<'_, HashMap<String, Arc<Column>>> {
        // A thread that panicked while it held the lock left whole columns behind it.
        self.known.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// What was reckoned of the grades, for a study and all those of the same suspects with their pairs.
#[derive(Debug, Default)]
pub struct Severities {
    pub(super) graded: Mutex<HashMap<String, Arc<Graded>>>,
    /// Probability of each grade of the suspects whose severity the complaint tells.
    pub(super) weights: OnceLock<BTreeMap<usize, Vec<f64>>>,
}

/// Volts lost on one side of a path, and what a sound circuit loses there at most.
#[derive(Debug, Clone)]
pub struct Drop {
    /// The test and what it shows.
    pub column: Arc<Column>,
    /// From where to where.
    pub from: String,
    /// The other end.
    pub to: String,
    /// Most volts of 95 sound machines in a hundred.
    pub most: f64,
}

impl Drop {
    /// `battery, + to starter, +: at most 0.42 V`.
    pub fn words(&self) -> String {
        format!("{} to {}: at most {:.2} V", self.from, self.to, self.most)
    }
}

/// The pairs of a study, and whether the plan knows them.
type Key = (Vec<Pair>, bool);

/// Studies of one circuit with pairs of its suspects; none for pairs that have no operating point together.
#[derive(Debug)]
pub struct WithPairs<S>(Mutex<Vec<(Key, Option<Arc<S>>)>>);

impl<S> Default for WithPairs<S> {
    fn default() -> Self {
        WithPairs(Mutex::default())
    }
}

impl<S> WithPairs<S> {
    /// The one kept, or else the one made.
    pub(in crate::job) fn find(
        &self,
        key: Key,
        make: impl FnOnce(&Key) -> Option<S>,
    ) -> Option<Arc<S>> {
        // A thread that panicked while it held the lock left whole entries behind it.
        let kept = || self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let known = |kept: &mut Vec<(Key, Option<Arc<S>>)>| {
            let at = kept.iter().position(|(known, _)| *known == key)?;
            // What is asked for most stands last.
            let found = kept.remove(at);
            let study = found.1.clone();
            kept.push(found);
            Some(study)
        };
        if let Some(study) = known(&mut kept()) {
            return study;
        }
        let study = make(&key).map(Arc::new);
        let mut kept = kept();
        if kept.len() >= MOST_KEPT {
            kept.remove(0);
        }
        kept.push((key, study.clone()));
        study
    }
}
