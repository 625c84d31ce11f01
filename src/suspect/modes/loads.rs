//! Fault modes of heaters, ignition coils, flashers, gauges and senders.

use super::{List, TURNS_LEFT};
use crate::circuit::Element;
use crate::suspect::damage::Damage;

impl List<'_> {
    /// Open, or shorted inside: a wirewound resistor has open .65, short .09 (MIL-HDBK-338B).
    pub(super) fn plain_load(&mut self, weight: f64, words: &str) {
        let link = self.links()[0];
        self.push("open", words, 0.65 * weight, vec![Damage::Open(link)]);
        let through = Element::Resistance { ohms: 0.05 };
        let damage = vec![Damage::Instead(link, through)];
        self.push("shorted", "shorted inside", 0.09 * weight, damage);
        self.body(0.26 * weight);
    }

    /// Coil or winding: open .42, short .42 (MIL-HDBK-338B); drift is not felt.
    pub(super) fn ignition_coil(&mut self) {
        let link = self.links()[0];
        let Element::Resistance { ohms } = self.circuit.graph[link].element else { return };
        self.push("open", "primary winding broken", 0.42, vec![Damage::Open(link)]);
        let left = Element::Resistance { ohms: ohms * TURNS_LEFT };
        let damage = vec![Damage::Instead(link, left), Damage::Mute(self.part)];
        self.push("turns", "most turns of its primary shorted", 0.42, damage);
    }

    /// Relay: fails to trip .55, spurious .26, short .19 (MIL-HDBK-338B), read as no current, no beat.
    pub(super) fn flasher(&mut self) {
        let Some(&link) = self.links().last() else { return };
        self.push("open", "passes no current", 0.55, vec![Damage::Open(link)]);
        let steady = vec![Damage::Welded(link), Damage::Mute(self.part)];
        self.push("steady", "passes current but does not beat", 0.45, steady);
    }

    /// Meter: faulty indication .51, cannot be adjusted .23, open .14, no indication .12 (MIL-HDBK-338B).
    pub(super) fn gauge(&mut self) {
        let link = self.links()[0];
        self.push("open", "winding open", 0.14, vec![Damage::Open(link)]);
        self.push("stuck", "needle stuck low", 0.86, vec![Damage::Mute(self.part)]);
    }

    /// Variable resistor: open .53, erratic .40, short .07 (MIL-HDBK-338B).
    pub(super) fn sender(&mut self) {
        let link = self.links()[0];
        self.push("open", "track or wiper open", 0.53, vec![Damage::Open(link)]);
        let Element::Variable { control, ohms } = self.circuit.graph[link].element.clone() else {
            return;
        };
        let least = ohms.iter().copied().fold(f64::INFINITY, f64::min);
        let most = ohms.iter().copied().fold(0.0, f64::max);
        let stuck = |value: f64| {
            let ohms = vec![value; ohms.len()];
            vec![Damage::Instead(link, Element::Variable { control, ohms })]
        };
        self.push("stuck-low", "does not move: stays at its least ohms", 0.2, stuck(least));
        self.push("stuck-high", "does not move: stays at its most ohms", 0.2, stuck(most));
        self.push("shorted", "shorted to its body", 0.07, stuck(0.05));
        self.body(0.2);
    }
}
