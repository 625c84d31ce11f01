//! Bayes' rule over exclusive hypotheses.

/// How likely each hypothesis is, and the readings that made it so.
///
/// Exactly one hypothesis is true. Readings are independent given the hypothesis, so their order does
/// not matter: the belief keeps them, and its log weight of a hypothesis is the log prior plus the logs
/// of all likelihoods. Nothing is lost to rounding when many small factors meet.
///
/// ```
/// use halfsplit::belief::{Belief, Reading};
/// let mut belief = Belief::new(&[0.5, 0.5])?;
/// belief.read(Reading::sure(vec![0.9, 0.1]))?;
/// assert!((belief.shares()[0] - 0.9).abs() < 1e-12);
/// # Ok::<(), halfsplit::belief::BeliefError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Belief {
    log_priors: Vec<f64>,
    readings: Vec<Reading>,
    /// Natural logarithms of the likelihoods, a list for each reading: they are asked for again and again.
    logs: Vec<Vec<f64>>,
    /// Whether each hypothesis was ruled out, by its prior or a reading.
    ruled_out: Vec<bool>,
}

/// What one reading says.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Probability (or density) of what was seen under each hypothesis, mistakes included.
    pub likelihood: Vec<f64>,
    /// The part of it that is due to a mistake: chance of a mistake times probability of what was seen
    /// when one is made. The same under each hypothesis, and at most every likelihood.
    pub mistaken: f64,
}

impl Reading {
    /// A reading that allows for no mistake.
    pub fn sure(likelihood: Vec<f64>) -> Self {
        Self { likelihood, mistaken: 0.0 }
    }

    /// Natural logarithms of the likelihoods.
    fn logs(&self) -> Vec<f64> {
        self.likelihood.iter().map(|likelihood| likelihood.ln()).collect()
    }
}

/// Why something cannot be believed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum BeliefError {
    /// Priors that are negative, not finite or all zero.
    #[error("the priors do not make a distribution")]
    Priors,
    /// A reading with more or fewer likelihoods than there are hypotheses.
    #[error("a reading has {found} likelihoods for {expected} hypotheses")]
    Length {
        /// Likelihoods given.
        found: usize,
        /// Hypotheses.
        expected: usize,
    },
    /// A likelihood that is negative or not finite.
    #[error("{0} is no likelihood")]
    Likelihood(f64),
    /// No hypothesis allows all the readings.
    #[error("no hypothesis allows what was seen")]
    Impossible,
}

impl Belief {
    /// The belief before any reading; `priors` need not sum to 1.
    pub fn new(priors: &[f64]) -> Result<Self, BeliefError> {
        let sum: f64 = priors.iter().sum();
        if priors.iter().any(|prior| *prior < 0.0) || !sum.is_finite() || sum <= 0.0 {
            return Err(BeliefError::Priors);
        }
        let log_priors: Vec<f64> = priors.iter().map(|prior| (prior / sum).ln()).collect();
        let ruled_out = log_priors.iter().map(|log| !log.is_finite()).collect();
        Ok(Self { log_priors, readings: Vec::new(), logs: Vec::new(), ruled_out })
    }

    /// Takes a reading in. On an error the belief stays as it was.
    pub fn read(&mut self, reading: Reading) -> Result<(), BeliefError> {
        let (found, expected) = (reading.likelihood.len(), self.log_priors.len());
        if found != expected {
            return Err(BeliefError::Length { found, expected });
        }
        let wrong = |value: &&f64| !(value.is_finite() && **value >= 0.0);
        if let Some(&value) = reading.likelihood.iter().find(wrong) {
            return Err(BeliefError::Likelihood(value));
        }
        let logs = reading.logs();
        let mut each = self.ruled_out.iter().zip(&logs);
        if !each.any(|(&ruled_out, log)| !ruled_out && log.is_finite()) {
            return Err(BeliefError::Impossible);
        }
        for (ruled_out, log) in self.ruled_out.iter_mut().zip(&logs) {
            *ruled_out |= !log.is_finite();
        }
        self.readings.push(reading);
        self.logs.push(logs);
        Ok(())
    }

    /// The readings so far, oldest first.
    pub fn readings(&self) -> &[Reading] {
        &self.readings
    }

    /// Probability of each hypothesis; sums to 1.
    pub fn shares(&self) -> Vec<f64> {
        normalised(&self.log_weights())
    }

    /// Natural logarithm of the probability (or density) of all readings together.
    pub fn log_evidence(&self) -> f64 {
        log_sum(&self.log_weights())
    }

