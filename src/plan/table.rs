//! All likelihoods of a problem side by side, and the one-step rules over all steps at once.

use std::f64::consts::LN_2;
use std::ops::Range;

use super::step::Step;

/// Groups less likely than this are left out of the sums: all that they could add is a thousandth of a bit.
const NEGLIGIBLE: f64 = 1e-4;

/// The rows of all steps, laid out by group, so that a rule runs along them for all steps at once.
#[derive(Debug, Clone, Default)]
pub struct Table {
    /// Where the rows of each step begin; one more entry than steps.
    first_row: Vec<usize>,
    /// For each group the likelihood of every row.
    columns: Vec<Vec<f64>>,
    /// For each group, likelihood over the largest of the same step; empty where that changes nothing.
    ratios: Vec<Vec<f64>>,
    /// For each row the largest ratio of any group.
    largest_ratio: Vec<f64>,
}

impl Table {
    /// Lays out `steps` for `groups` groups.
    pub fn new(steps: &[Step], groups: usize) -> Self {
        let mut first_row = vec![0];
        for step in steps {
            first_row.push(first_row[first_row.len() - 1] + step.rows.len());
        }
        let rows = first_row[steps.len()];
        let mut columns = vec![Vec::with_capacity(rows); groups];
        // Along the rows: each is read once and in order.
        for row in steps.iter().flat_map(|step| &step.rows) {
            for (column, &likelihood) in columns.iter_mut().zip(row) {
                column.push(likelihood);
            }
        }
        let sure = columns.iter().flatten().all(|&value| value <= 0.0 || value >= 1.0);
        let ratios: Vec<Vec<f64>> = if sure {
            vec![]
        } else {
            columns.iter().map(|column| over_largest(column, &first_row)).collect()
        };
        let mut largest_ratio = vec![0.0_f64; columns.first().map_or(0, Vec::len)];
        for column in if sure { &columns } else { &ratios } {
            for (largest, ratio) in largest_ratio.iter_mut().zip(column) {
                *largest = largest.max(*ratio);
            }
        }
        Self { first_row, columns, ratios, largest_ratio }
    }

    /// Bits of information about the class, `I(class; outcome)`, of every step.
    ///
    /// Zero for a step that tells nothing about the class by itself, even where it does together with
    /// another.
    pub fn class_bits(&self, belief: &[f64], classes: &[Range<usize>]) -> Vec<f64> {
        let mut nats = vec![0.0; self.rows()];
        let mut outcome = vec![0.0; self.rows()];
        let mut joint = vec![0.0; self.rows()];
        let mut prior_nats = 0.0;
        for class in classes {
            if let Some(group) = only_group(belief, class) {
                // Most classes: one pass does what three do below.
                let share = belief[group];
                let sums = nats.iter_mut().zip(&mut outcome);
                for ((nats, outcome), likelihood) in sums.zip(&self.columns[group]) {
                    let joint = share * likelihood;
                    *nats += x_ln_x(joint);
                    *outcome += joint;
                }
                prior_nats += share * share.ln();
                continue;
            }
            let share = class_rows(&self.columns, belief, class, &mut joint);
            if share > 0.0 {
                add_x_ln_x(&mut nats, &joint, 1.0);
                add(&mut outcome, &joint, 1.0);
                prior_nats += share * share.ln();
            }
        }
        add_x_ln_x(&mut nats, &outcome, -1.0);
        self.per_step(|rows| ((nats[rows].iter().sum::<f64>() - prior_nats) / LN_2).max(0.0))
    }

    /// Weight of the edges between hypotheses of different classes that every step cuts on average, less
    /// what mere noise would cut (ECED: Chen, Hassani & Krause 2016, arXiv 1605.07334).
    ///
    /// Without noise this is EC2 (Golovin, Krause & Ray 2010, arXiv 1010.3091).
    pub fn edges_cut(&self, belief: &[f64], classes: &[Range<usize>]) -> Vec<f64> {
        let ratios = if self.ratios.is_empty() { &self.columns } else { &self.ratios };
        let mut outcome = vec![0.0; self.rows()];
        for (column, &share) in
            self.columns.iter().zip(belief).filter(|(_, share)| **share > NEGLIGIBLE)
        {
            add(&mut outcome, column, share);
        }
        let mut sum = vec![0.0; self.rows()];
        let mut squares = vec![0.0; self.rows()];
        let mut kept = vec![0.0; self.rows()];
        let (mut share_sum, mut share_squares) = (0.0, 0.0);
        for class in classes {
            let share = class_rows(ratios, belief, class, &mut kept);
            if share > 0.0 {
                add(&mut sum, &kept, 1.0);
                for (square, kept) in squares.iter_mut().zip(&kept) {
                    *square += kept * kept;
                }
                share_sum += share;
                share_squares += share * share;
            }
        }
        let all = 0.5 * (share_sum * share_sum - share_squares);
        let gain = |row: usize| {
            let kept = 0.5 * (sum[row] * sum[row] - squares[row]);
            let largest = self.largest_ratio[row];
            outcome[row] * ((all - kept) - all * (1.0 - largest * largest))
        };
        self.per_step(|rows| rows.map(gain).sum::<f64>().max(0.0))
    }

