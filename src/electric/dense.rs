//! A small dense matrix, factored with row exchange: the core of a low-rank update.

use super::short::{PerPair, PerPort};

/// A pivot that is less than this share of what it is a difference of has lost its digits.
const LEAST_PIVOT_SHARE: f64 = 1e-11;

/// Factors of a small square matrix.
#[derive(Debug, Clone, Default)]
pub(super) struct Dense {
    size: usize,
    /// Row by row: below the diagonal the factors of elimination, on and above it what is left.
    entries: PerPair,
    /// Line used at each step.
    lines: PerPort<usize>,
}

impl Dense {
    /// Factors `entries`, row by row. `None` when a pivot has lost so many digits that the answer could
    /// not be trusted. (A pivot that is small beside its line may be a leak, and good to the last digit.)
    pub fn new(size: usize, entries: PerPair) -> Option<Dense> {
        if let [only] = entries[..] {
            let is_fit = only.is_finite() && only != 0.0;
            return is_fit.then(|| Dense { size, entries, lines: PerPort::from_elem(0, 1) });
        }
        if let [a, b, c, d] = entries[..] {
            return Dense::two([a, b, c, d]);
        }
        let largest =
            |line: &[f64]| line.iter().fold(0.0, |most: f64, entry| most.max(entry.abs()));
        let mut scales: PerPort<f64> = entries.chunks_exact(size.max(1)).map(largest).collect();
        let original = entries.clone();
        let mut dense = Dense { size, entries, lines: (0..size).collect() };
        for step in 0..size {
            let share = |line: usize| dense.entries[line * size + step].abs() / scales[line];
            let best = (step..size).max_by(|&a, &b| share(a).total_cmp(&share(b)))?;
            dense.exchange(step, best);
            scales.swap(step, best);
            let pivot = dense.entries[step * size + step].abs();
            let met = original[dense.lines[step] * size + step].abs() + dense.taken(step);
            if !pivot.is_finite() || pivot == 0.0 || pivot < LEAST_PIVOT_SHARE * met {
                return None;
            }
            dense.eliminate(step);
        }
        Some(dense)
    }

    /// The same for two lines, as most cores have.
    fn two([a, b, c, d]: [f64; 4]) -> Option<Dense> {
        let scales = (a.abs().max(b.abs()), c.abs().max(d.abs()));
        let is_swapped = a.abs() / scales.0 < c.abs() / scales.1;
        let ([a, b], [c, d]) = if is_swapped { ([c, d], [a, b]) } else { ([a, b], [c, d]) };
        let factor = c / a;
        let last = d - factor * b;
        let is_fit = |pivot: f64, met: f64| {
            pivot.is_finite() && pivot != 0.0 && pivot.abs() >= LEAST_PIVOT_SHARE * met
        };
        let lines = if is_swapped { [1, 0] } else { [0, 1] };
        (is_fit(a, a.abs()) && is_fit(last, d.abs() + (factor * b).abs())).then(|| Dense {
            size: 2,
            entries: PerPair::from_slice(&[a, b, factor, last]),
            lines: PerPort::from_slice(&lines),
        })
    }

    fn exchange(&mut self, step: usize, best: usize) {
        if best != step {
            let size = self.size;
            self.lines.swap(step, best);
            let (above, below) = self.entries.split_at_mut(best * size);
            above[step * size..(step + 1) * size].swap_with_slice(&mut below[..size]);
        }
    }

    /// What elimination took from or gave to a pivot, signs aside.
    fn taken(&self, step: usize) -> f64 {
        let line = &self.entries[step * self.size..step * self.size + step];
        line.iter()
            .enumerate()
            .map(|(up, factor)| (factor * self.entries[up * self.size + step]).abs())
            .sum()
    }

    fn eliminate(&mut self, step: usize) {
        let (above, below) = self.entries.split_at_mut((step + 1) * self.size);
        let top = &above[step * self.size..];
        for line in below.chunks_exact_mut(self.size) {
            let factor = line[step] / top[step];
            line[step] = factor;
            if factor != 0.0 {
                for (entry, up) in line[step + 1..].iter_mut().zip(&top[step + 1..]) {
                    *entry -= factor * up;
                }
            }
        }
    }

    /// Solves for one right side.
    pub fn solve(&self, right: &[f64]) -> PerPort<f64> {
        match self.entries[..] {
            [only] => return PerPort::from_slice(&[right[0] / only]),
            [a, b, factor, last] => {
                let first = right[self.lines[0]];
                let second = (right[self.lines[1]] - factor * first) / last;
                return PerPort::from_slice(&[(first - b * second) / a, second]);
            }
            _ => {}
        }
        let mut answer: PerPort<f64> = self.lines.iter().map(|&line| right[line]).collect();
        for step in 0..self.size {
            let line = &self.entries[step * self.size..];
            let known: f64 = line[..step].iter().zip(&answer).map(|(a, b)| a * b).sum();
            answer[step] -= known;
        }
        for step in (0..self.size).rev() {
            let line = &self.entries[step * self.size..(step + 1) * self.size];
            let known: f64 =
                line[step + 1..].iter().zip(&answer[step + 1..]).map(|(a, b)| a * b).sum();
            answer[step] = (answer[step] - known) / line[step];
        }
        answer
    }
}

#[cfg(test)]
mod tests {
    use smallvec::smallvec;

    use super::*;

    #[test]
    fn two_lines_are_solved_as_more_are() {
        for [a, b, c, d] in [[1.0, 2.0, 3.0, 4.0], [1e-9, 1.0, 1.0, 1.0], [5.0, -1.0, 0.0, 1e-12]] {
            let two = Dense::new(2, smallvec![a, b, c, d]).unwrap().solve(&[7.0, -2.0]);
            let entries = smallvec![a, b, 0.0, c, d, 0.0, 0.0, 0.0, 1.0];
            let three = Dense::new(3, entries).unwrap().solve(&[7.0, -2.0, 0.0]);
            for (two, three) in two.iter().zip(&three) {
                assert!((two - three).abs() <= 1e-14 * three.abs(), "{two} {three}");
            }
        }
        assert!(Dense::new(2, smallvec![0.0, 1.0, 0.0, 1.0]).is_none());
    }

    #[test]
    fn solves_what_needs_an_exchange_and_refuses_what_has_no_answer() {
        let solved = Dense::new(2, smallvec![0.0, 2.0, 3.0, 1.0]).unwrap().solve(&[4.0, 5.0]);
        assert_eq!(solved[..], [1.0, 2.0]);
        assert!(Dense::new(2, smallvec![1.0, 1.0, 1.0, 1.0 + 1e-14]).is_none());
        assert!(Dense::new(2, smallvec![1.0, 1.0, 0.0, 1e-14]).is_some());
        assert!(Dense::new(1, smallvec![f64::NAN]).is_none());
        assert!(Dense::new(0, smallvec![]).unwrap().solve(&[]).is_empty());
    }
}
