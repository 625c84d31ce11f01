//! A turn of the tree that is not yet planned: how it was come to, and whether it is followed.

use super::{Leaning, Limits};
use crate::job::course::Course;
use crate::job::shown::reasons;
use crate::job::state::Job;
use crate::problem::sanitise;
use crate::suspect::fix::Work;

/// Ways less likely than this cannot be seen: they are left out.
const NEVER: f64 = 1e-9;
/// Steps on one way, at most.
const LONGEST: usize = 60;
/// A rare way is followed on while one repair cures with this probability: it does not branch.
const SURE: f64 = 0.9;
/// But no way is followed that is rarer than this share of the limit.
const TAIL: f64 = 0.05;
/// Parts with a smaller share of the suspicion are not kept.
const LEAST_LEANING: f64 = 1e-3;

/// A turn that is not yet planned.
#[derive(Debug, Clone)]
pub(super) struct Bud<'a> {
    /// The node it follows and the position among its outcomes.
    pub place: Option<(usize, usize)>,
    pub course: Course<'a>,
    /// Probability of each suspect and of having come here with it; sums to `reached`.
    pub weights: Vec<f64>,
    pub reached: f64,
    pub length: usize,
}

/// Buds in the order in which they are planned: likeliest first, older ones before younger.
pub(super) struct Waiting<'a>(pub Bud<'a>, pub usize);

impl PartialEq for Waiting<'_> {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Waiting<'_> {}

impl PartialOrd for Waiting<'_> {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Waiting<'_> {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.0.reached.total_cmp(&other.0.reached).then(other.1.cmp(&self.1))
    }
}

impl<'a> Bud<'a> {
    /// The turn after an outcome with this likelihood under each suspect; `None` when it is never seen.
    pub fn then(&self, course: Course<'a>, row: &[f64], outcome: usize) -> Option<Bud<'a>> {
        let joint = self.weights.iter().zip(row).map(|(weight, chance)| weight * chance);
        let weights: Vec<f64> = joint.collect();
        let reached: f64 = weights.iter().sum();
        let place = Some((0, outcome));
        let bud = Bud { place, course, weights, reached, length: self.length + 1 };
        (reached > NEVER).then_some(bud)
    }

    /// Whether this way is not followed: it is rare, and no repair is as good as certain.
    pub fn is_cut(&self, job: &Job, limits: &Limits) -> bool {
        if self.reached >= limits.cut_below {
            return self.length >= LONGEST;
        }
        let cured = self.course.fixes.last().is_some_and(|&(_, cured)| cured);
        let sure = || {
            let shares = self.course.fix_shares(&self.weights);
            let hand_on = |fix: usize| job.study().lineup().fixes[fix].work == Work::HandOn;
            let repairs = (0..shares.len()).filter(|&fix| !hand_on(fix));
            repairs.map(|fix| shares[fix]).fold(0.0, f64::max) >= SURE * self.reached
        };
        let tail = self.reached >= limits.cut_below * TAIL && (cured || sure());
        !tail || self.length >= LONGEST
    }

    /// The parts under suspicion here, likeliest first.
    pub fn leaves(&self, job: &Job) -> Vec<Leaning> {
        let mut shares =
            self.course.fix_shares(&self.weights).into_iter().enumerate().collect::<Vec<_>>();
        shares.retain(|(_, weight)| weight / self.reached >= LEAST_LEANING);
        shares.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        let leaning = |(fix, weight): (usize, f64)| Leaning {
            part: sanitise(&reasons::fix_part(job, fix)),
            share: weight / self.reached,
        };
        shares.into_iter().map(leaning).collect()
    }
}
