//! A small dense matrix, factored with row exchange: the core of a low-rank update.

use super::short::{PerPair, PerPort, each};

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
    pub fn new(size: usize, mut entries: PerPair) -> Option<Dense> {
        let mut lines = each(size, 0, |line| line);
        let original = PerPair::from_slice(&entries);
        let places = (&mut entries[..], &mut lines[..]);
        // Most cores are this small: their loops are unrolled.
        let is_fit = match size {
            1 => is_factored(1, &original, places),
            2 => is_factored(2, &original, places),
            3 => is_factored(3, &original, places),
            4 => is_factored(4, &original, places),
            _ => is_factored(size, &original, places),
        };
        is_fit.then_some(Dense { size, entries, lines })
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
    original: &[f64],
    (entries, lines): (&mut [f64], &mut [usize]),
) -> bool {
    let (original, entries) = (&original[..size * size], &mut entries[..size * size]);
    let lines = &mut lines[..size];
    let largest = |line: usize| {
        let line = &original[line * size..(line + 1) * size];
        line.iter().fold(0.0_f64, |most, entry| most.max(entry.abs()))
    };
    let scales = each(size, 0.0, largest);
    for step in 0..size {
        // The line with the largest entry beside its own largest.
        let (mut best, mut most) = (step, -1.0);
        for line in step..size {
            let share = entries[line * size + step].abs() / scales[lines[line]];
            if share > most {
                (best, most) = (line, share);
            }
        }
        if best != step {
            lines.swap(step, best);
            for column in 0..size {
                entries.swap(step * size + column, best * size + column);
            }
        }
        let of = lines[step] * size;
        // What elimination took from or gave to it, signs aside.
        let mut met = original[of + step].abs();
        for up in 0..step {
            met += (entries[step * size + up] * entries[up * size + step]).abs();
        }
        let pivot = entries[step * size + step];
        if !pivot.is_finite() || pivot == 0.0 || pivot.abs() < LEAST_PIVOT_SHARE * met {
            return false;
        }
        for line in step + 1..size {
            let factor = entries[line * size + step] / pivot;
            entries[line * size + step] = factor;
            for column in step + 1..size {
                entries[line * size + column] -= factor * entries[step * size + column];
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
    use smallvec::smallvec;

    use super::*;

    #[test]
    fn two_lines_are_solved_as_more_are() {
        for [a, b, c, d] in [[1.0, 2.0, 3.0, 4.0], [1e-9, 1.0, 1.0, 1.0], [5.0, -1.0, 0.0, 1e-12]] {
            let two = Dense::new(2, smallvec![a, b, c, d]).unwrap().solve(&[7.0, -2.0]);
            let mut entries: PerPair = (0..25).map(|at| f64::from(u8::from(at % 6 == 0))).collect();
            (entries[0], entries[1], entries[5], entries[6]) = (a, b, c, d);
            let five = Dense::new(5, entries).unwrap().solve(&[7.0, -2.0, 0.0, 3.0, 0.0]);
            assert_eq!(two[..], five[..2]);
            assert_eq!(five[3], 3.0);
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
