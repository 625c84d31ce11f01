//! The ports of a still case brought onto their lines and curves.

use super::{MOST, Port, Still};
use crate::electric::law::curve::Point;
use crate::electric::law::{Form, Row};
use crate::electric::linear::dense::Dense;
use crate::electric::point::newton::{CorePoint, on_ports};
use crate::electric::point::table::Table;
use crate::electric::residual::TIGHT_AMPS;
use crate::electric::short::{PerPair, PerPort, each};

/// More ohms than these behind a curve are leaks, whose differences have no digits left.
const MOST_OHMS: f64 = 1e9;

/// Newton's steps on two curves before it is gone about with more care.
const MOST_STEPS: usize = 8;

/// A point this near its curve, by the share of its own volts and amperes, is on it.
const NEAR: f64 = 1e-9;

/// So few amperes make no volts.
const LEAST_AMPS: f64 = 1e-15;

/// The ports with some of them open.
struct Open<const N: usize> {
    moved: [(f64, f64); MOST * MOST],
    /// Those that bring all others onto their lines.
    drives: PerPort<f64>,
    /// What an ampere through each of the open ones is answered by.
    amperes: [PerPort<f64>; N],
    /// Volts of the open ones.
    volts: [f64; N],
    /// What an ampere through one of them takes from the volts of each.
    ohms: [[f64; N]; N],
}

