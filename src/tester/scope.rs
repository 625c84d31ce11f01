//! Which part of a circuit a job is about.

use crate::circuit::{Circuit, Connector, PartId};
use crate::suspect::Lineup;

/// The parts whose tests are worth thinking of: all, or in a circuit of thousands those under suspicion.
#[derive(Debug, Clone, Default)]
pub struct Scope {
    /// Whether each part is in it; empty for all.
    parts: Vec<bool>,
}

impl Scope {
    /// The whole circuit.
    pub fn whole() -> Scope {
        Scope::default()
    }

    /// The parts that a line-up suspects.
    pub fn of(circuit: &Circuit, lineup: &Lineup) -> Scope {
        let mut parts = vec![false; circuit.parts.len()];
        for part in lineup.suspects.iter().filter_map(|suspect| suspect.part) {
            parts[part.index()] = true;
        }
        Scope { parts }
    }

    /// Nothing is left out.
    pub fn is_whole(&self) -> bool {
        self.parts.is_empty()
    }

    /// Whether a part is in it.
    pub fn has(&self, part: PartId) -> bool {
        self.parts.is_empty() || self.parts[part.index()]
    }

    /// Whether a connector has a pin in it.
    pub fn has_pin_of(&self, connector: &Connector) -> bool {
        self.parts.is_empty() || connector.pins.iter().any(|&pin| self.has(pin))
    }
}
