//! Low-rank changes of a factored network.
//!
//! The rows of some branches are ports: their lines are taken out of the factored matrix, which leaves one
//! unknown drive each, and put into a small dense core instead. With `A` the factored matrix, a change
//! of row `b` is `A x' = g + e_b s`, so `x' = x + z_b s` with `z_b` the column of the inverse, and the new
//! law of the branch decides `s`. Nothing is ever subtracted from a conductance, so opening a cable of a
//! milliohm loses no digits. A branch added between two nodes is a port too, its amperes the drive.

use super::table::Table;
use crate::electric::base::unit::Unit;
use crate::electric::base::values::{Place, Values};
use crate::electric::base::{Base, Column};
use crate::electric::law::Row;
use crate::electric::linear::dense::Dense;
use crate::electric::short::{PerPair, PerPort, PerWatched, each};

/// Room for so many ports is made at once.
const USUAL_PORTS: usize = 4;

/// Ports of a base and what each drive does to each of them.
#[derive(Debug, Clone)]
pub(in crate::electric) struct Core<'base> {
    pub base: &'base Base,
    pub places: PerPort<Place>,
    /// Units are asked for single unknowns if their base can be.
    asks: bool,
    units: Vec<Unit<'base>>,
    /// What each drive does to each port.
    pub table: Table,
}

impl<'base> Core<'base> {
    /// No ports as yet; `asks` where single unknowns tell all that has to be known.
    pub fn new(base: &'base Base, asks: bool) -> Self {
        Core {
            base,
            places: PerPort::new(),
            asks,
            units: Vec::with_capacity(USUAL_PORTS),
            table: Table::default(),
        }
    }

