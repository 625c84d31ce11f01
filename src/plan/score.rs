//! One-step rules: what a step tells about the fix, in bits or in cut edges.

use std::ops::Range;

/// `x ln x`, with 0 at 0.
fn x_ln_x(x: f64) -> f64 {
    if x > 0.0 { x * x.ln() } else { 0.0 }
}

/// Bits of uncertainty over shares of 1.
pub fn entropy_bits(shares: impl IntoIterator<Item = f64>) -> f64 {
    -shares.into_iter().map(x_ln_x).sum::<f64>() / std::f64::consts::LN_2
}

/// Bits of information about the class, `I(class; outcome)`, of a step with `rows` of likelihood.
///
/// Zero for a step that tells nothing about the class by itself, even where it does together with another.
pub fn class_bits(belief: &[f64], rows: &[Vec<f64>], classes: &[Range<usize>]) -> f64 {
    let mut nats = 0.0;
    for row in rows {
        let mut outcome = 0.0;
        for class in classes {
            let joint: f64 =
                belief[class.clone()].iter().zip(&row[class.clone()]).map(|(b, l)| b * l).sum();
            nats += x_ln_x(joint);
            outcome += joint;
        }
        nats -= x_ln_x(outcome);
    }
    for class in classes {
        nats -= x_ln_x(belief[class.clone()].iter().sum());
    }
    (nats / std::f64::consts::LN_2).max(0.0)
}

/// Bits of information about the hypothesis, whatever its class.
pub fn hypothesis_bits(belief: &[f64], rows: &[Vec<f64>]) -> f64 {
    let mut nats = 0.0;
    for row in rows {
        let mut outcome = 0.0;
        for (share, likelihood) in belief.iter().zip(row) {
            nats += x_ln_x(share * likelihood);
            outcome += share * likelihood;
        }
        nats -= x_ln_x(outcome);
    }
    nats -= belief.iter().map(|&share| x_ln_x(share)).sum::<f64>();
    (nats / std::f64::consts::LN_2).max(0.0)
}

/// Weight of the edges between hypotheses of different classes that a step cuts on average, less what
/// mere noise would cut (ECED: Chen, Hassani & Krause 2016, arXiv 1605.07334).
///
/// Without noise this is EC2 (Golovin, Krause & Ray 2010, arXiv 1010.3091).
pub fn edges_cut(belief: &[f64], rows: &[Vec<f64>], classes: &[Range<usize>]) -> f64 {
    let best: Vec<f64> = (0..belief.len())
        .map(|group| rows.iter().map(|row| row[group]).fold(0.0, f64::max))
        .collect();
    let all = edges(classes.iter().map(|class| belief[class.clone()].iter().sum()));
    let mut gain = 0.0;
    for row in rows {
        let ratio = |group: usize| if best[group] > 0.0 { row[group] / best[group] } else { 0.0 };
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

/// Weight of all edges between classes with these sums: half of (square of the sum less sum of squares).
fn edges(sums: impl IntoIterator<Item = f64>) -> f64 {
    let (sum, squares) =
        sums.into_iter().fold((0.0, 0.0), |(sum, squares), x| (sum + x, squares + x * x));
    0.5 * (sum * sum - squares)
}
