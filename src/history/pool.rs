//! The formulas of learning: catalogue and counts, pooled.
//!
//! All are conjugate means (any text on Bayesian statistics; the handbook of parameter estimation
//! NUREG/CR-6823 has them for failure data, from memory). `tests/it/learning.rs` holds them to published
//! examples.

/// Mean shares after `counts`, where shares are Dirichlet with these means and this many pseudo-jobs.
///
/// `means` sum to 1; counts may be parts of jobs, where one job speaks for several.
pub fn dirichlet_means(means: &[f64], strength: f64, counts: &[f64]) -> Vec<f64> {
    let jobs: f64 = counts.iter().sum();
    let each = means.iter().zip(counts);
    each.map(|(mean, count)| (strength * mean + count) / (strength + jobs)).collect()
}

/// Mean rate of failures after `failures` in `tries`, where it is Beta with this mean and as many pseudo-tries.
pub fn beta_mean(mean: f64, strength: f64, failures: f64, tries: f64) -> f64 {
    (strength * mean + failures) / (strength + tries)
}

/// Mean failures per unit of exposure after `failures` in `exposure`, where the rate is Gamma of this shape
/// and this rate parameter.
pub fn gamma_mean(shape: f64, rate: f64, failures: f64, exposure: f64) -> f64 {
    (shape + failures) / (rate + exposure)
}

/// Natural logarithm of the probability of these counts in one order, their shares Dirichlet with these means
/// and this many pseudo-jobs (the Dirichlet-multinomial, or Polya, distribution).
pub fn log_evidence(means: &[f64], strength: f64, counts: &[f64]) -> f64 {
    let jobs: f64 = counts.iter().sum();
    let whole = libm::lgamma(strength) - libm::lgamma(strength + jobs);
    let each = means.iter().zip(counts).filter(|(mean, _)| **mean > 0.0);
    whole
        + each
            .map(|(mean, count)| {
                libm::lgamma(strength * mean + count) - libm::lgamma(strength * mean)
            })
            .sum::<f64>()
}

/// Pseudo-jobs that stand for the catalogue while little is known: with ten jobs it has half the say.
pub const LEAST_STRENGTH: f64 = 10.0;
/// From so many jobs on, how much the catalogue is to be trusted is itself read from them.
const ENOUGH_JOBS: f64 = 30.0;
/// The same, in kinds of things met.
const ENOUGH_KINDS: usize = 5;
/// Strengths that are tried, an octave apart.
const STRENGTHS: [f64; 6] = [10.0, 20.0, 40.0, 80.0, 160.0, 320.0];

/// How many pseudo-jobs the catalogue's shares are worth, judged by how well they foretold these counts.
///
/// The strength with the most evidence, never below [`LEAST_STRENGTH`], which it is while there are few jobs.
pub fn strength(means: &[f64], counts: &[f64]) -> f64 {
    let met = counts.iter().filter(|count| **count > 0.0).count();
    if counts.iter().sum::<f64>() < ENOUGH_JOBS || met < ENOUGH_KINDS {
        return LEAST_STRENGTH;
    }
    let evidence = |strength: &f64| log_evidence(means, *strength, counts);
    STRENGTHS
        .into_iter()
        .max_by(|a, b| evidence(a).total_cmp(&evidence(b)))
        .unwrap_or(LEAST_STRENGTH)
}

/// Jobs that must agree before what is known of a duration has half the say.
const DURATION_STRENGTH: f64 = 3.0;

/// How many times longer than reckoned something takes, from ratios measured by the clock.
///
/// Their median, as clocks run on through tea breaks, drawn towards 1 while there are few: on the logarithm,
/// with three pseudo-measurements of 1 (common practice, no source). 1 without any.
pub fn duration_ratio(measured: &[f64]) -> f64 {
    let mut logs: Vec<f64> =
        measured.iter().filter(|one| **one > 0.0 && one.is_finite()).map(|one| one.ln()).collect();
    if logs.is_empty() {
        return 1.0;
    }
    logs.sort_by(f64::total_cmp);
    let middle = logs.len() / 2;
    let median = if logs.len() % 2 == 1 {
        logs[middle]
    } else {
        f64::midpoint(logs[middle - 1], logs[middle])
    };
    let count = logs.len() as f64;
    (median * count / (count + DURATION_STRENGTH)).exp()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn one_tea_break_changes_little() {
        let ratio = duration_ratio(&[1.0, 1.1, 0.9, 12.0]);
        assert!((0.9..1.2).contains(&ratio), "{ratio}");
        assert!((duration_ratio(&[2.0; 3]) - 2.0_f64.sqrt()).abs() < 1e-12);
        assert!((duration_ratio(&[]) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn counts_as_foretold_make_the_catalogue_stronger() {
        let means = [0.4, 0.3, 0.15, 0.1, 0.05];
        let foretold = [40.0, 30.0, 15.0, 10.0, 5.0];
        let otherwise = [5.0, 10.0, 15.0, 30.0, 40.0];
        assert!(strength(&means, &foretold) > 100.0);
        assert!(strength(&means, &otherwise) < 11.0);
        assert!((strength(&means, &[3.0, 0.0, 0.0, 1.0, 0.0]) - LEAST_STRENGTH).abs() < 1e-12);
    }

    proptest! {
        #[test]
        fn ten_jobs_never_have_more_than_half_the_say(
            weights in proptest::collection::vec(0.01..1.0_f64, 2..12),
            picks in proptest::collection::vec(0..12_usize, 0..=10),
        ) {
            let total: f64 = weights.iter().sum();
            let means: Vec<f64> = weights.iter().map(|one| one / total).collect();
            let mut counts = vec![0.0; means.len()];
            for pick in &picks {
                counts[pick % means.len()] += 1.0;
            }
            let jobs = picks.len() as f64;
            let learnt = dirichlet_means(&means, strength(&means, &counts), &counts);
            prop_assert!((learnt.iter().sum::<f64>() - 1.0).abs() < 1e-9);
            for ((mean, count), learnt) in means.iter().zip(&counts).zip(&learnt) {
                let seen = if jobs > 0.0 { count / jobs } else { *mean };
                prop_assert!((learnt - mean).abs() <= 0.5 * (seen - mean).abs() + 1e-12);
            }
        }
    }
}
