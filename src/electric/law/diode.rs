//! A junction: exponential, with the resistance of its body in series.

use super::curve::{Point, meet};

/// Share of the given forward volts that falls over the body. From memory: a small rectifier or LED
/// at its rated amperes loses about a tenth of its drop in ohms.
const BODY_SHARE: f64 = 0.1;

/// Reverse leak through and around the chip, siemens. From memory; a gigaohm reads as open on any tester.
const LEAK_SIEMENS: f64 = 1e-9;

/// Volts per e-fold of the current. kT/q is 26 mV (Kuphaldt, Lessons In Electric Circuits III, ch. 3,
/// `tests/data/physics/diodes.yaml`); junctions of higher drop have larger factors: about 1.6 for a
/// silicon rectifier, 3 for an LED (from memory).
fn slope_volts(forward_volts: f64) -> f64 {
    (0.06 * forward_volts).clamp(0.026, 0.08)
}

/// A junction ready to be evaluated.
#[derive(Debug, Clone, Copy)]
pub(in crate::electric) struct Diode {
    slope_volts: f64,
    saturation_amps: f64,
    body_ohms: f64,
    /// Reverse breakdown: junction volts and amperes there.
    breakdown: Option<(f64, f64)>,
}

impl Diode {
    pub fn new(forward_volts: f64, at_amps: f64, zener_volts: Option<f64>) -> Self {
        let slope_volts = slope_volts(forward_volts);
        let body_ohms = BODY_SHARE * forward_volts / at_amps;
        let junction_volts = forward_volts * (1.0 - BODY_SHARE);
        let junction_amps = (at_amps - LEAK_SIEMENS * junction_volts).max(0.5 * at_amps);
        let saturation_amps = junction_amps / (junction_volts / slope_volts).exp_m1();
        let breakdown = zener_volts.map(|volts| ((volts - body_ohms * at_amps).max(0.0), at_amps));
        Diode { slope_volts, saturation_amps, body_ohms, breakdown }
    }

    /// Amperes and slope at junction volts.
    fn junction(self, volts: f64) -> Point {
        let forward = self.saturation_amps * (volts / self.slope_volts).exp();
        let mut amps = forward - self.saturation_amps + LEAK_SIEMENS * volts;
        let mut siemens = forward / self.slope_volts + LEAK_SIEMENS;
        if let Some((knee_volts, knee_amps)) = self.breakdown {
            let at_rest = (-knee_volts / self.slope_volts).exp();
            let reverse = ((-volts - knee_volts) / self.slope_volts).exp();
            amps -= knee_amps * (reverse - at_rest);
            siemens += knee_amps * reverse / self.slope_volts;
        }
        Point { volts, amps, siemens }
    }

    /// The point of the curve on the line `volts + ohms * amps = along`.
    pub fn meet(self, along: f64, ohms: f64) -> Point {
        let series_ohms = self.body_ohms + ohms;
        let (low, high) = self.bracket(along, series_ohms);
        let start = if along < 0.0 { low } else { high };
        let Point { volts, amps, siemens } =
            meet((along, series_ohms), (low, high), start, |volts| self.junction(volts));
        Point {
            volts: volts + self.body_ohms * amps,
            amps,
            siemens: siemens / (1.0 + self.body_ohms * siemens),
        }
    }

    /// Bounds for the junction volts on a line: the junction cannot take more than the line's volts,
    /// nor carry more than the line's short-circuit amperes. Newton's steps from the outer bound run
    /// down the convex side and never meet an exponential out of range.
    fn bracket(self, along: f64, series_ohms: f64) -> (f64, f64) {
        let limit_amps = along.abs() / series_ohms;
        if along >= 0.0 {
            let most = self.slope_volts * (limit_amps / self.saturation_amps).ln_1p();
            return (0.0, most.min(along));
        }
        let Some((knee_volts, knee_amps)) = self.breakdown else {
            return (along, 0.0);
        };
        let at_rest = (-knee_volts / self.slope_volts).exp();
        let most = knee_volts + self.slope_volts * (limit_amps / knee_amps + at_rest).ln();
        ((-most).max(along), 0.0)
    }

    /// Whether a guess has it conduct (or break down) by its volts while no more flows than leaks.
    pub fn is_starved(self, volts: f64, amps: f64) -> bool {
        let bends = if volts > 0.0 {
            volts > 3.0 * self.slope_volts
        } else {
            self.breakdown
                .is_some_and(|(knee_volts, _)| -volts > knee_volts - 20.0 * self.slope_volts)
        };
        bends && amps * volts < LEAK_SIEMENS * volts * volts
    }

    /// Slope of the lines it is met along: of the order of what usually feeds such a junction.
    pub fn line_ohms(self) -> f64 {
        10.0 * self.body_ohms
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(diode: Diode, along: f64, ohms: f64, expected_volts: f64, tolerance: f64) {
        let point = diode.meet(along, ohms);
        assert!(point.amps.is_finite() && point.siemens > 0.0);
        let off = point.volts + ohms * point.amps - along;
        assert!(off.abs() <= 1e-12 * along.abs().max(1.0), "off the line by {off} V");
        assert!(
            (point.volts - expected_volts).abs() <= tolerance,
            "{} V, not {expected_volts} V",
            point.volts
        );
    }

    #[test]
    fn forward_point_is_the_given_one() {
        check(Diode::new(0.7, 1.0, None), 0.7 + 5.0, 5.0, 0.7, 1e-9);
        check(Diode::new(2.0, 0.02, None), 2.0 + 0.02 * 500.0, 500.0, 2.0, 1e-9);
    }

    #[test]
    fn reverse_blocks_and_a_zener_holds() {
        check(Diode::new(0.7, 1.0, None), -12.0, 100.0, -12.0, 1e-3);
        check(Diode::new(0.7, 0.1, Some(5.6)), -5.6 - 0.1 * 47.0, 47.0, -5.6, 1e-6);
        check(Diode::new(0.7, 0.1, Some(5.6)), -3.0, 47.0, -3.0, 1e-3);
    }

    #[test]
    fn wild_lines_stay_finite() {
        for along in [-1e6, -100.0, 0.0, 1e-12, 1e3, 1e6] {
            for ohms in [1e-6, 1.0, 1e9] {
                let point = Diode::new(3.2, 0.02, Some(5.0)).meet(along, ohms);
                assert!(
                    point.volts.is_finite() && point.amps.is_finite() && point.siemens.is_finite()
                );
            }
        }
    }
}
