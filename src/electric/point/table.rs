//! What drives on some ports do to each other.

use crate::electric::law::Row;
use crate::electric::linear::dense::Dense;
use crate::electric::short::{PerPair, PerPort, alike, each};

/// Ports with what each drive does to each of them.
#[derive(Debug, Clone, Default)]
pub(in crate::electric) struct Table {
    /// Volts and amperes at each port, a line a port, per drive.
    pub moved: PerPair<(f64, f64)>,
    /// Volts and amperes at each port with no drive.
    pub rest: PerPort<(f64, f64)>,
}

impl Table {
    /// The drives that bring every port onto its line. `None` where that cannot be trusted.
    pub fn drives(&self, lines: &[Row], dense: &mut Dense) -> Option<PerPort<f64>> {
        dense.factor(lines, &self.moved).then(|| dense.solve(&self.wanted(lines)))
    }

    /// What the drives have to make up at each port.
    fn wanted(&self, lines: &[Row]) -> PerPort<f64> {
        each(lines.len(), 0.0, |port| {
            let (line, (volts, amps)) = (lines[port], self.rest[port]);
            line.gamma - line.alpha * volts - line.beta * amps
        })
    }

    /// Volts and amperes of the ports under the drives.
    pub fn driven(&self, drives: &[f64]) -> PerPort<(f64, f64)> {
        each(self.rest.len(), (0.0, 0.0), |port| {
            let ((volts, amps), moved) = (self.rest[port], self.moved_at(port, drives));
            (volts + moved.0, amps + moved.1)
        })
    }

    /// What the drives add at a port.
    pub fn moved_at(&self, port: usize, drives: &[f64]) -> (f64, f64) {
        let size = self.rest.len();
        let line = self.moved[port * size..(port + 1) * size].iter().zip(drives);
        line.fold((0.0, 0.0), |sum, (moved, drive)| {
            (sum.0 + drive * moved.0, sum.1 + drive * moved.1)
        })
    }

    /// Volts and ohms behind a port that is open in `lines`: what everything else is to it. `None` where that
    /// cannot be told.
    pub fn seen_from(&self, port: usize, lines: &[Row], dense: &mut Dense) -> Option<(f64, f64)> {
        let drives = self.drives(lines, dense)?;
        let open_volts = self.rest[port].0 + self.moved_at(port, &drives).0;
        let mut ampere = alike(self.rest.len(), 0.0);
        ampere[port] = 1.0;
        let ohms = -self.moved_at(port, &dense.solve(&ampere)).0;
        (open_volts.is_finite() && ohms.is_finite() && ohms >= 0.0).then_some((open_volts, ohms))
    }
}
