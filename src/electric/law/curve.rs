//! What lamps, diodes and motors have in common: more volts, more amperes.

/// A point of a curve and its slope there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::electric) struct Point {
    pub volts: f64,
    pub amps: f64,
    /// Change of amperes per volt, above zero.
    pub siemens: f64,
}

/// A step this short beside where it starts from is the last.
const SHORT_STEP: f64 = 1e-7;

/// Bisection and Newton together: the point of a curve on the line `volts + ohms * amps = along`.
///
/// The volts are between two bounds. Newton's step is taken when it stays inside the bracket, half the
/// bracket otherwise, so that it always ends; 80 halvings exhaust an `f64` of everyday size. A short step
/// of Newton's leaves an error of its square, so that it is the last, and goes along the tangent.
pub(in crate::electric) fn meet(
    (along, ohms): (f64, f64),
    (mut low, mut high): (f64, f64),
    start: f64,
    curve: impl Fn(f64) -> Point,
) -> Point {
    let mut at = curve(start.clamp(low, high));
    for _ in 0..80 {
        let value = at.volts + ohms * at.amps - along;
        if value > 0.0 {
            high = at.volts;
        } else {
            low = at.volts;
        }
        let step = -value / (1.0 + ohms * at.siemens);
        let newton = at.volts + step;
        if newton >= low && newton <= high {
            if step.abs() <= SHORT_STEP * at.volts.abs() {
                return Point { volts: newton, amps: at.amps + step * at.siemens, ..at };
            }
            at = curve(newton);
            continue;
        }
        let next = 0.5 * (low + high);
        if (next - at.volts).abs() <= f64::EPSILON * at.volts.abs() {
            return curve(next);
        }
        at = curve(next);
    }
    at
}
