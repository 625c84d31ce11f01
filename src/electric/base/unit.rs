//! What a unit of drive at a place does to all unknowns.

use super::values::Place;
use super::{Base, Column};
use crate::electric::linear::paths::together::Together;
use crate::electric::linear::paths::walk::Walk;

/// What a unit of drive does to all unknowns: kept, or to be asked for one by one.
#[derive(Debug, Clone)]
pub(in crate::electric) enum Unit<'base> {
    Kept(Column<'base>),
    Asked(Walk<'base>),
    /// So much of each of some such units.
    Together(Box<Together<'base>>),
}

impl<'base> Unit<'base> {
    /// Asked for one by one where the network is large.
    pub fn new(base: &'base Base, place: Place) -> Self {
        match base.walk(place) {
            Some(walk) => Unit::Asked(walk),
            None => Unit::Kept(base.column(place)),
        }
    }

    /// One that is asked.
    pub fn walk(&self) -> Option<&Walk<'base>> {
        match self {
            Unit::Asked(walk) => Some(walk),
            Unit::Kept(_) | Unit::Together(_) => None,
        }
    }

    #[inline]
    pub fn unknown(&self, unknown: usize) -> f64 {
        match self {
            Unit::Kept(column) => column.all[unknown],
            Unit::Asked(walk) => walk.unknown(unknown),
            Unit::Together(walks) => walks.unknown(unknown),
        }
    }

    /// Volts and amperes of a place; amperes of a pair are none.
    #[inline]
    pub fn at(&self, base: &Base, place: Place) -> (f64, f64) {
        if let Unit::Kept(column) = self {
            return base.at(place, &column.all);
        }
        let [from, to] = base.ends(place);
        let volts = self.unknown(from) - self.unknown(to);
        match place {
            Place::Branch(branch) => (volts, self.unknown(base.layout.nodes + branch)),
            Place::Pair(..) => (volts, 0.0),
        }
    }

    /// The same of a place on whose line the unit puts nothing: of a line that takes volts, its amperes tell both.
    pub fn beside(&self, base: &Base, place: Place) -> (f64, f64) {
        if let (Unit::Asked(_) | Unit::Together(_), Place::Branch(branch)) = (self, place) {
            let row = base.rows[branch];
            if row.alpha != 0.0 {
                let amps = self.unknown(base.layout.nodes + branch);
                return (-row.beta * amps / row.alpha, amps);
            }
        }
        self.at(base, place)
    }

    /// Volts and amperes that no unknown exceeds, of the unit at `place`. Of a unit alone in a network of
    /// resistances its own nodes have the most volts, and its own branch the most amperes.
    pub fn most(&self, base: &Base, place: Place) -> (f64, f64) {
        if let Unit::Kept(column) = self {
            return (column.most_volts, column.most_amps);
        }
        let amps = match place {
            Place::Branch(branch) => self.unknown(base.layout.nodes + branch).abs(),
            Place::Pair(..) => 1.0,
        };
        let [from, to] = base.ends(place);
        (self.unknown(from).abs().max(self.unknown(to).abs()), amps)
    }
}