    /// Log prior plus the log likelihoods of all readings.
    ///
    /// Summed anew each time, smallest first, so that the result is the same for every order of readings.
    fn log_weights(&self) -> Vec<f64> {
        let mut logs: Vec<f64> = Vec::with_capacity(self.logs.len());
        let weight = |(hypothesis, log_prior): (usize, &f64)| {
            logs.clear();
            logs.extend(self.logs.iter().map(|reading| reading[hypothesis]));
            logs.sort_unstable_by(f64::total_cmp);
            log_prior + logs.iter().sum::<f64>()
        };
        self.log_priors.iter().enumerate().map(weight).collect()
    }
}

/// Logarithm of the sum of the numbers with these logarithms.
fn log_sum(logs: &[f64]) -> f64 {
    let largest = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if largest.is_finite() {
        largest + logs.iter().map(|log| (log - largest).exp()).sum::<f64>().ln()
    } else {
        largest
    }
}

fn normalised(logs: &[f64]) -> Vec<f64> {
    let sum = log_sum(logs);
    let shares: Vec<f64> = logs.iter().map(|log| (log - sum).exp()).collect();
    let total: f64 = shares.iter().sum();
    debug_assert!((total - 1.0).abs() < 1e-9, "shares sum to {total}");
    shares.iter().map(|share| share / total).collect()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn reading(size: usize) -> impl Strategy<Value = Reading> {
        proptest::collection::vec(1e-6..1.0_f64, size).prop_map(Reading::sure)
    }

    fn problem() -> impl Strategy<Value = (Vec<f64>, Vec<Reading>)> {
        (1..12_usize).prop_flat_map(|size| {
            let priors = proptest::collection::vec(1e-4..1.0_f64, size);
            (priors, proptest::collection::vec(reading(size), 0..60))
        })
    }

    fn believed(priors: &[f64], readings: impl IntoIterator<Item = Reading>) -> Belief {
        let mut belief = Belief::new(priors).unwrap();
        for reading in readings {
            belief.read(reading).unwrap();
        }
        belief
    }

    proptest! {
        #[test]
        fn shares_sum_to_one_and_the_order_of_readings_does_not_matter((priors, readings) in problem()) {
            let forth = believed(&priors, readings.clone()).shares();
            let back = believed(&priors, readings.into_iter().rev()).shares();
            prop_assert!((forth.iter().sum::<f64>() - 1.0).abs() < 1e-12);
            prop_assert_eq!(forth, back);
        }

        #[test]
        fn a_reading_that_says_nothing_changes_nothing((priors, readings) in problem(), level in 0.01..1.0_f64) {
            let before = believed(&priors, readings);
            let mut after = before.clone();
            after.read(Reading::sure(vec![level; priors.len()])).unwrap();
            for (before, after) in before.shares().iter().zip(after.shares()) {
                prop_assert!((before - after).abs() < 1e-12);
            }
        }
    }

    #[test]
    fn thousands_of_readings_do_not_underflow() {
        let belief = believed(&[0.5, 0.5], vec![Reading::sure(vec![1e-8, 2e-8]); 2_000]);
        let shares = belief.shares();
        assert!(shares[0] < 1e-12 && (shares[1] - 1.0).abs() < 1e-12, "{shares:?}");
    }

    #[test]
    fn what_cannot_be_is_refused_and_changes_nothing() {
        let mut belief = believed(&[0.3, 0.7], [Reading::sure(vec![1.0, 0.0])]);
        assert_eq!(belief.read(Reading::sure(vec![0.0, 1.0])), Err(BeliefError::Impossible));
        assert_eq!(
            belief.read(Reading::sure(vec![0.5])),
            Err(BeliefError::Length { found: 1, expected: 2 })
        );
        assert!(belief.read(Reading::sure(vec![f64::NAN, 0.1])).is_err());
        assert!(belief.read(Reading::sure(vec![-0.1, 0.1])).is_err());
        assert_eq!(belief.shares(), [1.0, 0.0]);
        let mut sure = Belief::new(&[1.0, 0.0]).unwrap();
        assert_eq!(sure.read(Reading::sure(vec![0.0, 1.0])), Err(BeliefError::Impossible));
        assert_eq!(Belief::new(&[0.0, 0.0]), Err(BeliefError::Priors));
        assert_eq!(Belief::new(&[]), Err(BeliefError::Priors));
    }
}