    /// What a unit at a place does, in the way this core is told.
    pub fn unit(&self, place: Place) -> Unit<'base> {
        if self.asks { Unit::new(self.base, place) } else { Unit::Kept(self.base.column(place)) }
    }

    /// Puts more ports behind its own.
    pub fn add_ports(&mut self, more: &[Place]) {
        let (old, size) = (self.places.len(), self.places.len() + more.len());
        self.units.reserve(more.len());
        for &place in more {
            self.places.push(place);
            self.units.push(self.unit(place));
            self.table.rest.push(self.base.at(place, &self.base.rest.all));
        }
        spread(&mut self.table.moved, old, size);
        if self.asks {
            self.ask_each_other(old);
        } else {
            self.look_at_each_other(old);
        }
    }

    /// What the drives of the ports from `old` on do to all ports, and those of the others to them.
    fn look_at_each_other(&mut self, old: usize) {
        let (size, moved) = (self.places.len(), &mut self.table.moved[..]);
        for (port, &place) in self.places.iter().enumerate() {
            let kept = if port < old { old } else { 0 };
            for (drive, unit) in self.units.iter().enumerate().skip(kept) {
                let at = &mut moved[port * size + drive];
                *at = unit.at(self.base, place);
                if matches!(place, Place::Pair(..)) {
                    at.1 = f64::from(u8::from(drive == port));
                }
            }
        }
    }

    /// The same where units are asked for single unknowns: for no more of them than tell the others.
    fn ask_each_other(&mut self, old: usize) {
        let size = self.places.len();
        for port in old..size {
            let own = self.units[port].at(self.base, self.places[port]);
            let amps = if self.is_pair(port) { 1.0 } else { own.1 };
            self.table.moved[port * size + port] = (own.0, amps);
            for other in 0..port {
                let (of_port, of_other) = self.ask_both(port, other);
                self.table.moved[port * size + other] = of_port;
                self.table.moved[other * size + port] = of_other;
            }
        }
    }

    fn is_pair(&self, port: usize) -> bool {
        matches!(self.places[port], Place::Pair(..))
    }

    /// The line of a port, of which a drive is a unit on the right side.
    fn row(&self, port: usize) -> Row {
        match self.places[port] {
            Place::Branch(branch) => self.base.rows[branch],
            Place::Pair(..) => Row { alpha: 0.0, beta: 1.0, gamma: 0.0 },
        }
    }

    /// Volts and amperes of a port under a unit of another, and the other way round.
    ///
    /// A port on its line has the volts that go with its amperes. And a unit on a line's right side is a source of
    /// `1 / alpha` volts in series, or where the line has no `alpha` of `1 / beta` amperes: what one of two sources
    /// makes of the other's branch is what that makes of its own, but for the sign where one gives volts and the
    /// other amperes (reciprocity, from B. D. H. Tellegen's theorem of 1952, from memory).
    fn ask_both(&self, port: usize, other: usize) -> ((f64, f64), (f64, f64)) {
        let (row, of_other) = (self.row(port), self.row(other));
        if row.alpha == 0.0 && of_other.alpha != 0.0 {
            let (of_other, of_port) = self.ask_both(other, port);
            return (of_port, of_other);
        }
        let unit = &self.units[other];
        let transfer = match self.places[port] {
            Place::Branch(branch) if row.alpha != 0.0 => {
                unit.unknown(self.base.layout.nodes + branch) / row.alpha
            }
            place => {
                let [from, to] = self.base.ends(place);
                -(unit.unknown(from) - unit.unknown(to)) / row.beta
            }
        };
        let with = |row: Row| {
            if row.alpha == 0.0 {
                return (-transfer * row.beta, 0.0);
            }
            (-row.beta * transfer, row.alpha * transfer)
        };
        (with(row), with(of_other))
    }

    /// One unknown under the drives.
    pub fn unknown(&self, unknown: usize, drives: &[f64]) -> f64 {
        self.sum(self.base.rest.all[unknown], drives, |unit| unit.unknown(unknown))
    }

    /// A value with what each drive adds to it.
    fn sum(&self, alone: f64, drives: &[f64], one: impl Fn(&Unit<'_>) -> f64) -> f64 {
        let moved = self.units.iter().zip(drives).filter(|(_, drive)| **drive != 0.0);
        moved.fold(alone, |sum, (unit, drive)| sum + drive * one(unit))
    }

    /// Volts and amperes of what is no port under the drives, on top of those without.
    pub fn under(&self, place: Place, alone: (f64, f64), drives: &[f64]) -> (f64, f64) {
        self.units.iter().zip(drives).fold(alone, |sum, (unit, drive)| {
            let (volts, amps) = unit.beside(self.base, place);
            (sum.0 + drive * volts, sum.1 + drive * amps)
        })
    }

    /// What is watched, under the drives on top of a solution without them. `None` where it has to be asked
    /// for one by one.
    pub fn watched_under(&self, alone: &Values, drives: &[f64]) -> Option<PerWatched> {
        let mut watched = PerWatched::from_slice(&alone.watched);
        for (unit, drive) in self.units.iter().zip(drives) {
            let Unit::Kept(column) = unit else { return None };
            for (sum, moved) in watched.iter_mut().zip(&column.watched) {
                *sum += drive * moved;
            }
        }
        Some(watched)
    }

    /// What the drives, and so much of a unit elsewhere, add to all unknowns, to be asked for them. `None` where
    /// whole columns are kept.
    pub fn field(
        &self,
        drives: &[f64],
        beside: Option<(&Unit<'base>, f64)>,
    ) -> Option<Unit<'base>> {
        if !self.asks {
            return None;
        }
        let units = self.units.iter().zip(drives.iter().copied()).chain(beside);
        let walks = units.filter_map(|(unit, drive)| Some((unit.walk()?, drive)));
        Some(Unit::Together(Box::new(self.base.together(walks)?)))
    }

    /// Volts and amperes that no unknown exceeds, nor any sum on the way to it: what its rounding is a
    /// share of.
    pub fn reach(&self, drives: &[f64]) -> (f64, f64) {
        let rest = (self.base.rest.most_volts, self.base.rest.most_amps);
        let each = self.units.iter().zip(&self.places).zip(drives);
        each.fold(rest, |(volts, amps), ((unit, &place), drive)| {
            let most = unit.most(self.base, place);
            (volts + drive.abs() * most.0, amps + drive.abs() * most.1)
        })
    }

    /// All unknowns under the drives, on top of a solution without them.
    pub fn add(&self, unknowns: &mut [f64], drives: &[f64]) {
        for (column, drive) in self.columns().iter().zip(drives) {
            if *drive != 0.0 {
                for (unknown, moved) in unknowns.iter_mut().zip(&column.all) {
                    *unknown += drive * moved;
                }
            }
        }
    }

    /// What each drive does, as a whole.
    pub fn columns(&self) -> Vec<Column<'base>> {
        let whole = |(unit, &place): (&Unit<'base>, &Place)| match unit {
            Unit::Kept(column) => column.clone(),
            Unit::Asked(_) | Unit::Together(_) => self.base.column(place),
        };
        self.units.iter().zip(&self.places).map(whole).collect()
    }

    /// The drives that keep every port on its line while a solution without drives moves each place by what
    /// `at` tells; or that move it off its line by what is `wanted`.
    pub fn answer(
        &self,
        dense: &Dense,
        lines: &[Row],
        at: impl Fn(Place) -> (f64, f64),
        wanted: Option<&[f64]>,
    ) -> PerPort<f64> {
        let right = each(lines.len(), 0.0, |port| {
            let (line, (volts, amps)) = (lines[port], at(self.places[port]));
            wanted.map_or(0.0, |wanted| wanted[port]) - line.alpha * volts - line.beta * amps
        });
        dense.solve(&right)
    }

    /// Volts and amperes of a port in such an answer to `unit`, which is on no port's line.
    pub fn moved_port(&self, port: usize, unit: &Unit<'_>, drives: &[f64]) -> (f64, f64) {
        let (volts, amps) = unit.beside(self.base, self.places[port]);
        let moved = self.table.moved_at(port, drives);
        (volts + moved.0, amps + moved.1)
    }

    /// One unknown of such an answer.
    pub fn moved(&self, unknown: usize, unit: &Unit<'_>, drives: &[f64]) -> f64 {
        self.sum(unit.unknown(unknown), drives, |unit| unit.unknown(unknown))
    }
}

/// Makes lines of `size` entries of lines of `old`.
fn spread(entries: &mut PerPair<(f64, f64)>, old: usize, size: usize) {
    entries.resize(size * size, (0.0, 0.0));
    for line in (1..old).rev() {
        entries.copy_within(line * old..(line + 1) * old, line * size);
    }
}
