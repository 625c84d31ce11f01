//! Whether readings contradict each other, and which of them is likeliest wrong.

use super::shares::{Belief, Reading};

/// Chance, at or below which something seen counts as a surprise.
///
/// Common practice, no source: one in fifty, so that a job of ten readings seldom raises it without cause.
pub const SURPRISING: f64 = 0.02;

/// Probability that something as unlikely as what was seen, or unlikelier, would be seen.
///
/// `predicted` has the probability of each outcome before the reading; small answers are surprises.
pub fn tail_probability(predicted: &[f64], seen: usize) -> f64 {
    let level = predicted.get(seen).copied().unwrap_or(0.0);
    // What is as likely but for rounding counts as well.
    let no_likelier = predicted.iter().filter(|probability| **probability <= level * (1.0 + 1e-9));
    no_likelier.sum::<f64>().min(1.0)
}

/// How much the readings contradict each other, in bits: above 0 they are less likely together than
/// they would be if they had nothing to do with each other.
///
/// The data conflict of Jensen, Chamberlain, Nordahl & Jensen 1990 (from memory): the logarithm of the
/// product of the probabilities of each reading over the probability of all. A rare but plain fault makes
/// readings unlikely one by one, yet likely together: no conflict.
pub fn conflict_bits(belief: &Belief) -> f64 {
    let mut prior = belief.clone();
    while prior.undo().is_some() {}
    let shares = prior.shares();
    let alone = belief.readings().iter().map(|reading| {
        let likely = shares.iter().zip(&reading.likelihood);
        likely.map(|(share, likelihood)| share * likelihood).sum::<f64>().ln()
    });
    (alone.sum::<f64>() - belief.log_evidence()) / std::f64::consts::LN_2
}

/// Probability that each reading is a mistake, all others taken into account.
///
/// Exact for the model of the readings: under a hypothesis a reading is a mistake with the share of its
/// likelihood that is due to mistakes.
pub fn mistake_probabilities(belief: &Belief) -> Vec<f64> {
    let shares = belief.shares();
    belief.readings().iter().map(|reading| mistake_probability(&shares, reading)).collect()
}

/// Probability that a reading is a mistake where the hypotheses have these shares.
pub fn mistake_probability(shares: &[f64], reading: &Reading) -> f64 {
    let mistaken = shares.iter().zip(&reading.likelihood).filter(|(share, _)| **share > 0.0);
    let sum: f64 = mistaken.map(|(share, likelihood)| share * reading.mistaken / likelihood).sum();
    sum.min(1.0)
}

/// The reading that is likeliest a mistake and its probability to be one; `None` before any reading.
pub fn likeliest_mistake(belief: &Belief) -> Option<(usize, f64)> {
    let probabilities = mistake_probabilities(belief);
    probabilities.into_iter().enumerate().max_by(|(_, a), (_, b)| a.total_cmp(b))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::belief::Reading;

    /// A reading of `seen` out of two, where each hypothesis shows one for sure but for mistakes.
    fn reading(shows: &[usize], seen: usize, error: f64) -> Reading {
        let mistaken = error / 2.0;
        let likely = |shown: &usize| mistaken + if *shown == seen { 1.0 - error } else { 0.0 };
        Reading { likelihood: shows.iter().map(likely).collect(), mistaken }
    }

    fn believed(priors: &[f64], readings: &[Reading]) -> Belief {
        let mut belief = Belief::new(priors).unwrap();
        for reading in readings {
            belief.read(reading.clone()).unwrap();
        }
        belief
    }

    #[test]
    fn the_odd_one_out_is_named() {
        // Two readings say the first hypothesis, one the second.
        let (one, other) = (reading(&[0, 1], 0, 0.02), reading(&[0, 1], 1, 0.02));
        let belief = believed(&[0.5, 0.5], &[one.clone(), other, one]);
        let (at, probability) = likeliest_mistake(&belief).unwrap();
        assert_eq!(at, 1);
        assert!(probability > 0.9, "{probability}");
        assert!(conflict_bits(&belief) > 1.0);
    }

    #[test]
    fn a_rare_but_plain_fault_is_no_conflict() {
        let shows = reading(&[0, 1], 1, 0.02);
        let belief = believed(&[0.999, 0.001], &[shows.clone(), shows.clone(), shows]);
        assert!(conflict_bits(&belief) < 0.0, "{}", conflict_bits(&belief));
    }

    #[test]
    fn the_unlikeliest_outcomes_count_together() {
        assert!((tail_probability(&[0.9, 0.07, 0.03], 1) - 0.1).abs() < 1e-12);
        assert!((tail_probability(&[0.5, 0.5], 0) - 1.0).abs() < 1e-12);
        assert!(tail_probability(&[0.99, 0.01], 1) <= SURPRISING);
    }

    proptest! {
        #[test]
        fn mistakes_have_probabilities(
            priors in proptest::collection::vec(0.01..1.0_f64, 3),
            seen in proptest::collection::vec((0..2_usize, 0..8_usize, 0.001..0.3_f64), 1..8),
        ) {
            let readings: Vec<Reading> = seen
                .iter()
                .map(|&(seen, pattern, error)| reading(&[pattern & 1, pattern >> 1 & 1, pattern >> 2], seen, error))
                .collect();
            for probability in mistake_probabilities(&believed(&priors, &readings)) {
                prop_assert!((0.0..=1.0).contains(&probability));
            }
        }
    }
}
