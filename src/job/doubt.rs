//! Readings that do not fit: which one is most likely wrong.

use super::course::Course;

/// A suspect for whom a reading was this unlikely beside the suspect it fits best takes it for a slip.
pub const SLIP_RATIO: f64 = 0.12;
/// A reading is doubted aloud when it is a slip with more than this probability.
const SPEAK_UP: f64 = 0.35;
/// The drawing is doubted aloud when `outside` has more than this share.
const OUTSIDE: f64 = 0.3;

/// A reading that is likely wrong.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// The test's id.
    pub test: String,
    /// Probability, by all that was seen, that this reading was a slip.
    pub probability: f64,
}

/// The reading most likely wrong, if one is likely wrong.
///
/// A reading is a slip under a suspect who would hardly ever show it. Its probability of being one is
/// the belief in all such suspects: high only when everything else that was seen outweighs it.
pub fn doubted(course: &Course<'_>, belief: &[f64]) -> Option<Doubt> {
    let slip = |likelihood: &[f64]| -> f64 {
        let best = likelihood.iter().copied().fold(0.0, f64::max);
        belief
            .iter()
            .zip(likelihood)
            .filter(|(_, chance)| **chance < SLIP_RATIO * best)
            .map(|(share, _)| share)
            .sum()
    };
    course
        .evidence()
        .iter()
        .map(|(test, likelihood)| Doubt { test: test.clone(), probability: slip(likelihood) })
        .filter(|doubt| doubt.probability > SPEAK_UP)
        .max_by(|a, b| a.probability.total_cmp(&b.probability))
}

/// The drawing likely does not fit the machine.
pub fn drawing_doubted(belief: &[f64]) -> bool {
    belief.last().is_some_and(|outside| *outside > OUTSIDE)
}
