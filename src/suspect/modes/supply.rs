//! Fault modes of charging sources, fusible links and breakers.

use super::{LIGHT_DECADES, List, SHORTED};
use crate::circuit::Element;
use crate::suspect::damage::Damage;

impl List<'_> {
    /// No table at hand has charging sources as a whole; the split is common practice, no source.
    pub(super) fn charging_source(&mut self) {
        let (Some(rectifier), Some(generator)) = (self.role("rectifier"), self.role("generator"))
        else {
            return;
        };
        let Element::Generator { control, steps } = self.circuit.graph[generator].element.clone()
        else {
            return;
        };
        let instead = |change: fn((f64, f64)) -> (f64, f64)| {
            let steps = steps.iter().map(|step| change(*step)).collect();
            Damage::Instead(generator, Element::Generator { control, steps })
        };
        let mut dead = vec![Damage::Open(generator)];
        // Not excited, it leaves its charge lamp the rotor for ground: the lamp stays lit.
        if let Some(exciter) = self.role("exciter")
            && let Element::Generator { steps, .. } = &self.circuit.graph[exciter].element
        {
            let still = steps.iter().copied().find(|step| step.0 == 0.0).unwrap_or(steps[0]);
            let steps = vec![still; steps.len()];
            dead.push(Damage::Instead(exciter, Element::Generator { control, steps }));
        }
        self.push("dead", "gives nothing: brushes, rotor or regulator", 0.5, dead);
        let weak = vec![instead(|(volts, ohms)| (volts, 3.0 * ohms))];
        self.push("weak", "a phase or diode lost, gives a third", 0.3, weak);
        let over = vec![instead(|(volts, ohms)| (1.2 * volts, ohms))];
        self.push("over", "regulator lets the volts run away", 0.2, over);
        // Diode: short .49, open .36 (MIL-HDBK-338B).
        let damage = vec![Damage::Instead(rectifier, SHORTED)];
        self.push("rectifier-shorted", "rectifier lets current back at rest", 0.15, damage);
        let damage = vec![Damage::Open(rectifier)];
        self.push("rectifier-open", "rectifier open, nothing gets out", 0.11, damage);
    }

    /// As a fuse, but seldomer; its crimped ends sit in the wet (common practice, no source).
    pub(super) fn fusible_link(&mut self) {
        let link = self.links()[0];
        self.push("blown", "burnt through inside its sleeve", 0.4, vec![Damage::Open(link)]);
        self.high("", "corroded ends", 0.3, link, &LIGHT_DECADES[..2]);
    }

    /// Circuit breaker: opens unprompted .51, does not open .49 (MIL-HDBK-338B, from memory); of the
    /// second nothing is felt until something else is wrong.
    pub(super) fn breaker(&mut self) {
        let link = self.links()[0];
        self.push("tripped", "open, no overload behind it", 0.51, vec![Damage::Open(link)]);
        self.high("", "burnt contacts", 0.2, link, &LIGHT_DECADES[..2]);
    }
}
