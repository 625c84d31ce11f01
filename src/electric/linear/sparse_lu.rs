//! A sparse matrix as the product of two triangular ones.
//!
//! Left-looking elimination, a column at a time, after J. R. Gilbert and T. Peierls (from memory): a
//! depth-first search finds which earlier columns a new one meets, so that the work is in proportion to
//! the arithmetic.

use super::equations::Columns;
use super::ordering::Order;

/// The paired equation stays the pivot while it is at least this share of the largest in its column.
const DIAGONAL_SHARE: f64 = 0.1;

const UNSET: usize = usize::MAX;

/// Factors of a matrix. `step` is a position in the order of elimination.
#[derive(Debug, Clone)]
pub(in crate::electric) struct Factors {
    /// Unknown found at each step.
    unknown_of: Vec<usize>,
    /// Equation used at each step.
    equation_of: Vec<usize>,
    /// Paired equation of each step, as the ordering wished it.
    wished: Vec<usize>,
    /// Below the diagonal, a column a step: equation and factor.
    lower: Triangle,
    /// Above the diagonal, a column a step: earlier step and value, in an order fit for elimination.
    upper: Triangle,
    pivots: Vec<f64>,
}

#[derive(Debug, Clone, Default)]
struct Triangle {
    starts: Vec<usize>,
    entries: Vec<(usize, f64)>,
}

impl Triangle {
    fn column(&self, step: usize) -> &[(usize, f64)] {
        &self.entries[self.starts[step]..self.starts[step + 1]]
    }
}

/// What the elimination of a column needs, kept between columns.
struct Work {
    values: Vec<f64>,
    /// Step at which an equation was used, or `UNSET`.
    step_of: Vec<usize>,
    /// Column in which an equation was last met.
    met_in: Vec<usize>,
    /// Equations met in this column, those searched last first.
    met: Vec<usize>,
    stack: Vec<(usize, usize)>,
}

impl Factors {
    /// Factors `matrix`; an unknown for which no pivot is left comes back as the error.
    pub fn new(matrix: &Columns, order: &Order) -> Result<Factors, usize> {
        let size = matrix.size();
        let mut factors = Factors {
            unknown_of: order.iter().map(|pair| pair.1).collect(),
            equation_of: Vec::with_capacity(size),
            wished: order.iter().map(|pair| pair.0).collect(),
            lower: Triangle { starts: vec![0], entries: Vec::with_capacity(4 * size) },
            upper: Triangle { starts: vec![0], entries: Vec::with_capacity(4 * size) },
            pivots: Vec::with_capacity(size),
        };
        let mut work = Work {
            values: vec![0.0; size],
            step_of: vec![UNSET; size],
            met_in: vec![UNSET; size],
            met: Vec::with_capacity(size),
            stack: Vec::new(),
        };
        for step in 0..size {
            factors.eliminate(step, matrix, &mut work)?;
        }
        Ok(factors)
    }

    fn eliminate(&mut self, step: usize, matrix: &Columns, work: &mut Work) -> Result<(), usize> {
        let unknown = self.unknown_of[step];
        work.met.clear();
        for &(equation, _) in matrix.column(unknown) {
            self.search(step, equation, work);
        }
        for &(equation, value) in matrix.column(unknown) {
            work.values[equation] += value;
        }
        for index in (0..work.met.len()).rev() {
            let earlier = work.step_of[work.met[index]];
            if earlier == UNSET {
                continue;
            }
            let value = std::mem::take(&mut work.values[work.met[index]]);
            self.upper.entries.push((earlier, value));
            for &(equation, factor) in self.lower.column(earlier) {
                work.values[equation] -= factor * value;
            }
        }
        self.upper.starts.push(self.upper.entries.len());
        let (equation, pivot) = self.choose(step, work).ok_or(unknown)?;
        work.step_of[equation] = step;
        self.equation_of.push(equation);
        self.pivots.push(pivot);
        for index in 0..work.met.len() {
            let other = work.met[index];
            let value = std::mem::take(&mut work.values[other]);
            // Zeros stay: with other values `refactor` may find something there.
            if work.step_of[other] == UNSET {
                self.lower.entries.push((other, value / pivot));
            }
        }
        self.lower.starts.push(self.lower.entries.len());
        Ok(())
    }

