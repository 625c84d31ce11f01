//! Two faults at once: when a job looks at pairs of suspects, and at which of them.
//!
//! While one fault explains what was seen, pairs would only cost time: all together have a share of a few per
//! cent. They come in when no single suspect fits, when a repair that should have cured has not, or when the
//! file says that two parts give trouble. What a pair shows is solved with both faults in the circuit. First
//! all pairs are held against the readings taken ([`candidates`]), then the plan is made with the few that are
//! left of them ([`likeliest`]).

use std::sync::{Arc, Mutex, PoisonError};

use super::course::Course;
use super::doubt;
use super::study::Study;
use crate::circuit::Circuit;
use crate::suspect::pairs::Pair;
use crate::suspect::{Lineup, SuspectId};

/// All pairs are held against the readings, where there are no more than this.
const MOST_PAIRS: usize = 5_000;
/// Else so many, chosen by the better of their members at each reading.
const MOST_CHOSEN: usize = 1_000;
/// The plan is made with the likeliest pairs that have this share of the suspicion on all pairs, but with no
/// more than [`MOST_PLANNED`].
const ENOUGH: f64 = 0.98;
/// Pairs planned for at most.
const MOST_PLANNED: usize = 96;
/// Pairs that explain what was seen no better are left out again: their share of all suspicion, after a repair
/// of what seemed found has failed, and before.
const NEGLIGIBLE: (f64, f64) = (0.02, 0.2);
/// One reading alone contradicts nothing.
const LEAST_READINGS: usize = 2;
/// From this `trouble` on, two parts are expected to be bad together.
const TROUBLESOME: f64 = 10.0;
/// Studies kept, so that the next event finds them; each takes some megabytes.
const MOST_KEPT: usize = 8;

/// What a study of pairs is looked up by: the pairs, and whether the plan knows them.
type Key = (Vec<Pair>, bool);

/// Studies of one circuit with pairs of its suspects.
#[derive(Debug, Default)]
pub struct Kept(Mutex<Vec<(Key, Looked)>>);

/// What came of reckoning with pairs.
#[derive(Debug, Clone)]
enum Looked {
    Reckoned(Arc<Study>),
    /// Two faults together have no operating point.
    Impossible,
}

impl Kept {
    fn find(&self, key: &Key) -> Option<Looked> {
        // A thread that panicked while it held the lock left whole entries behind it.
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let at = kept.iter().position(|(known, _)| known == key)?;
        // What is asked for most stands last.
        let found = kept.remove(at);
        let looked = found.1.clone();
        kept.push(found);
        Some(looked)
    }

    fn keep(&self, key: Key, looked: Looked) {
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if kept.len() >= MOST_KEPT {
            kept.remove(0);
        }
        kept.push((key, looked));
    }
}

/// `base` with these pairs; `None` where two faults together have no operating point.
pub fn study(base: &Study, pairs: Vec<Pair>, planned: bool) -> Option<Arc<Study>> {
    let key = (pairs, planned);
    let looked = base.with_pairs.find(&key).unwrap_or_else(|| {
        let looked = match base.paired(&key.0, planned) {
            Ok(study) => Looked::Reckoned(Arc::new(study)),
            Err(_) => Looked::Impossible,
        };
        base.with_pairs.keep(key, looked.clone());
        looked
    });
    match looked {
        Looked::Reckoned(study) => Some(study),
        Looked::Impossible => None,
    }
}

/// Whether pairs are to be looked at, by a course that knows single faults only.
pub fn wanted(course: &Course<'_>) -> bool {
    let some = course.evidence().len() >= LEAST_READINGS;
    let told = || file_says_so(course.study.circuit());
    course.found_in_vain || (some && (told() || doubt::strained(course)))
}

/// The file gives two parts so much trouble that both may be bad.
fn file_says_so(circuit: &Circuit) -> bool {
    circuit.parts.iter().filter(|part| part.trouble >= TROUBLESOME).count() >= 2
}

/// The pairs to hold against the readings of a course that knows single faults only.
pub fn candidates(course: &Course<'_>) -> Vec<Pair> {
    let lineup = course.study.lineup();
    let all: Vec<Pair> = lineup.pairs().collect();
    if all.len() <= MOST_PAIRS {
        return all;
    }
    let weight_of = lineup.pair_weight(&course.study.weights);
    let scored = |pair: Pair| {
        let better = course.evidence().iter().map(|taken| {
            let of = |at: SuspectId| taken.reading.likelihood[at.index()];
            of(pair.0).max(of(pair.1)).max(f64::MIN_POSITIVE).ln()
        });
        (weight_of(pair).max(f64::MIN_POSITIVE).ln() + better.sum::<f64>(), pair)
    };
    let mut scored: Vec<(f64, Pair)> = all.into_iter().map(scored).collect();
    scored.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    scored.truncate(MOST_CHOSEN);
    let mut chosen: Vec<Pair> = scored.into_iter().map(|(_, pair)| pair).collect();
    chosen.sort_unstable();
    chosen
}

/// The pairs to plan with, by a course that knows all candidates; none where single faults do.
pub fn likeliest(course: &Course<'_>) -> Vec<Pair> {
    let shares = course.believed().shares.iter().copied();
    let suspects = course.study.lineup().suspects.iter();
    let pairs = suspects.zip(shares).filter_map(|(suspect, share)| Some((share, suspect.pair()?)));
    let mut pairs: Vec<(f64, Pair)> = pairs.collect();
    let total: f64 = pairs.iter().map(|(share, _)| share).sum();
    let told = course.found_in_vain || file_says_so(course.study.circuit());
    let negligible = if told { NEGLIGIBLE.0 } else { NEGLIGIBLE.1 };
    if total < negligible {
        return Vec::new();
    }
    pairs.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let mut sum = 0.0;
    let mut chosen: Vec<Pair> = pairs
        .into_iter()
        .take(MOST_PLANNED)
        .take_while(|(share, _)| {
            let goes_on = sum < ENOUGH * total;
            sum += share;
            goes_on
        })
        .map(|(_, pair)| pair)
        .collect();
    chosen.sort_unstable();
    chosen
}

/// Suspicion on two faults at once.
pub fn share(lineup: &Lineup, belief: &[f64]) -> f64 {
    let pairs = lineup.suspects.iter().zip(belief).filter(|(suspect, _)| suspect.pair().is_some());
    pairs.map(|(_, share)| share).sum()
}
