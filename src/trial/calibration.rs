//! Predicted shares against what came: of parts to which about the same share was given, how often they were
//! at fault in jobs that nobody had learnt from.

use serde::Serialize;

/// One part by a prediction.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Predicted {
    /// Share given by the catalogue.
    pub catalogue: f64,
    /// Share given as learnt.
    pub learnt: f64,
    /// True share.
    pub truth: f64,
    /// How often it was at fault in the fresh jobs.
    pub faults: usize,
}

/// Parts to which a share within a range was given, and how often they were at fault.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Bin {
    /// Share given by the catalogue, mean.
    pub catalogue: f64,
    /// Share given as learnt, mean.
    pub learnt: f64,
    /// True share, mean.
    pub truth: f64,
    /// Parts in it.
    pub parts: usize,
    /// Fresh jobs, counted once for each part in it.
    pub chances: usize,
    /// In how many of these the part was at fault.
    pub faults: usize,
}

/// Ranges of predicted shares, by their upper ends.
const BINS: [f64; 6] = [0.01, 0.03, 0.1, 0.2, 0.4, 1.0];

/// The parts by the share they were given as learnt; each stood its chance in so many `fresh` jobs.
pub fn calibration(parts: &[Predicted], fresh: usize) -> Vec<Bin> {
    let mut bins = [Bin::default(); BINS.len()];
    for part in parts {
        let at = BINS.iter().position(|end| part.learnt <= *end).unwrap_or(BINS.len() - 1);
        let bin = &mut bins[at];
        bin.catalogue += part.catalogue;
        bin.learnt += part.learnt;
        bin.truth += part.truth;
        bin.parts += 1;
        bin.chances += fresh;
        bin.faults += part.faults;
    }
    let mut bins: Vec<Bin> = bins.into_iter().filter(|bin| bin.parts > 0).collect();
    for bin in &mut bins {
        let parts = bin.parts as f64;
        bin.catalogue /= parts;
        bin.learnt /= parts;
        bin.truth /= parts;
    }
    bins
}

impl Bin {
    /// Share that came.
    pub fn came(&self) -> f64 {
        self.faults as f64 / self.chances.max(1) as f64
    }

    /// 95 % limits of it, as of a binomial count.
    pub fn limits(&self) -> (f64, f64) {
        wilson(self.faults, self.chances)
    }
}

/// 95 % limits of a share of which `came` of `all` came (score interval of E. B. Wilson 1927, from memory).
fn wilson(came: usize, all: usize) -> (f64, f64) {
    const Z: f64 = 1.959_964;
    if all == 0 {
        return (0.0, 1.0);
    }
    let (all, share) = (all as f64, came as f64 / all as f64);
    let wider = 1.0 + Z * Z / all;
    let middle = (share + Z * Z / (2.0 * all)) / wider;
    let half = Z / wider * (share * (1.0 - share) / all + Z * Z / (4.0 * all * all)).sqrt();
    ((middle - half).max(0.0), (middle + half).min(1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_solve_the_equation_they_come_from() {
        // The ends are the shares p at which the score (came/all - p) / sqrt(p (1 - p) / all) is 1.96.
        for (came, all) in [(0, 20), (3, 20), (50, 100), (999, 1000)] {
            let (low, high) = wilson(came, all);
            let score = |p: f64| {
                let share = f64::from(came as u32) / f64::from(all as u32);
                (share - p).abs() / (p * (1.0 - p) / f64::from(all as u32)).sqrt()
            };
            assert!((score(high) - 1.959_964).abs() < 1e-6, "{came} of {all}: {high}");
            assert!(came == 0 || (score(low) - 1.959_964).abs() < 1e-6, "{came} of {all}: {low}");
        }
    }

    #[test]
    fn parts_go_by_what_was_predicted_of_them() {
        let part = |learnt, faults| Predicted { catalogue: 0.2, learnt, truth: learnt, faults };
        let bins = calibration(&[part(0.005, 1), part(0.15, 14), part(0.19, 20)], 100);
        assert_eq!(bins.len(), 2);
        assert_eq!((bins[0].parts, bins[0].chances, bins[0].faults), (1, 100, 1));
        assert_eq!((bins[1].parts, bins[1].chances, bins[1].faults), (2, 200, 34));
        assert!((bins[1].learnt - 0.17).abs() < 1e-12);
        let (low, high) = bins[1].limits();
        assert!(low < 0.17 && 0.17 < high);
    }
}
