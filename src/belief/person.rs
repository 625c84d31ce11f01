//! How far a person who reads again reads anew.

/// How strongly a second act of the same person depends on the first.
///
/// The levels and equations of THERP (NUREG/CR-1278): given that the first failed, the second fails with
/// N (zero), (1 + 19 N)/20 (low), (1 + 6 N)/7 (moderate), (1 + N)/2 (high) or 1 (complete), where N is the
/// chance to fail without the first. The equations were checked against a public implementation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dependence {
    /// Another person, another tester.
    Zero,
    /// The same person later, at another point.
    Low,
    /// The same person, the same point, the probe taken off in between.
    Moderate,
    /// The same person at once.
    High,
    /// The same look.
    Complete,
}

impl Dependence {
    /// The chance that the second simply repeats the first, right or wrong.
    ///
    /// All of THERP's equations are `share + (1 - share) * N` with this share.
    fn share(self) -> f64 {
        match self {
            Self::Zero => 0.0,
            Self::Low => 1.0 / 20.0,
            Self::Moderate => 1.0 / 7.0,
            Self::High => 0.5,
            Self::Complete => 1.0,
        }
    }

    /// The chance that the second fails, given that the first did; `basic_error` without the first.
    ///
    /// So likely is also under a hypothesis that what was seen once, with the likelihood `basic_error`, is seen
    /// once more: a repeat that agrees is worth less than another test.
    pub fn repeated_error(self, basic_error: f64) -> f64 {
        self.share() + (1.0 - self.share()) * basic_error
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const ALL: [Dependence; 5] = [
        Dependence::Zero,
        Dependence::Low,
        Dependence::Moderate,
        Dependence::High,
        Dependence::Complete,
    ];

    #[track_caller]
    fn check(dependence: Dependence, expected: f64) {
        let found = dependence.repeated_error(0.003);
        assert!((found - expected).abs() < 1e-9, "{dependence:?}: {found}");
    }

    #[test]
    fn the_published_equations_hold() {
        check(Dependence::Zero, 0.003);
        check(Dependence::Low, 0.05285);
        check(Dependence::Moderate, 0.145_428_571_4);
        check(Dependence::High, 0.5015);
        check(Dependence::Complete, 1.0);
    }

    #[test]
    fn the_same_look_tells_nothing_new() {
        let [likely, unlikely] = [0.9, 0.1].map(|alone| Dependence::Complete.repeated_error(alone));
        assert!((likely - unlikely).abs() < 1e-12, "{likely} {unlikely}");
    }

    proptest! {
        #[test]
        fn repeats_say_no_more_than_a_fresh_reading(
            a in 0.001..0.999_f64, b in 0.001..0.999_f64, level in 0..5_usize,
        ) {
            // Likelihoods a and b of one outcome under two hypotheses; it was seen before.
            let again = [a, b].map(|alone| ALL[level].repeated_error(alone));
            prop_assert!(again.iter().all(|likelihood| (0.0..=1.0).contains(likelihood)));
            prop_assert!((again[0] / again[1]).ln().abs() <= (a / b).ln().abs() + 1e-12);
        }
    }
}