    /// Depth-first from an equation through the columns of `lower`; leaves `met` in reverse order of use.
    fn search(&self, step: usize, equation: usize, work: &mut Work) {
        if work.met_in[equation] == step {
            return;
        }
        work.met_in[equation] = step;
        work.stack.push((equation, 0));
        while let Some((at, child)) = work.stack.pop() {
            let earlier = work.step_of[at];
            let below = if earlier == UNSET { &[][..] } else { self.lower.column(earlier) };
            let unmet = (child..below.len()).find(|&index| work.met_in[below[index].0] != step);
            let Some(index) = unmet else {
                work.met.push(at);
                continue;
            };
            work.stack.push((at, index + 1));
            work.met_in[below[index].0] = step;
            work.stack.push((below[index].0, 0));
        }
    }

    /// The pivot of a column: the wished equation if it is large enough, the largest otherwise.
    fn choose(&self, step: usize, work: &Work) -> Option<(usize, f64)> {
        let free = work.met.iter().copied().filter(|&equation| work.step_of[equation] == UNSET);
        let size = |equation: &usize| work.values[*equation].abs();
        let largest = free.max_by(|a, b| size(a).total_cmp(&size(b)))?;
        let wished = self.wished[step];
        let fit = work.step_of[wished] == UNSET && size(&wished) >= DIAGONAL_SHARE * size(&largest);
        let chosen = if fit { wished } else { largest };
        let pivot = work.values[chosen];
        (pivot.is_finite() && pivot != 0.0).then_some((chosen, pivot))
    }

    /// The same pattern and pivots with other values; false when a pivot has become too small beside its
    /// column, and the factors are then of no use.
    pub fn refactor(&mut self, matrix: &Columns) -> bool {
        let size = matrix.size();
        let mut values = vec![0.0; size];
        for step in 0..size {
            for &(equation, value) in matrix.column(self.unknown_of[step]) {
                values[equation] += value;
            }
            for index in self.upper.starts[step]..self.upper.starts[step + 1] {
                let (earlier, value) = &mut self.upper.entries[index];
                *value = std::mem::take(&mut values[self.equation_of[*earlier]]);
                for &(equation, factor) in self.lower.column(*earlier) {
                    values[equation] -= factor * *value;
                }
            }
            let pivot = std::mem::take(&mut values[self.equation_of[step]]);
            let mut largest = 0.0_f64;
            for (equation, factor) in
                &mut self.lower.entries[self.lower.starts[step]..self.lower.starts[step + 1]]
            {
                let value = std::mem::take(&mut values[*equation]);
                largest = largest.max(value.abs());
                *factor = value / pivot;
            }
            if !pivot.is_finite() || pivot == 0.0 || pivot.abs() < DIAGONAL_SHARE * largest {
                return false;
            }
            self.pivots[step] = pivot;
        }
        true
    }

    pub fn size(&self) -> usize {
        self.pivots.len()
    }

    /// Equation used and unknown found at a step.
    pub fn pair(&self, step: usize) -> (usize, usize) {
        (self.equation_of[step], self.unknown_of[step])
    }

    pub fn pivot(&self, step: usize) -> f64 {
        self.pivots[step]
    }

    /// Equation and factor of what a step takes from later equations.
    pub fn lower(&self, step: usize) -> &[(usize, f64)] {
        self.lower.column(step)
    }

    /// Earlier steps and what their unknowns take from that of a step.
    pub fn upper(&self, step: usize) -> &[(usize, f64)] {
        self.upper.column(step)
    }

    /// Solves for one right side, by equation; the answer is by unknown.
    pub fn solve(&self, mut right: Vec<f64>) -> Vec<f64> {
        let mut by_step = vec![0.0; right.len()];
        for (step, value) in by_step.iter_mut().enumerate() {
            *value = right[self.equation_of[step]];
            if *value != 0.0 {
                for &(equation, factor) in self.lower.column(step) {
                    right[equation] -= factor * *value;
                }
            }
        }
        for step in (0..by_step.len()).rev() {
            let value = by_step[step] / self.pivots[step];
            right[self.unknown_of[step]] = value;
            if value != 0.0 {
                for &(earlier, above) in self.upper.column(step) {
                    by_step[earlier] -= above * value;
                }
            }
        }
        right
    }
}
