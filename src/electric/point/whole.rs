//! A changed network taken whole: slow, and true where a core is not.

use std::borrow::Cow;

use super::newton::{WholePoint, on_whole};
use crate::electric::changed::Changed;
use crate::electric::error::SolveError;
use crate::electric::law::Form;
use crate::electric::linear::equations::Layout;
use crate::electric::moves::Moves;
use crate::electric::network::{Branch, BranchId, Law, NodeId, Relay};
use crate::electric::sensitivity::Answer;
use crate::electric::settle::{Plant, State};

/// A changed network taken whole: factored anew for every step. Slow, and true where a core is not.
#[derive(Debug, Clone)]
pub(in crate::electric) struct Whole<'net> {
    pub layout: Layout,
    moves: Vec<Moves>,
    relays: Cow<'net, [Relay]>,
    fuses: Cow<'net, [(BranchId, f64)]>,
    /// All unknowns, to begin from.
    start: Vec<f64>,
}

impl<'net> Whole<'net> {
    /// Begins from nothing.
    pub fn new(changed: &Changed<'net>) -> Self {
        let network = changed.network;
        let mut branches = network.branches.clone();
        for (branch, law) in &changed.laws {
            branches[branch.0 as usize].law = *law;
        }
        branches.extend_from_slice(&changed.across);
        let layout = Layout::new(network.nodes.max(1), &branches);
        let moves = branches
            .iter()
            .enumerate()
            .map(|(index, branch)| Moves::of(BranchId(index as u32), &branch.law));
        Whole {
            start: vec![0.0; layout.size()],
            moves: moves.collect(),
            layout,
            relays: changed.relays.clone(),
            fuses: changed.fuses.clone(),
        }
    }

    /// The same network with one more branch.
    pub fn with_branch(&self, branch: &Branch) -> Self {
        let mut more = self.clone();
        let id = BranchId(self.layout.ends.len() as u32);
        more.layout.ends.push((branch.from.0 as usize, branch.to.0 as usize));
        more.moves.push(Moves::of(id, &branch.law));
        more.start.push(0.0);
        if let Law::Fuse { rated_amps, .. } = branch.law {
            more.fuses.to_mut().push((id, rated_amps));
        }
        more
    }

    /// Resistance between two nodes at a point.
    pub fn ohms(&self, point: &WholePoint, from: NodeId, to: NodeId) -> f64 {
        let unit = point.factors.solve(self.layout.ampere(from, to));
        (unit[to.0 as usize] - unit[from.0 as usize]).max(0.0)
    }

    /// All unknowns per ampere drawn from one node and given back at another, beside those of the point.
    pub fn answer(&self, point: &WholePoint, from: NodeId, to: NodeId) -> Answer<'static> {
        let unit = point.factors.solve(self.layout.ampere(from, to));
        Answer::Whole { nodes: self.layout.nodes, unit, at: point.unknowns.clone() }
    }

    /// The worst step a further refinement would make at a node.
    pub fn error_volts(&self, point: &WholePoint) -> f64 {
        let right = self.layout.right(&point.rows);
        let left = self.layout.matrix(&point.rows).left_over(&right, &point.unknowns);
        let step = point.factors.solve(left);
        step[..self.layout.nodes].iter().fold(0.0, |worst: f64, volts| worst.max(volts.abs()))
    }
}

impl Plant for Whole<'_> {
    type Point = Box<WholePoint>;
    type Error = SolveError;

    fn relays(&self) -> &[Relay] {
        &self.relays
    }

    fn fuses(&self) -> &[(BranchId, f64)] {
        &self.fuses
    }

    fn operate(
        &mut self,
        state: &State,
        near: Option<&Box<WholePoint>>,
    ) -> Result<Box<WholePoint>, SolveError> {
        let forms: Vec<&Form> = self.moves.iter().map(|moves| moves.form(state)).collect();
        let start = near.map_or(&self.start, |near| &near.unknowns);
        on_whole(&self.layout, &forms, start).map(Box::new)
    }

    fn amps(&self, point: &Box<WholePoint>, branch: BranchId) -> f64 {
        point.unknowns[self.layout.nodes + branch.0 as usize]
    }
}
