//! A direct-current motor under load: stands, then turns.

use super::curve::Point;

/// Share of the running amperes at which the armature breaks loose. A choice of ours, no source: a
/// starter or fan draws nearly the same amperes at any speed, a little more when it turns fast.
const BREAK_LOOSE: f64 = 0.9;

/// A motor ready to be evaluated; its curve has two straight pieces.
#[derive(Debug, Clone, Copy)]
pub(in crate::electric) struct Motor {
    stall_ohms: f64,
    /// Amperes at the corner.
    corner_amps: f64,
    /// Slope beyond the corner, siemens.
    turning_siemens: f64,
}

impl Motor {
    pub fn new(stall_ohms: f64, running_amps: f64, rated_volts: f64) -> Self {
        let corner_amps = BREAK_LOOSE * running_amps;
        let room_volts = rated_volts - corner_amps * stall_ohms;
        let rising = (running_amps - corner_amps) / room_volts;
        // A motor whose rated point lies below its stall line never turns: one straight line.
        let turning_siemens =
            if room_volts > 0.0 { rising.min(1.0 / stall_ohms) } else { 1.0 / stall_ohms };
        Motor { stall_ohms, corner_amps, turning_siemens }
    }

    /// The point of the curve on the line `volts + ohms * amps = along`.
    pub fn meet(self, along: f64, ohms: f64) -> Point {
        let standing = along.abs() / (self.stall_ohms + ohms);
        if standing <= self.corner_amps {
            return self.point(along, standing, 1.0 / self.stall_ohms);
        }
        let corner_along = self.corner_amps * (self.stall_ohms + ohms);
        let siemens = self.turning_siemens;
        let beyond_volts = (along.abs() - corner_along) / (1.0 + ohms * siemens);
        let volts = self.corner_amps * self.stall_ohms + beyond_volts;
        let amps = self.corner_amps + siemens * beyond_volts;
        Point { volts: volts.copysign(along), amps: amps.copysign(along), siemens }
    }

    fn point(self, along: f64, amps: f64, siemens: f64) -> Point {
        Point {
            volts: (amps * self.stall_ohms).copysign(along),
            amps: amps.copysign(along),
            siemens,
        }
    }

    /// Slope of the lines it is met along: of the order of a healthy cable and battery.
    pub fn line_ohms(self) -> f64 {
        self.stall_ohms
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(along: f64, ohms: f64, expected_volts: f64, expected_amps: f64) {
        let point = Motor::new(0.02, 150.0, 10.0).meet(along, ohms);
        assert!((point.volts - expected_volts).abs() < 1e-9, "{} V", point.volts);
        assert!((point.amps - expected_amps).abs() < 1e-9, "{} A", point.amps);
    }

    #[test]
    fn stands_below_the_corner_turns_above() {
        check(0.0, 0.01, 0.0, 0.0);
        check(3.0, 0.01, 2.0, 100.0);
        check(10.0 + 150.0 * 0.01, 0.01, 10.0, 150.0);
        check(-10.0 - 150.0 * 0.01, 0.01, -10.0, -150.0);
    }
}
