//! The equations of a network: volts of nodes and amperes of branches are the unknowns.
//!
//! Unknown `n` is the volts of node `n`, ground's being zero; unknown `nodes + b` the amperes of branch
//! `b`. Equation `n` sums the amperes at node `n`; equation `nodes + b` is the line of branch `b`.

use crate::electric::law::Row;
use crate::electric::network::{Branch, NodeId};

/// Leak of every node to ground, siemens: gives a floating island a level without loading anything.
///
/// A hundred nodes load a 10 megohm meter by a ten-thousandth, and so tell it nothing.
pub(in crate::electric) const LEAK_SIEMENS: f64 = 1e-13;

/// Which branch is between which nodes.
#[derive(Debug, Clone, Default)]
pub(in crate::electric) struct Layout {
    pub nodes: usize,
    /// From and to of each branch.
    pub ends: Vec<(usize, usize)>,
}

/// A square sparse matrix by columns.
#[derive(Debug, Clone, Default)]
pub(in crate::electric) struct Columns {
    /// Where each column starts among the entries; one more at the end.
    pub starts: Vec<usize>,
    /// Equation and factor.
    pub entries: Vec<(usize, f64)>,
}

impl Columns {
    pub fn size(&self) -> usize {
        self.starts.len().saturating_sub(1)
    }

    pub fn column(&self, unknown: usize) -> &[(usize, f64)] {
        &self.entries[self.starts[unknown]..self.starts[unknown + 1]]
    }

    /// What a solution leaves over of the right sides, each sum carried in two numbers so that it is not
    /// itself rounded.
    pub fn left_over(&self, right: &[f64], solution: &[f64]) -> Vec<f64> {
        let mut sums: Vec<Sum> = right.iter().map(|&high| Sum { high, low: 0.0 }).collect();
        for (unknown, &value) in solution.iter().enumerate() {
            for &(equation, factor) in self.column(unknown) {
                sums[equation].take(-factor, value);
            }
        }
        sums.iter().map(|sum| sum.high + sum.low).collect()
    }
}

/// A sum with its rounding errors beside it (T. J. Dekker 1971 and D. E. Knuth, from memory).
#[derive(Debug, Clone, Copy, Default)]
struct Sum {
    high: f64,
    low: f64,
}

impl Sum {
    fn take(&mut self, factor: f64, value: f64) {
        let product = factor * value;
        let lost = factor.mul_add(value, -product);
        let high = self.high + product;
        let back = high - self.high;
        self.low += (self.high - (high - back)) + (product - back) + lost;
        self.high = high;
    }
}

impl Layout {
    pub fn new(nodes: u32, branches: &[Branch]) -> Self {
        let ends = |branch: &Branch| (branch.from.0 as usize, branch.to.0 as usize);
        Layout { nodes: nodes as usize, ends: branches.iter().map(ends).collect() }
    }

    /// Number of unknowns, ground's volts included.
    pub fn size(&self) -> usize {
        self.nodes + self.ends.len()
    }

    /// Volts of a branch in a solution.
    pub fn across(&self, unknowns: &[f64], branch: usize) -> f64 {
        let (from, to) = self.ends[branch];
        unknowns[from] - unknowns[to]
    }

    /// The matrix whose branch lines are `rows`.
    pub fn matrix(&self, rows: &[Row]) -> Columns {
        let mut touching: Vec<Vec<(usize, f64)>> = vec![Vec::new(); self.nodes];
        for (branch, (&(from, to), row)) in self.ends.iter().zip(rows).enumerate() {
            if from != to && row.alpha != 0.0 {
                touching[from].push((self.nodes + branch, row.alpha));
                touching[to].push((self.nodes + branch, -row.alpha));
            }
        }
        let mut matrix = Columns { starts: vec![0], entries: vec![(0, 1.0)] };
        for (node, lines) in touching.iter().enumerate().skip(1) {
            matrix.starts.push(matrix.entries.len());
            matrix.entries.push((node, LEAK_SIEMENS));
            matrix.entries.extend_from_slice(lines);
        }
        for (branch, (&(from, to), row)) in self.ends.iter().zip(rows).enumerate() {
            matrix.starts.push(matrix.entries.len());
            let ends = [(from, 1.0), (to, -1.0)];
            matrix.entries.extend(ends.iter().filter(|(node, _)| *node != 0 && from != to));
            if row.beta != 0.0 {
                matrix.entries.push((self.nodes + branch, row.beta));
            }
        }
        matrix.starts.push(matrix.entries.len());
        matrix
    }

    /// The right sides that go with [`Layout::matrix`].
    pub fn right(&self, rows: &[Row]) -> Vec<f64> {
        let mut right = vec![0.0; self.nodes];
        right.extend(rows.iter().map(|row| row.gamma));
        right
    }

    /// The right sides of an ampere taken out at `from` and put back at `to`.
    pub fn ampere(&self, from: NodeId, to: NodeId) -> Vec<f64> {
        let mut right = vec![0.0; self.size()];
        right[from.0 as usize] -= 1.0;
        right[to.0 as usize] += 1.0;
        right[0] = 0.0;
        right
    }
}
