//! A filament lamp: its resistance follows its heat.

use super::curve::{Point, meet};

/// Amperes go with this power of the volts about the rated point.
///
/// Standard Handbook for Electrical Engineers, 11th edition, as cited in the encyclopedia article on
/// lamp rerating; `tests/data/physics/lamps.yaml`.
pub(in crate::electric) const AMPS_EXPONENT: f64 = 0.55;

/// Hot ohms over cold ohms: 4.80 and 0.350 ohm of a headlight filament in `OpenStax` College Physics
/// (`tests/data/physics/lamps.yaml`); common practice teaches 10 to 15.
pub(in crate::electric) const HOT_OVER_COLD: f64 = 4.80 / 0.350;

/// How sharply the cold limit takes over; at rated volts it adds `1 / (4 * 13.7^4)`, seven millionths.
const SHARPNESS: f64 = 4.0;

/// A filament with its rated point.
#[derive(Debug, Clone, Copy)]
pub(in crate::electric) struct Lamp {
    pub rated_volts: f64,
    pub rated_amps: f64,
}

impl Lamp {
    pub fn new(rated_volts: f64, watts: f64) -> Self {
        Lamp { rated_volts, rated_amps: watts / rated_volts }
    }

    /// `R = R_rated * (cold^4 + x^(4 * 0.45))^(1/4)` with `x` the share of rated volts: the power law
    /// when hot, the cold resistance near zero volts, smooth between.
    fn at(self, volts: f64) -> Point {
        let rated_ohms = self.rated_volts / self.rated_amps;
        let heat = (volts.abs() / self.rated_volts).powf((1.0 - AMPS_EXPONENT) * SHARPNESS);
        let cold = HOT_OVER_COLD.powi(-4);
        let ohms = rated_ohms * (cold + heat).sqrt().sqrt();
        let amps = volts / ohms;
        let share = 1.0 - (1.0 - AMPS_EXPONENT) * heat / (cold + heat);
        Point { volts, amps, siemens: share / ohms }
    }

    /// The point of the curve on the line `volts + ohms * amps = along`; `near` is a guess of its volts.
    pub fn meet(self, along: f64, ohms: f64, near: f64) -> Point {
        let (low, high) = if along < 0.0 { (along, 0.0) } else { (0.0, along) };
        meet((along, ohms), (low, high), near, |volts| self.at(volts))
    }

    /// Slope of the lines it is met along: its own resistance when lit.
    pub fn line_ohms(self) -> f64 {
        self.rated_volts / self.rated_amps
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(volts: f64, expected_amps: f64, tolerance: f64) {
        let amps = Lamp::new(12.0, 30.0).at(volts).amps;
        assert!(
            (amps - expected_amps).abs() <= tolerance,
            "{volts} V: {amps} A, not {expected_amps} A"
        );
    }

    #[test]
    fn rated_point_power_law_and_cold_resistance() {
        check(12.0, 2.5, 1e-4);
        check(-12.0, -2.5, 1e-4);
        check(13.5, 2.5 * (13.5_f64 / 12.0).powf(0.55), 1e-4);
        check(1e-6, 1e-6 / 0.35, 1e-9);
        check(0.0, 0.0, 0.0);
    }

    #[test]
    fn rises_everywhere_and_its_slope_is_its_slope() {
        let lamp = Lamp::new(12.0, 21.0);
        let mut before = lamp.at(0.0);
        for step in 1..2000 {
            let volts = f64::from(step) * 0.01;
            let point = lamp.at(volts);
            assert!(point.amps > before.amps, "at {volts} V");
            let mean = (point.amps - before.amps) / 0.01;
            let (low, high) =
                (point.siemens.min(before.siemens), point.siemens.max(before.siemens));
            assert!(mean >= low * 0.98 && mean <= high * 1.02, "at {volts} V: {low} {mean} {high}");
            before = point;
        }
    }

    #[test]
    fn meets_a_load_line() {
        let lamp = Lamp::new(12.0, 3.0);
        for along in [-20.0, -0.1, 0.0, 1e-9, 0.3, 12.0, 400.0] {
            let point = lamp.meet(along, 48.0, 0.5 * along);
            assert!(
                (point.volts + 48.0 * point.amps - along).abs() < 1e-12 * (1.0 + f64::abs(along))
            );
        }
    }
}
