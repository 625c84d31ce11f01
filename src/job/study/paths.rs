//! The circuit by its current paths: who follows whom from the supply to ground when it works.

use std::collections::HashSet;

use petgraph::visit::EdgeRef;

use crate::circuit::{Circuit, Kind, LinkId, PartId, TerminalId};
use crate::electric::{Case, Solver};
use crate::setup::Setup;
use crate::setup::wiring::{Wiring, negative_post, positive_post};

/// Amperes under which a link counts as carrying nothing.
const LEAST_AMPS: f64 = 1e-4;

/// One path: links in the order current meets them, each with the terminal behind it.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    /// The load that names it: the part which drops the most volts.
    pub load: PartId,
    /// Link and the terminal current reaches through it.
    pub links: Vec<(LinkId, TerminalId)>,
    /// Amperes at its thinnest.
    pub amps: f64,
}

/// The paths of the sound circuit in `setup`, the thinnest (control) first.
///
/// Empty when nothing flows or nothing can be solved.
pub fn ways(circuit: &Circuit, setup: &Setup) -> Vec<Way> {
    let wiring = Wiring::new(circuit, setup);
    let Ok(solver) = Solver::new(&wiring.network) else { return Vec::new() };
    let Ok(case) = solver.case(&[]) else { return Vec::new() };
    let Some(plus) = positive_post(circuit) else { return Vec::new() };
    let mut walk = Walk { circuit, wiring: &wiring, case: &case, seen: HashSet::new() };
    let mut ways = Vec::new();
    while let Some(way) = walk.one(plus) {
        ways.push(way);
    }
    ways.sort_by(|a, b| a.amps.total_cmp(&b.amps));
    ways
}

struct Walk<'a> {
    circuit: &'a Circuit,
    wiring: &'a Wiring,
    case: &'a Case<'a>,
    seen: HashSet<LinkId>,
}

impl Walk<'_> {
    /// One path from `plus` that meets at least one link not met before.
    fn one(&mut self, plus: TerminalId) -> Option<Way> {
        let mut at = plus;
        let mut links = Vec::new();
        let mut fresh = false;
        let mut been = HashSet::from([plus]);
        while Some(at) != negative_post(self.circuit) {
            let (link, next, new) = self.onward(at, &been)?;
            fresh |= new;
            self.seen.insert(link);
            been.insert(next);
            links.push((link, next));
            at = next;
        }
        if !fresh {
            return None;
        }
        let amps = links.iter().map(|(link, _)| self.amps(*link).abs()).fold(f64::MAX, f64::min);
        Some(Way { load: self.load(&links)?, links, amps })
    }

    /// The link to follow: one not met before if something beyond it is new, else the strongest.
    fn onward(
        &self,
        at: TerminalId,
        been: &HashSet<TerminalId>,
    ) -> Option<(LinkId, TerminalId, bool)> {
        self.circuit
            .graph
            .edges(at)
            .filter_map(|edge| {
                let link = edge.id();
                let (from, to) = self.circuit.graph.edge_endpoints(link)?;
                let (next, amps) =
                    if from == at { (to, self.amps(link)) } else { (from, -self.amps(link)) };
                let is_battery =
                    self.circuit.parts[edge.weight().part.index()].kind == Kind::Battery;
                let flows = amps > LEAST_AMPS && !is_battery && !been.contains(&next);
                flows.then(|| (link, next, !self.seen.contains(&link), amps))
            })
            .max_by(|a, b| a.2.cmp(&b.2).then(a.3.total_cmp(&b.3)))
            .map(|(link, next, new, _)| (link, next, new))
    }

    fn amps(&self, link: LinkId) -> f64 {
        self.case.branch_amps(self.wiring.branch(link))
    }

    fn load(&self, links: &[(LinkId, TerminalId)]) -> Option<PartId> {
        let drop = |link: LinkId| {
            let (from, to) = self.circuit.graph.edge_endpoints(link)?;
            let volts = |at: TerminalId| self.case.node_volts(self.wiring.node(at));
            Some((volts(from) - volts(to)).abs())
        };
        links
            .iter()
            .filter_map(|&(link, _)| Some((drop(link)?, self.circuit.graph[link].part)))
            .max_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(_, part)| part)
    }
}
