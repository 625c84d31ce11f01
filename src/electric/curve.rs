//! What lamps, diodes and motors have in common: more volts, more amperes.

/// A point of a curve and its slope there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Point {
    pub volts: f64,
    pub amps: f64,
    /// Change of amperes per volt, above zero.
    pub siemens: f64,
}

/// A step this short beside where it starts from is the last.
const SHORT_STEP: f64 = 1e-7;

/// Bisection and Newton together: the root of a rising function between two bounds.
///
/// `rising` gives value and slope. Newton's step is taken when it stays inside the bracket, half the
/// bracket otherwise, so that it always ends; 80 halvings exhaust an `f64` of everyday size. A short step
/// of Newton's leaves an error of its square, so that it is the last.
pub(super) fn root(
    mut low: f64,
    mut high: f64,
    start: f64,
    rising: impl Fn(f64) -> (f64, f64),
) -> f64 {
    let mut at = start.clamp(low, high);
    for _ in 0..80 {
        let (value, slope) = rising(at);
        if value > 0.0 {
            high = at;
        } else {
            low = at;
        }
        let newton = at - value / slope;
        if newton >= low && newton <= high {
            if (newton - at).abs() <= SHORT_STEP * at.abs() {
                return newton;
            }
            at = newton;
            continue;
        }
        let next = 0.5 * (low + high);
        if (next - at).abs() <= f64::EPSILON * at.abs() {
            return next;
        }
        at = next;
    }
    at
}