impl Still<'_> {
    /// Brings every port onto its form; `None` where that cannot be trusted, or an open one would carry something
    /// by rounding.
    pub(super) fn settle(&mut self, forms: &[&Form; MOST]) -> Option<()> {
        let mut curves = (0..self.count).filter(|&port| forms[port].line().is_none());
        match (curves.next(), curves.next(), curves.next()) {
            (None, ..) => self.on_lines(forms),
            (Some(port), None, _) => {
                self.on_one_curve(forms, port).or_else(|| self.on_curves(forms))
            }
            (Some(one), Some(other), None) => {
                self.on_two_curves(forms, [one, other]).or_else(|| self.on_curves(forms))
            }
            _ => self.on_curves(forms),
        }?;
        let is_fine = |port: &Port| {
            port.drive.is_finite() && (port.row != Row::OPEN || port.at.1.abs() <= TIGHT_AMPS)
        };
        self.ports().iter().all(is_fine).then_some(())
    }

    fn on_lines(&mut self, forms: &[&Form; MOST]) -> Option<()> {
        for (port, form) in self.ports[..self.count].iter_mut().zip(forms) {
            port.row = form.line()?;
        }
        if let [port] = &mut self.ports[..self.count] {
            let (rest, unit) = (port.rest, port.moved_by(0, (0, port.column), &self.level.base));
            port.drive = port.row.drive(rest, unit);
            port.at = (rest.0 + port.drive * unit.0, rest.1 + port.drive * unit.1);
            return Some(());
        }
        let moved = self.moved();
        let dense = self.factored(&moved)?;
        let drives = dense.solve(&self.wanted());
        self.put(&drives, &moved);
        Some(())
    }

    /// What everything else is to a single curve tells where on it that is.
    fn on_one_curve(&mut self, forms: &[&Form; MOST], port: usize) -> Option<()> {
        let open = self.opened(forms, [port])?;
        let point = forms[port].on_line(open.volts[0], open.ohms[0][0], self.ports[port].at.0)?;
        self.close(&open, [port], [point], [(point.volts, point.amps)]);
        Some(())
    }

    /// The same of two: one after the other is brought to where it meets the rest, then Newton's steps. `None` where
    /// those come to no rest.
    fn on_two_curves(&mut self, forms: &[&Form; MOST], ports: [usize; 2]) -> Option<()> {
        let open = self.opened(forms, ports)?;
        let (volts, ohms) = (open.volts, open.ohms);
        let starts = ports.map(|port| self.ports[port].at);
        let [one, other] = ports.map(|port| forms[port]);
        let first = one.on_line(volts[0] - ohms[0][1] * starts[1].1, ohms[0][0], starts[0].0)?;
        let second = other.on_line(volts[1] - ohms[1][0] * first.amps, ohms[1][1], starts[1].0)?;
        let mut points = [first, second];
        for _ in 0..MOST_STEPS {
            // Where the tangents meet the rest.
            let line = |k: usize| {
                let Point { volts: at, amps, siemens } = points[k];
                let own = 1.0 + siemens * ohms[k][k];
                (own, siemens * ohms[k][1 - k], amps + siemens * (volts[k] - at))
            };
            let ((a, b, right), (d, c, other_right)) = (line(0), line(1));
            let pivot = a * d - b * c;
            let amps =
                [(right * d - b * other_right) / pivot, (a * other_right - c * right) / pivot];
            let at =
                [0, 1].map(|k| (volts[k] - ohms[k][0] * amps[0] - ohms[k][1] * amps[1], amps[k]));
            let next = [one.meet(at[0].0, at[0].1)?, other.meet(at[1].0, at[1].1)?];
            let is_there = (0..2).all(|k| {
                let off = ((next[k].volts - at[k].0).abs(), (next[k].amps - at[k].1).abs());
                off.0 <= NEAR * (1.0 + at[k].0.abs()) && off.1 <= NEAR * at[k].1.abs() + LEAST_AMPS
            });
            points = next;
            if is_there {
                self.close(&open, ports, points, at);
                return Some(());
            }
        }
        None
    }

    /// Everything with some curves open. `None` where that cannot be trusted.
    fn opened<const N: usize>(
        &mut self,
        forms: &[&Form; MOST],
        ports: [usize; N],
    ) -> Option<Open<N>> {
        for (port, form) in self.ports[..self.count].iter_mut().zip(forms) {
            port.row = form.line().unwrap_or(Row::OPEN);
        }
        let (count, moved) = (self.count, self.moved());
        let dense = self.factored(&moved)?;
        let drives = dense.solve(&self.wanted());
        let ampere =
            |port: usize| dense.solve(&each(count, 0.0, |one| f64::from(u8::from(one == port))));
        let amperes = ports.map(ampere);
        // What the two are a difference of must not have cost them their digits.
        self.put(&drives, &moved);
        let volts = ports.map(|port| self.ports[port].at.0);
        let ohms: [[f64; N]; N] = ports.map(|port| {
            let line = &moved[port * count..(port + 1) * count];
            let sum = |drives: &PerPort<f64>| -> f64 {
                line.iter().zip(drives).map(|(moved, drive)| moved.0 * drive).sum()
            };
            std::array::from_fn(|at| -sum(&amperes[at]))
        });
        // Of a single one the curve itself meets the rest, whatever that is.
        let most_ohms = if N > 1 { MOST_OHMS } else { f64::INFINITY };
        let is_held = |at: usize| (0.0..most_ohms).contains(&ohms[at][at]);
        let is_sound = self.is_within_reach() && (0..N).all(is_held);
        is_sound.then_some(Open { moved, drives, amperes, volts, ohms })
    }

    /// Puts the curves back in, at these points, where volts and amperes are these.
    fn close<const N: usize>(
        &mut self,
        open: &Open<N>,
        ports: [usize; N],
        points: [Point; N],
        at: [(f64, f64); N],
    ) {
        let mut drives = open.drives.clone();
        for (ampere, at) in open.amperes.iter().zip(&at) {
            for (drive, ampere) in drives.iter_mut().zip(ampere) {
                *drive += at.1 * ampere;
            }
        }
        self.put(&drives, &open.moved);
        for ((port, point), at) in ports.into_iter().zip(points).zip(at) {
            let port = &mut self.ports[port];
            (port.row, port.at) = (Row::tangent(point), at);
        }
    }

    fn on_curves(&mut self, forms: &[&Form; MOST]) -> Option<()> {
        let count = self.count;
        let table = Table {
            moved: PerPair::from_slice(&self.moved()[..count * count]),
            rest: each(count, (0.0, 0.0), |port| self.ports[port].rest),
        };
        let mut point = CorePoint::default();
        let start = || each(count, (0.0, 0.0), |port| self.ports[port].at);
        on_ports(&table, &forms[..count], start, &mut point)?;
        for (port, one) in self.ports[..count].iter_mut().enumerate() {
            (one.row, one.at, one.drive) = (point.lines[port], point.at[port], point.drives[port]);
        }
        Some(())
    }

    /// Volts and amperes at each port, a line a port, per unit of drive at each.
    pub(super) fn moved(&self) -> [(f64, f64); MOST * MOST] {
        let mut moved = [(0.0, 0.0); MOST * MOST];
        let ports = self.ports();
        let mut entries = moved.iter_mut();
        for (at, port) in ports.iter().enumerate() {
            for ((drive, other), entry) in ports.iter().enumerate().zip(&mut entries) {
                *entry = port.moved_by(at, (drive, other.column), &self.level.base);
            }
        }
        moved
    }

    /// The ports factored with their rows; `None` where that cannot be trusted.
    pub(super) fn factored(&self, moved: &[(f64, f64)]) -> Option<Dense> {
        let rows = self.ports.map(|port| port.row);
        let mut dense = Dense::default();
        let size = self.count;
        dense.factor(&rows[..size], &moved[..size * size]).then_some(dense)
    }

    /// What the drives have to make up at each port.
    fn wanted(&self) -> PerPort<f64> {
        each(self.count, 0.0, |port| {
            let Port { row, rest: (volts, amps), .. } = self.ports[port];
            row.gamma - row.alpha * volts - row.beta * amps
        })
    }

    /// Puts these drives on the ports.
    fn put(&mut self, drives: &[f64], moved: &[(f64, f64)]) {
        for (port, line) in self.ports[..self.count].iter_mut().zip(moved.chunks(drives.len())) {
            let moved = line.iter().zip(drives);
            port.at = moved.fold(port.rest, |at, (moved, drive)| {
                (at.0 + drive * moved.0, at.1 + drive * moved.1)
            });
        }
        for (port, drive) in self.ports.iter_mut().zip(drives) {
            port.drive = *drive;
        }
    }
}