    /// Number of likelihoods: rows times groups.
    pub fn entries(&self) -> usize {
        self.rows() * self.columns.len()
    }

    /// Whether no step errs: all likelihoods are 0 or 1.
    pub fn is_sure(&self) -> bool {
        self.ratios.is_empty()
    }

    fn rows(&self) -> usize {
        self.largest_ratio.len()
    }

    fn per_step(&self, gain: impl Fn(Range<usize>) -> f64) -> Vec<f64> {
        self.first_row.windows(2).map(|ends| gain(ends[0]..ends[1])).collect()
    }
}

/// The one group of a class that is not negligible, if it is one.
fn only_group(belief: &[f64], class: &Range<usize>) -> Option<usize> {
    let mut groups = class.clone().filter(|&group| belief[group] > NEGLIGIBLE);
    groups.next().filter(|_| groups.next().is_none())
}

/// Puts the sums over the groups of a class into `rows` and returns the class's share.
fn class_rows(columns: &[Vec<f64>], belief: &[f64], class: &Range<usize>, rows: &mut [f64]) -> f64 {
    rows.fill(0.0);
    let mut share = 0.0;
    for group in class.clone().filter(|&group| belief[group] > NEGLIGIBLE) {
        add(rows, &columns[group], belief[group]);
        share += belief[group];
    }
    share
}

/// Each likelihood over the largest of the same step.
fn over_largest(column: &[f64], first_row: &[usize]) -> Vec<f64> {
    let mut ratios = column.to_vec();
    for ends in first_row.windows(2) {
        let rows = &mut ratios[ends[0]..ends[1]];
        let largest = rows.iter().copied().fold(0.0, f64::max);
        if largest > 0.0 {
            for ratio in rows {
                *ratio /= largest;
            }
        }
    }
    ratios
}

fn add(sums: &mut [f64], values: &[f64], weight: f64) {
    for (sum, value) in sums.iter_mut().zip(values) {
        *sum += weight * value;
    }
}

fn add_x_ln_x(sums: &mut [f64], values: &[f64], weight: f64) {
    for (sum, &value) in sums.iter_mut().zip(values) {
        *sum += weight * x_ln_x(value);
    }
}

