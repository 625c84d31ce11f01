//! The linear equations of a network: volts of nodes and amperes of branches together.

use super::error::SolveError;
use super::law::Row;
use super::network::{Branch, NodeId};

/// Leak of every node to ground, siemens: gives a floating island a level without loading anything.
///
/// A hundred nodes load a 10 megohm meter by a ten-thousandth, and so tell it nothing.
pub(super) const LEAK_SIEMENS: f64 = 1e-13;

/// Volts of every node, ground included, and amperes of every branch.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Unknowns {
    pub node_volts: Vec<f64>,
    pub branch_amps: Vec<f64>,
}

impl Unknowns {
    pub fn volts(&self, node: NodeId) -> f64 {
        self.node_volts[node.0 as usize]
    }

    pub fn across(&self, branch: &Branch) -> f64 {
        self.volts(branch.from) - self.volts(branch.to)
    }
}

/// Solves the equations: `rows` has a line for each branch; `inject` amperes come in at nodes.
pub(super) fn solve(
    nodes: u32,
    branches: &[Branch],
    rows: &[Row],
    inject: &[(NodeId, f64)],
) -> Result<Unknowns, SolveError> {
    let volts = nodes as usize - 1;
    let size = volts + branches.len();
    let mut matrix = vec![vec![0.0; size]; size];
    let mut right = vec![0.0; size];
    for (node, line) in matrix.iter_mut().enumerate().take(volts) {
        line[node] = LEAK_SIEMENS;
    }
    for (index, (branch, row)) in branches.iter().zip(rows).enumerate() {
        let current = volts + index;
        for (node, sign) in [(branch.from, 1.0), (branch.to, -1.0)] {
            let Some(node) = (node.0 as usize).checked_sub(1) else { continue };
            matrix[current][node] += sign * row.alpha;
            matrix[node][current] += sign;
        }
        matrix[current][current] += row.beta;
        right[current] = row.gamma;
    }
    for &(node, amps) in inject {
        if let Some(node) = (node.0 as usize).checked_sub(1) {
            right[node] += amps;
        }
    }
    let solution = eliminate(matrix, right)?;
    let mut node_volts = vec![0.0];
    node_volts.extend_from_slice(&solution[..volts]);
    Ok(Unknowns { node_volts, branch_amps: solution[volts..].to_vec() })
}

fn eliminate(mut matrix: Vec<Vec<f64>>, mut right: Vec<f64>) -> Result<Vec<f64>, SolveError> {
    let size = right.len();
    for step in 0..size {
        let pivot = (step..size)
            .max_by(|&a, &b| matrix[a][step].abs().total_cmp(&matrix[b][step].abs()))
            .unwrap_or(step);
        if matrix[pivot][step].abs() < f64::MIN_POSITIVE {
            return Err(SolveError::Singular { unknown: step });
        }
        matrix.swap(step, pivot);
        right.swap(step, pivot);
        let (done, rest) = matrix.split_at_mut(step + 1);
        let top = &done[step];
        for (offset, line) in rest.iter_mut().enumerate() {
            let factor = line[step] / top[step];
            if factor == 0.0 {
                continue;
            }
            for (entry, above) in line[step..].iter_mut().zip(&top[step..]) {
                *entry -= factor * above;
            }
            right[step + 1 + offset] -= factor * right[step];
        }
    }
    for step in (0..size).rev() {
        let known: f64 = (step + 1..size).map(|column| matrix[step][column] * right[column]).sum();
        right[step] = (right[step] - known) / matrix[step][step];
    }
    Ok(right)
}
