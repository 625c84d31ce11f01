//! The part of `trial` that plays shops which learn.

use std::fmt::Write;
use std::sync::Arc;

use super::args::Trial;
use super::exit::CliError;
use crate::job::study::Study;
use crate::plan::{Budget, Progress};
use crate::trial::shop::{Shop, Taught, taught};

/// Plays the shops that were asked for.
pub fn play(
    trial: &Trial,
    study: &Arc<Study>,
    progress: &Progress,
) -> Result<Option<Taught>, CliError> {
    if trial.shops == 0 {
        return Ok(None);
    }
    let shop = Shop {
        shops: trial.shops,
        jobs: trial.shop_jobs,
        spread: trial.shop_spread,
        seed: trial.seed,
    };
    let budget = Budget { nodes: trial.nodes };
    taught(study, &shop, budget, progress).map(Some).map_err(CliError::failed)
}

/// Mean and half the width of its 95 % confidence interval, by Student's t for so many shops.
fn with_limits(of: impl Iterator<Item = f64>) -> (f64, f64) {
    let all: Vec<f64> = of.collect();
    let count = all.len() as f64;
    let mean = all.iter().sum::<f64>() / count.max(1.0);
    if all.len() < 2 {
        return (mean, f64::INFINITY);
    }
    let variance = all.iter().map(|one| (one - mean).powi(2)).sum::<f64>() / (count - 1.0);
    (mean, student(all.len() - 1) * (variance / count).sqrt())
}

/// Two-sided 95 % point of Student's t (tables of any statistics text, from memory; between its rows the
/// larger one).
fn student(freedom: usize) -> f64 {
    const ROWS: [(usize, f64); 12] = [
        (1, 12.706),
        (2, 4.303),
        (3, 3.182),
        (4, 2.776),
        (5, 2.571),
        (7, 2.365),
        (9, 2.262),
        (14, 2.145),
        (19, 2.093),
        (29, 2.045),
        (59, 2.001),
        (119, 1.980),
    ];
    ROWS.iter().rev().find(|row| row.0 <= freedom).map_or(12.706, |row| row.1)
}

/// For a person.
pub fn in_words(trial: &Trial, taught: &Taught) -> String {
    let mut text = format!(
        "\n{} shops of {} jobs, true rates unlike the catalogue's (spread {} each for kinds, parts and modes)\n",
        taught.shops.len(),
        trial.shop_jobs,
        trial.shop_spread
    );
    let shops = &taught.shops;
    let rows = [
        ("by the catalogue", with_limits(shops.iter().map(|one| one.before_minutes))),
        ("as learnt", with_limits(shops.iter().map(|one| one.after_minutes))),
        ("knowing the true rates", with_limits(shops.iter().map(|one| one.at_best_minutes))),
        ("saved", with_limits(shops.iter().map(|one| one.before_minutes - one.after_minutes))),
    ];
    for (words, (mean, limits)) in rows {
        let _ = writeln!(text, "{words:<26} {mean:>7.2} minutes a job, +- {limits:.2} (95 %)");
    }
    let [catalogue, learnt, best] = taught.loss_bits;
    let _ = writeln!(
        text,
        "bits to name the bad part: {catalogue:.2} by the catalogue, {learnt:.2} as learnt, {best:.2} at best"
    );
    let _ = writeln!(text, "{:>10} {:>10} {:>10} {:>7}", "catalogue", "learnt", "came", "parts");
    for bin in &taught.calibration {
        let _ = writeln!(
            text,
            "{:>8.1} % {:>8.1} % {:>8.1} % {:>7}",
            bin.catalogue * 100.0,
            bin.learnt * 100.0,
            bin.came * 100.0,
            bin.parts
        );
    }
    text
}
