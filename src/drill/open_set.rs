//! Naming the parts that are still under suspicion: a drill of its own.
//!
//! Most mistakes are omissions, and they grow with the size of the circuit.

use crate::circuit::PartId;
use crate::job::study::Study;

/// A part with at least this share of the suspicion is open.
pub const OPEN_SHARE: f64 = 0.03;
/// One with less than this is closed; between the two, naming it or not is both right.
pub const CLOSED_SHARE: f64 = 0.01;

/// What was named, beside what is open.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct OpenSet {
    /// Rightly named.
    pub hits: Vec<(PartId, f64)>,
    /// Open and not named.
    pub omitted: Vec<(PartId, f64)>,
    /// Named and closed.
    pub extra: Vec<(PartId, f64)>,
}

impl OpenSet {
    /// Compares what was named with a belief.
    pub fn new(study: &Study, belief: &[f64], named: &[PartId]) -> OpenSet {
        let mut set = OpenSet::default();
        for (part, share) in by_part(study, belief) {
            let is_named = named.contains(&part);
            if is_named && share >= CLOSED_SHARE {
                set.hits.push((part, share));
            } else if is_named {
                set.extra.push((part, share));
            } else if share >= OPEN_SHARE {
                set.omitted.push((part, share));
            }
        }
        set
    }

    /// Share of all that was to be named or was, that was named rightly.
    pub fn score(&self) -> f64 {
        let all = self.hits.len() + self.omitted.len() + self.extra.len();
        if all == 0 { 1.0 } else { self.hits.len() as f64 / all as f64 }
    }
}

/// Suspicion on each part, the most suspect first; parts without any suspect come last, with none.
pub fn by_part(study: &Study, belief: &[f64]) -> Vec<(PartId, f64)> {
    let mut shares = vec![0.0; study.circuit().parts.len()];
    for (share, suspect) in belief.iter().zip(&study.lineup().suspects) {
        if let Some(part) = suspect.part {
            shares[part.index()] += share;
        }
    }
    let mut list: Vec<(PartId, f64)> = study.circuit().part_ids().zip(shares).collect();
    list.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    list
}

/// The parts that are open.
pub fn open_parts(study: &Study, belief: &[f64]) -> Vec<(PartId, f64)> {
    by_part(study, belief).into_iter().filter(|(_, share)| *share >= OPEN_SHARE).collect()
}
