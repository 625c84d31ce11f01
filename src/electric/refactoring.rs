//! The other way to many operating points: the sparse matrix refactored for each, its pattern and pivots kept.
//!
//! Good simulators do so, and low-rank changes are measured beside it.

use super::case::Case;
use super::changed::Change;
use super::law::{Form, Row};
use super::linear::equations::{Columns, Layout};
use super::linear::ordering::order;
use super::linear::sparse_lu::Factors;
use super::moves::Moves;
use super::network::BranchId;
use super::point::newton::walk;
use super::ready::Ready;
use super::settle::State;

/// A branch without volts or amperes in its line has this factor while the pattern is found.
const PATTERN_FACTOR: f64 = 1e-3;

/// A network to be solved by refactoring, from its own operating point.
#[derive(Debug)]
pub struct Refactoring<'solver> {
    ready: &'solver Ready,
    layout: Layout,
    moves: Vec<Moves>,
    matrix: Columns,
    /// Where the factors of each branch's line are among the entries: of its two nodes, of its amperes.
    places: Vec<[Option<usize>; 3]>,
    factors: Factors,
    /// Volts and amperes of the branches at the network's own operating point.
    start: Vec<(f64, f64)>,
}

impl<'solver> Refactoring<'solver> {
    /// `None` where the network alone cannot be factored so.
    pub(super) fn new(ready: &'solver Ready) -> Option<Self> {
        let network = &ready.network;
        let layout = Layout::new(network.nodes.max(1), &network.branches);
        let level = ready.levels.last()?;
        let full = |row: &Row| Row {
            alpha: if row.alpha == 0.0 { PATTERN_FACTOR } else { row.alpha },
            beta: if row.beta == 0.0 { PATTERN_FACTOR } else { row.beta },
            gamma: row.gamma,
        };
        let rows: Vec<Row> = level.base.rows[..level.base.own].iter().map(full).collect();
        let matrix = layout.matrix(&rows);
        let find = |unknown: usize, equation: usize| {
            let at = matrix.column(unknown).iter().position(|entry| entry.0 == equation)?;
            Some(matrix.starts[unknown] + at)
        };
        let line = |branch: usize| {
            let ((from, to), own) = (layout.ends[branch], layout.nodes + branch);
            let of_node = |node| if from == to { None } else { find(node, own) };
            [of_node(from), of_node(to), find(own, own)]
        };
        let places = (0..layout.ends.len()).map(line).collect();
        let factors = Factors::new(&matrix, &order(&layout, &rows, &matrix)).ok()?;
        let moves = network.branches.iter().enumerate();
        let moves = moves.map(|(at, branch)| Moves::of(BranchId(at as u32), &branch.law)).collect();
        let rest = &level.base.rest.all;
        let at = |branch| (layout.across(rest, branch), rest[layout.nodes + branch]);
        let start = (0..layout.ends.len()).map(at).collect();
        Some(Refactoring { ready, layout, moves, matrix, places, factors, start })
    }

    /// Volts of all nodes under changes of laws, in the state in which `case` came to rest. `None` where the
    /// changes are of another kind, or it comes to nothing.
    pub fn node_volts(&mut self, changes: &[Change], case: &Case<'_>) -> Option<Vec<f64>> {
        let is_pulled = |relay: usize| case.pulled(super::network::RelayId(relay as u32));
        let pulled = (0..self.ready.network.relays.len()).map(is_pulled).collect();
        let state = State { pulled, blown: case.blown().to_vec() };
        let mut forms: Vec<Form> = self.moves.iter().map(|moves| *moves.form(&state)).collect();
        for change in changes {
            let Change::Law { branch, law } = change else { return None };
            *forms.get_mut(branch.0 as usize)? = *Moves::of(*branch, law).form(&state);
        }
        let mut unknowns = Vec::new();
        let start = self.start.as_slice().into();
        let forms: Vec<&Form> = forms.iter().collect();
        let found = walk(&forms, start, |rows| {
            unknowns = self.solve(rows)?;
            let at = |branch| {
                (self.layout.across(&unknowns, branch), unknowns[self.layout.nodes + branch])
            };
            Some((0..rows.len()).map(at).collect())
        });
        found?;
        unknowns.truncate(self.layout.nodes);
        Some(unknowns)
    }

    fn solve(&mut self, rows: &[Row]) -> Option<Vec<f64>> {
        for (row, places) in rows.iter().zip(&self.places) {
            for (place, factor) in places.iter().zip([row.alpha, -row.alpha, row.beta]) {
                if let Some(place) = *place {
                    self.matrix.entries[place].1 = factor;
                }
            }
        }
        if !self.factors.refactor(&self.matrix) {
            let order = order(&self.layout, rows, &self.matrix);
            self.factors = Factors::new(&self.matrix, &order).ok()?;
        }
        Some(self.factors.solve(self.layout.right(rows)))
    }
}
