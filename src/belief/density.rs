//! The likelihood of a number that was read.

/// Where a number is expected, and how far off it may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expected {
    /// The value expected, in any unit.
    pub value: f64,
    /// Standard deviation around it, same unit, above zero.
    pub sigma: f64,
}

/// What goes wrong beyond the spread around the expected value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GrossError {
    /// Chance that the number has nothing to do with what should be read.
    pub probability: f64,
    /// Width of the range it may then lie in, in the unit of the number, above zero.
    pub range: f64,
}

impl GrossError {
    /// The density of a number read by such a mistake.
    pub fn density(self) -> f64 {
        self.probability / self.range
    }
}

/// Density of reading `value`: a normal core and an even floor, so that no reading rules anything out.
///
/// `(1 - eps) Normal(value; expected, sigma) + eps / range`.
pub fn density(value: f64, expected: Expected, gross: GrossError) -> f64 {
    let off = (value - expected.value) / expected.sigma;
    let core = (-0.5 * off * off).exp() / (expected.sigma * std::f64::consts::TAU.sqrt());
    (1.0 - gross.probability) * core + gross.density()
}
