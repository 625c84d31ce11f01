//! A small dense matrix, factored with row exchange: the core of a low-rank update.

use crate::electric::law::Row;
use crate::electric::short::{PerPair, PerPort, alike, each, nothing};

/// A pivot that is less than this share of what it is a difference of has lost its digits.
const LEAST_PIVOT_SHARE: f64 = 1e-11;

/// Factors of a small square matrix.
#[derive(Debug, Clone, Default)]
pub(in crate::electric) struct Dense {
    size: usize,
    /// Row by row: below the diagonal the factors of elimination, on and above it what is left.
    entries: PerPair<f64>,
    /// Line used at each step.
    lines: PerPort<usize>,
}

impl Dense {
    /// Factors the matrix that has, in the line of each row, what the row makes of volts and amperes. `false` when
    /// a pivot has lost so many digits that the answer could not be trusted. (A pivot that is small beside its line
    /// may be a leak, and good to the last digit.)
    pub fn factor(&mut self, rows: &[Row], moved: &[(f64, f64)]) -> bool {
        let size = rows.len();
        if size != self.size {
            (self.size, self.entries) = (size, nothing(size));
            self.lines = alike(size, 0);
        }
        let into = (&mut self.entries[..], &mut self.lines[..]);
        // Most cores are this small: their loops are unrolled.
        match size {
            1 => is_factored(1, (rows, moved), into),
            2 => is_factored(2, (rows, moved), into),
            3 => is_factored(3, (rows, moved), into),
            4 => is_factored(4, (rows, moved), into),
            size => is_factored(size, (rows, moved), into),
        }
    }

    /// Solves for one right side.
    pub fn solve(&self, right: &[f64]) -> PerPort<f64> {
        let mut answer = each(self.size, 0.0, |step| right[self.lines[step]]);
        match self.size {
            1 => substitute(1, &self.entries, &mut answer),
            2 => substitute(2, &self.entries, &mut answer),
            3 => substitute(3, &self.entries, &mut answer),
            4 => substitute(4, &self.entries, &mut answer),
            size => substitute(size, &self.entries, &mut answer),
        }
        answer
    }
}

/// Factors in place; false when a pivot has lost its digits.
#[expect(clippy::inline_always, reason = "each size it is called with is a function of its own")]
#[inline(always)]
fn is_factored(
    size: usize,
    (rows, moved): (&[Row], &[(f64, f64)]),
    (entries, lines): (&mut [f64], &mut [usize]),
) -> bool {
    let (rows, moved) = (&rows[..size], &moved[..size * size]);
    let (entries, lines) = (&mut entries[..size * size], &mut lines[..size]);
    let entry =
        |line: usize, (volts, amps): (f64, f64)| rows[line].alpha * volts + rows[line].beta * amps;
    let mut scales = alike(size, 0.0_f64);
    let scales = &mut scales[..size];
    for line in 0..size {
        lines[line] = line;
        let (mut most, first) = (0.0, line * size);
        for column in 0..size {
            let entry = entry(line, moved[first + column]);
            entries[first + column] = entry;
            most = if entry.abs() > most { entry.abs() } else { most };
        }
        scales[line] = most;
    }
    for step in 0..size {
        // The line with the largest entry beside its own largest.
        let (mut best, mut most) = (step, -1.0);
        for line in step..size {
            let share = entries[line * size + step].abs() / scales[line];
            if share > most {
                (best, most) = (line, share);
            }
        }
        if best != step {
            lines.swap(step, best);
            scales.swap(step, best);
            for column in 0..size {
                entries.swap(step * size + column, best * size + column);
            }
        }
        // What elimination took from or gave to it, signs aside.
        let mut met = entry(lines[step], moved[lines[step] * size + step]).abs();
        for up in 0..step {
            met += (entries[step * size + up] * entries[up * size + step]).abs();
        }
        let pivot = entries[step * size + step];
        if !pivot.is_finite() || pivot == 0.0 || pivot.abs() < LEAST_PIVOT_SHARE * met {
            return false;
        }
        let (done, later) = entries.split_at_mut((step + 1) * size);
        let pivots = &done[step * size..];
        for line in later.chunks_exact_mut(size) {
            let factor = line[step] / pivot;
            line[step] = factor;
            for column in step + 1..size {
                line[column] -= factor * pivots[column];
            }
        }
    }
    true
}

#[expect(clippy::inline_always, reason = "as above")]
#[inline(always)]
fn substitute(size: usize, entries: &[f64], answer: &mut [f64]) {
    let (entries, answer) = (&entries[..size * size], &mut answer[..size]);
    for step in 0..size {
        for up in 0..step {
            answer[step] -= entries[step * size + up] * answer[up];
        }
    }
    for step in (0..size).rev() {
        for later in step + 1..size {
            answer[step] -= entries[step * size + later] * answer[later];
        }
        answer[step] /= entries[step * size + step];
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn factored(size: usize, entries: &[f64]) -> Option<Dense> {
        let mut dense = Dense::default();
        let volts: Vec<(f64, f64)> = entries.iter().map(|&entry| (entry, 0.0)).collect();
        let row = Row { alpha: 1.0, beta: 0.0, gamma: 0.0 };
        dense.factor(&vec![row; size], &volts).then_some(dense)
    }

    #[test]
    fn two_lines_are_solved_as_more_are() {
        for [a, b, c, d] in [[1.0, 2.0, 3.0, 4.0], [1e-9, 1.0, 1.0, 1.0], [5.0, -1.0, 0.0, 1e-12]] {
            let two = factored(2, &[a, b, c, d]).unwrap().solve(&[7.0, -2.0]);
            let mut entries: Vec<f64> =
                (0..25).map(|at| f64::from(u8::from(at % 6 == 0))).collect();
            (entries[0], entries[1], entries[5], entries[6]) = (a, b, c, d);
            let five = factored(5, &entries).unwrap().solve(&[7.0, -2.0, 0.0, 3.0, 0.0]);
            assert_eq!((&two[..], 3.0), (&five[..2], five[3]));
        }
        assert!(factored(2, &[0.0, 1.0, 0.0, 1.0]).is_none());
    }

    #[test]
    fn solves_what_needs_an_exchange_and_refuses_what_has_no_answer() {
        let solved = factored(2, &[0.0, 2.0, 3.0, 1.0]).unwrap().solve(&[4.0, 5.0]);
        assert_eq!(solved[..], [1.0, 2.0]);
        assert!(factored(2, &[1.0, 1.0, 1.0, 1.0 + 1e-14]).is_none());
        assert!(factored(2, &[1.0, 1.0, 0.0, 1e-14]).is_some());
        assert!(factored(1, &[f64::NAN]).is_none());
        assert!(factored(0, &[]).unwrap().solve(&[]).is_empty());
    }
}