/// `x ln x` for `x` from 0 to 1, to about 1e-14, in a form that compilers run several at a time.
///
/// `x` is split into 2^e * m with m around 1; `ln m = 2 artanh(t)` with `t = (m - 1) / (m + 1)`.
fn x_ln_x(x: f64) -> f64 {
    const HALF_ROOT: u64 = 0x3fe6_a09e_667f_3bcd;
    const MANTISSA: u64 = 0x000f_ffff_ffff_ffff;
    // 2^52 and 2^52 + 1023: a small whole number in the mantissa becomes a float by subtraction.
    const WHOLE: u64 = 0x4330_0000_0000_0000;
    const WHOLE_AND_BIAS: f64 = 4_503_599_627_371_519.0;
    let bits = x.max(1e-300).to_bits();
    // Moves the break between exponents from 1 to the root of one half.
    let moved = bits.wrapping_sub(HALF_ROOT & MANTISSA);
    let exponent = f64::from_bits(moved >> 52 | WHOLE) - WHOLE_AND_BIAS + 1.0;
    let mantissa = f64::from_bits((moved & MANTISSA).wrapping_add(HALF_ROOT));
    let t = (mantissa - 1.0) / (mantissa + 1.0);
    let s = t * t;
    let series = 1.0
        + s * (1.0 / 3.0
            + s * (1.0 / 5.0
                + s * (1.0 / 7.0
                    + s * (1.0 / 9.0 + s * (1.0 / 11.0 + s * (1.0 / 13.0 + s * (1.0 / 15.0)))))));
    x * (exponent * LN_2 + 2.0 * t * series)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::bit_set::BitSet;
    use crate::plan::step::Source;

    /// One step alone, as the formula reads.
    fn class_bits(belief: &[f64], rows: &[Vec<f64>], classes: &[Range<usize>]) -> f64 {
        let mut nats = 0.0;
        for row in rows {
            let mut outcome = 0.0;
            for class in classes {
                let joint: f64 =
                    belief[class.clone()].iter().zip(&row[class.clone()]).map(|(b, l)| b * l).sum();
                nats += exact(joint);
                outcome += joint;
            }
            nats -= exact(outcome);
        }
        for class in classes {
            nats -= exact(belief[class.clone()].iter().sum());
        }
        (nats / std::f64::consts::LN_2).max(0.0)
    }

    fn edges_cut(belief: &[f64], rows: &[Vec<f64>], classes: &[Range<usize>]) -> f64 {
        let best: Vec<f64> = (0..belief.len())
            .map(|group| rows.iter().map(|row| row[group]).fold(0.0, f64::max))
            .collect();
        let all = edges(classes.iter().map(|class| belief[class.clone()].iter().sum()));
        let mut gain = 0.0;
        for row in rows {
            let ratio =
                |group: usize| if best[group] > 0.0 { row[group] / best[group] } else { 0.0 };
            let mut probability = 0.0;
            let mut largest = 0.0_f64;
            let kept = edges(classes.iter().map(|class| {
                class
                    .clone()
                    .map(|group| {
                        probability += belief[group] * row[group];
                        if belief[group] > 0.0 {
                            largest = largest.max(ratio(group));
                        }
                        belief[group] * ratio(group)
                    })
                    .sum()
            }));
            gain += probability * ((all - kept) - all * (1.0 - largest * largest));
        }
        gain.max(0.0)
    }
    fn edges(sums: impl IntoIterator<Item = f64>) -> f64 {
        let (sum, squares) =
            sums.into_iter().fold((0.0, 0.0), |(sum, squares), x| (sum + x, squares + x * x));
        0.5 * (sum * sum - squares)
    }

    fn exact(x: f64) -> f64 {
        if x > 0.0 { x * x.ln() } else { 0.0 }
    }

    fn step(rows: Vec<Vec<f64>>) -> Step {
        Step {
            source: Source::Test(0),
            minutes: 1.0,
            enter_mode: 0,
            leave_mode: 0,
            places: BitSet::default(),
            rows,
            ending: None,
            ends: vec![],
            uses: BitSet::default(),
        }
    }

    #[track_caller]
    fn check(steps: &[Step], belief: &[f64], classes: &[Range<usize>]) {
        let table = Table::new(steps, belief.len());
        let (bits, edges) = (table.class_bits(belief, classes), table.edges_cut(belief, classes));
        for (index, step) in steps.iter().enumerate() {
            assert!((bits[index] - class_bits(belief, &step.rows, classes)).abs() < 1e-12);
            assert!((edges[index] - edges_cut(belief, &step.rows, classes)).abs() < 1e-12);
        }
    }

    #[test]
    fn all_steps_at_once_agree_with_each_alone() {
        let sure = step(vec![vec![1.0, 0.0, 1.0, 0.0], vec![0.0, 1.0, 0.0, 1.0]]);
        let noisy = step(vec![
            vec![0.9, 0.3, 0.5, 0.1],
            vec![0.1, 0.6, 0.25, 0.1],
            vec![0.0, 0.1, 0.25, 0.8],
        ]);
        check(&[sure.clone(), sure.clone()], &[0.1, 0.2, 0.3, 0.4], &[0..1, 1..3, 3..4]);
        check(&[noisy, sure], &[0.25, 0.25, 0.1, 0.4], &[0..2, 2..4]);
    }

    #[test]
    fn x_ln_x_agrees_with_the_library() {
        assert!(x_ln_x(0.0).abs() < 1e-290);
        let mut x = 1e-12_f64;
        while x <= 1.0 {
            let expected = x * x.ln();
            assert!((x_ln_x(x) - expected).abs() <= 1e-13 * x, "{x}: {} {expected}", x_ln_x(x));
            x *= 1.0037;
        }
        assert!(x_ln_x(1.0).abs() < 1e-15);
    }
}
