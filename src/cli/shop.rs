//! The part of `trial` that plays shops which learn.

use std::fmt::Write;
use std::sync::Arc;

use super::args::Trial;
use super::exit::CliError;
use crate::job::study::Study;
use crate::plan::{Budget, Progress};
use crate::trial::calibration::Bin;
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
        // One shop tells nothing of how far others are off.
        let limits =
            if limits.is_finite() { format!(", +- {limits:.2} (95 %)") } else { String::new() };
        let _ = writeln!(text, "{words:<26} {mean:>7.2} minutes a job{limits}");
    }
    let [catalogue, learnt, best] = taught.loss_bits;
    let _ = writeln!(
        text,
        "bits to name the bad part: {catalogue:.2} by the catalogue, {learnt:.2} as learnt, {best:.2} at best"
    );
    text + &plot(&taught.calibration)
}

/// Columns of the plot.
const COLUMNS: usize = 40;

/// Predicted shares against what came in as many fresh jobs, a row for each range of predictions.
fn plot(bins: &[Bin]) -> String {
    let most = bins.iter().map(|bin| bin.limits().1.max(bin.learnt)).fold(0.0, f64::max).max(1e-9);
    let mut text = format!(
        "\nforetold of a part, and what came in fresh jobs, with 95 % limits of the count\n\
         {:>9} {:>7} {:>7} {:>16} {:>6} {:>8}  0 %{:>width$.0} %\n",
        "catalogue",
        "learnt",
        "came",
        "limits",
        "parts",
        "chances",
        most * 100.0,
        width = COLUMNS - 3
    );
    for bin in bins {
        let (low, high) = bin.limits();
        let _ = writeln!(
            text,
            "{:>7.1} % {:>5.1} % {:>5.1} % {:>5.1} to {:>4.1} % {:>6} {:>8}  {}",
            bin.catalogue * 100.0,
            bin.learnt * 100.0,
            bin.came() * 100.0,
            low * 100.0,
            high * 100.0,
            bin.parts,
            bin.chances,
            row(bin, most)
        );
    }
    let _ =
        writeln!(text, "o foretold as learnt, * came, [ ] its limits, @ foretold and came alike");
    text
}

/// `[--o*---]` on an axis from nothing to `most`.
fn row(bin: &Bin, most: f64) -> String {
    let column = |share: f64| ((share / most) * (COLUMNS - 1) as f64).round() as usize;
    let (low, high) = bin.limits();
    let (low, high) = (column(low), column(high));
    let (came, foretold) = (column(bin.came()), column(bin.learnt));
    let cell = |at: usize| match at {
        at if at == came && at == foretold => '@',
        at if at == foretold => 'o',
        at if at == came => '*',
        at if at == low => '[',
        at if at == high => ']',
        at if (low..=high).contains(&at) => '-',
        _ => ' ',
    };
    (0..COLUMNS).map(cell).collect::<String>().trim_end().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_of_the_plot_shows_what_was_foretold_beside_what_came() {
        let bin = |learnt, faults| Bin { learnt, chances: 100, faults, parts: 1, ..Bin::default() };
        // Of 40 columns: 40.4 % is the 16th, 59.6 % the 23rd, and half of 39 is rounded up.
        assert_eq!(row(&bin(0.5, 50), 1.0), format!("{}[---@--]", " ".repeat(16)));
        let missed = row(&bin(0.9, 20), 1.0);
        assert_eq!(missed.find('*'), Some(8));
        assert_eq!(missed.find('o'), Some(35));
        assert!(missed.find(']') < missed.find('o'), "{missed}");
        let text = plot(&[bin(0.5, 50)]);
        assert!(text.contains("50.0 %") && text.contains("40.4 to 59.6 %"), "{text}");
    }
}
