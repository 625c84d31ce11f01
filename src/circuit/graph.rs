//! Looking things up in a circuit. Nothing here computes.

use petgraph::visit::EdgeRef;

use super::catalogue::supply;
use super::names::slug;
use super::{
    Circuit, Connector, ConnectorId, Control, ControlId, Element, Kind, Link, LinkId, Part, PartId,
    Place, PlaceId, Terminal, TerminalId,
};

impl Circuit {
    /// A part. Ids come from this circuit, so they are within its lists; the same holds for all below.
    pub fn part(&self, id: PartId) -> &Part {
        &self.parts[id.index()]
    }

    /// The same circuit with a battery of which the volts at rest were measured; its ohms go with its
    /// charge. `None` without a battery.
    pub fn with_battery_volts(&self, volts: f64) -> Option<Circuit> {
        let links = self.measured_batteries()?;
        let emf = |link: &LinkId| match self.graph[*link].element {
            Element::Emf { volts, .. } => volts,
            _ => 0.0,
        };
        let all_volts: f64 = links.iter().map(emf).sum();
        let twelves = self.system_volts / 12.0 / links.len() as f64;
        let mut measured = self.clone();
        for link in links {
            if let Element::Emf { volts: was, ohms } = &mut measured.graph[link].element {
                let run_down = |volts: f64| supply::run_down(volts / twelves);
                let now = volts * *was / all_volts;
                *ohms *= run_down(now) / run_down(*was);
                *was = now;
            }
        }
        measured.battery_measured = true;
        Some(measured)
    }

    /// The cells between the outer posts: of all batteries where they are in series, else of the first.
    fn measured_batteries(&self) -> Option<Vec<LinkId>> {
        let (plus, minus) = self.posts()?;
        let batteries = || self.parts.iter().filter(|part| part.kind == Kind::Battery);
        let in_series =
            batteries().any(|one| one.terminals[0] == plus && one.terminals[1] != minus);
        let count = if in_series { self.parts.len() } else { 1 };
        Some(batteries().take(count).flat_map(|battery| battery.links.clone()).collect())
    }

    /// The outer posts of the battery, positive and negative; of several in series, the ends of the row.
    ///
    /// A post that a wire joins to the other pole of another battery lies within the row.
    pub fn posts(&self) -> Option<(TerminalId, TerminalId)> {
        let batteries = || self.parts.iter().filter(|part| part.kind == Kind::Battery);
        let inner = |post: TerminalId, pole: usize| {
            self.links_at(post).into_iter().any(|(link, other)| {
                matches!(self.part(self.link(link).part).kind, Kind::Wire { .. })
                    && batteries().any(|battery| battery.terminals[pole] == other)
            })
        };
        let outer = |pole: usize| {
            let posts = || batteries().map(|battery| battery.terminals[pole]);
            posts().find(|post| !inner(*post, 1 - pole)).or_else(|| posts().next())
        };
        Some((outer(0)?, outer(1)?))
    }

    /// A place.
    pub fn place(&self, id: PlaceId) -> &Place {
        &self.places[id.index()]
    }

    /// A control.
    pub fn control(&self, id: ControlId) -> &Control {
        &self.controls[id.index()]
    }

    /// A connector.
    pub fn connector(&self, id: ConnectorId) -> &Connector {
        &self.connectors[id.index()]
    }

    /// A terminal.
    pub fn terminal(&self, id: TerminalId) -> &Terminal {
        &self.graph[id]
    }

    /// A link.
    pub fn link(&self, id: LinkId) -> &Link {
        &self.graph[id]
    }

    /// The ends of a link, the one its element counts as first before the other.
    ///
    /// # Panics
    /// Never for a link of this circuit.
    pub fn ends(&self, id: LinkId) -> (TerminalId, TerminalId) {
        self.graph.edge_endpoints(id).expect("a link id of this circuit: links are never removed")
    }

    /// The links of a part.
    pub fn links_of(&self, id: PartId) -> &[LinkId] {
        &self.part(id).links
    }

    /// All links in a fixed order.
    pub fn link_ids(&self) -> impl Iterator<Item = LinkId> + use<> {
        self.graph.edge_indices()
    }

    /// All terminals in a fixed order, the chassis first.
    pub fn terminal_ids(&self) -> impl Iterator<Item = TerminalId> + use<> {
        self.graph.node_indices()
    }

    /// All parts with their ids.
    pub fn part_ids(&self) -> impl Iterator<Item = PartId> + use<> {
        (0..self.parts.len() as u32).map(PartId)
    }

    /// A heavy cable ends on one of the part's terminals.
    pub fn carries_heavy(&self, id: PartId) -> bool {
        let links = self.part(id).terminals.iter().flat_map(|at| self.graph.edges(*at));
        let mut owners = links.map(|edge| &self.part(edge.weight().part).kind);
        owners.any(|kind| matches!(kind, Kind::Wire { heavy: true, .. }))
    }

    /// Links that meet at a terminal, each with the terminal at its other end.
    pub fn links_at(&self, id: TerminalId) -> Vec<(LinkId, TerminalId)> {
        let mut links: Vec<_> = self
            .graph
            .edges(id)
            .map(|edge| {
                let other = if edge.source() == id { edge.target() } else { edge.source() };
                (edge.id(), other)
            })
            .collect();
        links.sort_unstable();
        links
    }

    /// The terminal of this id; names as written (`battery.+`, `C2.loom side`) are understood too.
    pub fn find_terminal(&self, id: &str) -> Option<TerminalId> {
        let wanted = terminal_slug(id);
        self.terminal_ids().find(|terminal| self.graph[*terminal].id == wanted)
    }

    /// The part of this id or name.
    pub fn part_by_id(&self, id: &str) -> Option<PartId> {
        let wanted = slug(id);
        self.part_ids().find(|part| self.part(*part).id == wanted)
    }

    /// The control of this id or name.
    pub fn control_by_id(&self, id: &str) -> Option<ControlId> {
        let wanted = slug(id);
        self.controls.iter().position(|control| control.id == wanted).map(|i| ControlId(i as u32))
    }

    /// The battery, the first one if there are several.
    ///
    /// # Panics
    /// Never for a circuit from `read`.
    pub fn battery_id(&self) -> PartId {
        self.part_ids()
            .find(|id| self.part(*id).kind == Kind::Battery)
            .expect("`read` makes no circuit without a battery")
    }

    /// The battery, the first one if there are several.
    pub fn battery(&self) -> &Part {
        self.part(self.battery_id())
    }

    /// The battery's positive terminal.
    pub fn positive(&self) -> TerminalId {
        self.battery().terminals[0]
    }

    /// The battery's negative terminal.
    pub fn negative(&self) -> TerminalId {
        self.battery().terminals[1]
    }
}

/// A terminal's id from what was written: slugs of its owner and of the rest, with a dot between.
pub fn terminal_slug(written: &str) -> String {
    match written.split_once('.') {
        Some((owner, rest)) => format!("{}.{}", slug(owner), slug(rest)),
        None => slug(written),
    }
}
