//! Two faults at once: when a job looks at pairs of suspects, and at which of them.
//!
//! While one fault explains what was seen, pairs would only cost time: all together have a share of a few per
//! cent. They come in when no single suspect fits, when a repair that should have cured has not, or when the
//! file says that two parts give trouble. What a pair shows is solved with both faults in the circuit. First
//! all pairs are held against the readings taken ([`candidates`]), then the plan is made with the few that are
//! left of them ([`likeliest`]).

use std::sync::Arc;

use super::Course;
use super::doubt;
use crate::circuit::Circuit;
use crate::job::study::Study;
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
/// `base` with these pairs; `None` where two faults together have no operating point.
pub fn study(base: &Study, pairs: Vec<Pair>, planned: bool) -> Option<Arc<Study>> {
    base.with_pairs.find((pairs, planned), |(pairs, planned)| base.paired(pairs, *planned).ok())
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
