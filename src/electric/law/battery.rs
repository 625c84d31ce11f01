//! A battery that takes current less willingly than it gives it.

use super::curve::Point;

/// A battery ready to be evaluated; its curve has two straight pieces that meet at no current.
#[derive(Debug, Clone, Copy)]
pub(in crate::electric) struct Battery {
    pub volts: f64,
    pub ohms: f64,
    pub charge_ohms: f64,
}

impl Battery {
    /// The point of the curve on the line `volts + ohms * amps = along`.
    pub fn meet(self, along: f64, ohms: f64) -> Point {
        let own = if along > self.volts { self.charge_ohms } else { self.ohms };
        let amps = (along - self.volts) / (own + ohms);
        Point { volts: self.volts + own * amps, amps, siemens: 1.0 / own }
    }

    /// The same with its volts turned down to a share.
    pub fn turned(self, share: f64) -> Battery {
        Battery { volts: share * self.volts, ..self }
    }

    /// Slope of the lines it is met along: of the order of what it usually feeds.
    pub fn line_ohms(self) -> f64 {
        10.0 * self.ohms
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(along: f64, expected_volts: f64, expected_amps: f64) {
        let point = Battery { volts: 12.6, ohms: 0.01, charge_ohms: 0.2 }.meet(along, 0.05);
        assert!((point.volts - expected_volts).abs() < 1e-9, "{} V", point.volts);
        assert!((point.amps - expected_amps).abs() < 1e-9, "{} A", point.amps);
    }

    #[test]
    fn gives_readily_and_takes_slowly() {
        check(12.6 - 100.0 * 0.06, 11.6, -100.0);
        check(12.6, 12.6, 0.0);
        check(12.6 + 8.0 * 0.25, 14.2, 8.0);
    }
}
