//! Fault modes of control units.

use super::List;
use crate::circuit::{Element, LinkId};
use crate::suspect::damage::Damage;

impl List<'_> {
    /// Dead, an output that fails or stays on, an input it no longer hears (common practice, no source:
    /// units fail far less often than the joints that lead to them).
    pub(super) fn control_box(&mut self) {
        let links = self.links().to_vec();
        self.push("dead", "fed, but does nothing", 0.15, vec![Damage::Deaf(links[0], false)]);
        let (mut inputs, mut outputs) = (Vec::new(), Vec::new());
        for link in links {
            match (self.circuit.graph[link].role, &self.circuit.graph[link].element) {
                ("input", Element::Sense { .. }) => inputs.push(link),
                ("contact", _) => outputs.push(link),
                _ => {}
            }
        }
        let share = 1.0 / outputs.len().max(1) as f64;
        for &link in &outputs {
            let name = self.far_end(link);
            let open = vec![Damage::Open(link)];
            self.push(&format!("{name}-open"), &format!("output {name} dead"), 0.1 * share, open);
            let on = vec![Damage::Welded(link)];
            self.push(&format!("{name}-on"), &format!("output {name} stays on"), 0.05 * share, on);
        }
        let share = 1.0 / inputs.len().max(1) as f64;
        for &link in &inputs {
            let name = self.far_end(link);
            let deaf = vec![Damage::Deaf(link, false)];
            self.push(
                &format!("{name}-deaf"),
                &format!("does not hear {name}"),
                0.05 * share,
                deaf,
            );
        }
    }

    /// Name of the input or output a link belongs to: of its ends the one that is neither feed nor ground, which
    /// come first, nor inside the unit, from where a link leads to its second end.
    fn far_end(&self, link: LinkId) -> String {
        let (first, second) = self.circuit.ends(link);
        let supply = self.circuit.part(self.part).terminals.get(..2).unwrap_or_default();
        let at = if supply.contains(&second) { first } else { second };
        let id = &self.circuit.terminal(at).id;
        id.rsplit_once('.').map_or_else(|| id.clone(), |(_, name)| name.to_owned())
    }
}
