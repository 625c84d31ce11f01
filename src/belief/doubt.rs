//! Which reading is likely wrong.

use super::shares::Reading;

/// Probability that a reading is a mistake where the hypotheses have these shares, which take it into account.
///
/// Exact for the model of the readings: under a hypothesis a reading is a mistake with the share of its
/// likelihood that is due to mistakes.
pub fn mistake_probability(shares: &[f64], reading: &Reading) -> f64 {
    let mistaken = shares.iter().zip(&reading.likelihood).filter(|(share, _)| **share > 0.0);
    let sum: f64 = mistaken.map(|(share, likelihood)| share * reading.mistaken / likelihood).sum();
    sum.min(1.0)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::belief::Belief;

    /// A reading of `seen` out of two, where each hypothesis shows one for sure but for mistakes.
    fn reading(shows: &[usize], seen: usize, error: f64) -> Reading {
        let mistaken = error / 2.0;
        let likely = |shown: &usize| mistaken + if *shown == seen { 1.0 - error } else { 0.0 };
        Reading { likelihood: shows.iter().map(likely).collect(), mistaken }
    }

    /// Probability of each reading to be a mistake, all others taken into account.
    fn mistakes(priors: &[f64], readings: &[Reading]) -> Vec<f64> {
        let mut belief = Belief::new(priors).unwrap();
        for reading in readings {
            belief.read(reading.clone()).unwrap();
        }
        let shares = belief.shares();
        readings.iter().map(|reading| mistake_probability(&shares, reading)).collect()
    }

    #[test]
    fn the_odd_one_out_is_the_mistake() {
        // Two readings say the first hypothesis, one the second.
        let (one, other) = (reading(&[0, 1], 0, 0.02), reading(&[0, 1], 1, 0.02));
        let found = mistakes(&[0.5, 0.5], &[one.clone(), other, one]);
        assert!(found[1] > 0.9 && found[0] < 0.1 && found[2] < 0.1, "{found:?}");
    }

    #[test]
    fn a_rare_but_plain_fault_is_no_mistake() {
        let shows = reading(&[0, 1], 1, 0.02);
        let found = mistakes(&[0.999, 0.001], &[shows.clone(), shows.clone(), shows]);
        assert!(found.iter().all(|probability| *probability < 0.02), "{found:?}");
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
            for probability in mistakes(&priors, &readings) {
                prop_assert!((0.0..=1.0).contains(&probability));
            }
        }
    }
}
