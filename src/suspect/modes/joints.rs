//! Fault modes of connector pins beside bad contact, of straps, and of wires in a bundle.

use super::{CHAFED_OHMS, HEAVY_DECADES, List};
use crate::circuit::{ConnectorId, PartId};
use crate::suspect::damage::Damage;
use crate::suspect::fix::Fix;

/// Wires in each other's place: seldom, as it takes somebody to have worked there (common practice, no
/// source).
const SWAPPED: f64 = 0.02;

impl List<'_> {
    /// A pin, and with its neighbour the wires of both in each other's place.
    pub(super) fn pin(&mut self, connector: ConnectorId) {
        self.joint(1.5, "corroded pins");
        let pins = &self.circuit.connector(connector).pins;
        let own = pins.iter().position(|pin| *pin == self.part);
        let Some(&next) = own.and_then(|own| pins.get(own + 1)) else { return };
        let (link, other) = (self.links()[0], self.circuit.links_of(next)[0]);
        let words = format!("its wire swapped with that of {}", self.circuit.part(next).name);
        self.push("swapped", &words, SWAPPED, vec![Damage::Swapped(link, other)]);
        if let Some(mode) = self.modes.last_mut() {
            mode.fix = Some(Fix::of_swap(self.circuit, self.part, next));
        }
    }

    /// As a heavy cable.
    pub(super) fn strap(&mut self) {
        let link = self.links()[0];
        self.push("open", "broken or off", 0.2, vec![Damage::Open(link)]);
        self.high("", "corroded or loose end", 0.8, link, &HEAVY_DECADES);
        self.body(0.2);
    }

    /// Chafed through to the next wire of the same bundle, in the order of the file. Cable: short .45
    /// (MIL-HDBK-338B, from memory), of which the frame has the larger share.
    pub(super) fn neighbour(&mut self) {
        let circuit = self.circuit;
        let Some(bundle) = &circuit.part(self.part).bundle else { return };
        let after = (self.part.0 + 1..circuit.parts.len() as u32).map(PartId);
        let next = after.into_iter().find(|at| circuit.part(*at).bundle.as_ref() == Some(bundle));
        let Some(next) = next else { return };
        let (from, to) = circuit.ends(self.links()[0]);
        let (other_from, other_to) = circuit.ends(circuit.links_of(next)[0]);
        // Two wires of one joint are one node: that they touch is no fault.
        let ends = [from, to];
        if ends.contains(&other_from) || ends.contains(&other_to) {
            return;
        }
        if [from, to, other_from, other_to].into_iter().any(|end| self.on_battery(end)) {
            return;
        }
        let words = format!("chafed through to the {}", circuit.part(next).name);
        let damage = vec![Damage::Touching(to, other_to, CHAFED_OHMS)];
        self.push("touches", &words, 0.05, damage);
    }
}
