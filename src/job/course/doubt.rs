//! Readings that do not fit: which one is most likely wrong.

use super::Course;

/// A reading is doubted aloud when it is a slip with more than this probability.
const SPEAK_UP: f64 = 0.35;
/// The drawing is doubted aloud when `outside` has more than this share.
const OUTSIDE: f64 = 0.3;

/// Below those, shares from which on single faults hardly explain what was seen: of a slip, of `outside`.
const STRAINED: (f64, f64) = (0.2, 0.1);

/// A reading that is likely wrong.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// The test's id.
    pub test: String,
    /// Probability, by all that was seen, that this reading was a slip.
    pub probability: f64,
}

/// The reading most likely wrong, if one is likely wrong.
pub fn doubted(course: &Course<'_>) -> Option<Doubt> {
    weakest(course).filter(|doubt| doubt.probability > SPEAK_UP)
}

/// The reading most likely wrong of those taken once, however unlikely that is: what to take once more where
/// nothing else is left to try.
pub fn weakest(course: &Course<'_>) -> Option<Doubt> {
    let mistakes = course.believed().mistakes();
    course
        .evidence()
        .iter()
        .zip(mistakes)
        // What was looked at twice is not asked for a third time.
        .filter(|(taken, _)| taken.times == 1)
        .map(|(taken, probability)| Doubt { test: taken.test.clone(), probability })
        .max_by(|a, b| a.probability.total_cmp(&b.probability))
}

/// Single faults hardly explain what was seen: without a slip, or without something outside the drawing.
pub fn strained(course: &Course<'_>) -> bool {
    let believed = course.believed();
    let slip = believed.mistakes().into_iter().fold(0.0, f64::max);
    let outside = believed.shares.last().copied().unwrap_or(0.0);
    slip > STRAINED.0 || outside > STRAINED.1
}

/// The drawing likely does not fit the machine.
pub fn drawing_doubted(belief: &[f64]) -> bool {
    belief.last().is_some_and(|outside| *outside > OUTSIDE)
}
