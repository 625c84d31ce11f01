//! `trial --sequence`: a printed order of checks beside the planner, on the same suspects.

use std::fmt::Write;
use std::path::Path;
use std::sync::Arc;

use serde_json::{Value, json};

use super::args::Trial;
use super::exit::{CliError, End, say, say_json};
use super::figures::figures;
use super::load;
use crate::job::study::Study;
use crate::plan::{Budget, Progress};
use crate::problem::sanitise;
use crate::trial::desk::Desk;
use crate::trial::rival::Way;
use crate::trial::sequence::{Sequence, outcomes};
use crate::trial::{Outcome, cured_share, mean, series, worst};

/// Suspects named that a sheet does not lead to.
const NAMED: usize = 8;

/// Runs it.
pub fn run(study: &Arc<Study>, path: &Path, trial: &Trial) -> Result<End, CliError> {
    let sequence = load::sequence(path, study)?;
    let sheet = outcomes(study, &sequence);
    let desk = Desk::new(study, Budget { nodes: trial.nodes });
    let planned = series(&desk, Way::Planned, &Progress::default()).outcomes;
    if trial.json {
        say_json(&in_json(study, &sequence, &sheet, &planned))?;
    } else {
        say(&in_words(study, &sequence, &sheet, &planned))?;
    }
    let cured = planned.iter().all(|one| one.play.cured);
    Ok(if cured { End::Fine } else { End::Finding })
}

/// The plays of both on the suspects that the sheet leads to.
fn found(sheet: &[Outcome], planned: &[Outcome]) -> (Vec<Outcome>, Vec<Outcome>) {
    let both = sheet.iter().zip(planned).filter(|(one, _)| one.play.cured);
    both.map(|(one, other)| (one.clone(), other.clone())).unzip()
}

fn in_json(study: &Study, sequence: &Sequence, sheet: &[Outcome], planned: &[Outcome]) -> Value {
    let (sheet_found, planned_found) = found(sheet, planned);
    let on_found = (!sheet_found.is_empty()).then(|| {
        json!({
            "suspects": sheet_found.len(),
            "sequence_minutes": mean(&sheet_found, |play| play.minutes),
            "sequence_tests": mean(&sheet_found, |play| play.tests as f64),
            "planned_minutes": mean(&planned_found, |play| play.minutes),
            "planned_tests": mean(&planned_found, |play| play.tests as f64),
        })
    });
    json!({
        "name": sequence.name, "source": sequence.source, "steps": sequence.steps.len(),
        "sequence": figures(study, sheet), "planned": figures(study, planned),
        "on_what_the_sequence_finds": on_found,
    })
}

fn in_words(study: &Study, sequence: &Sequence, sheet: &[Outcome], planned: &[Outcome]) -> String {
    let mut text = sanitise(&sequence.name) + "\n";
    if !sequence.source.is_empty() {
        let _ = writeln!(text, "{}", sanitise(&sequence.source));
    }
    let _ = writeln!(
        text,
        "{}: {} suspects that show `{}` failing\n\n{:<38} {:>7} {:>8} {:>8} {:>8} {:>7}",
        study.circuit().name,
        sheet.len(),
        study.work().name,
        "",
        "found",
        "minutes",
        "worst",
        "tests",
        "wrong"
    );
    text += &row("the sheet, to its end", sheet);
    text += &row("halfsplit", planned);
    let (sheet_found, planned_found) = found(sheet, planned);
    if sheet_found.len() < sheet.len() {
        text += "\nOn what the sheet finds:\n";
        if !sheet_found.is_empty() {
            text += &row("the sheet", &sheet_found);
            text += &row("halfsplit", &planned_found);
        }
        text += &missed(study, sheet);
    }
    text
}

fn row(title: &str, outcomes: &[Outcome]) -> String {
    format!(
        "{title:<38} {:>5.0} % {:>8.1} {:>8.1} {:>8.1} {:>7.2}\n",
        cured_share(outcomes) * 100.0,
        mean(outcomes, |play| play.minutes),
        worst(outcomes, |play| play.minutes),
        mean(outcomes, |play| play.tests as f64),
        mean(outcomes, |play| play.wrong_fixes as f64)
    )
}

/// What the sheet leads nobody to, likeliest first.
fn missed(study: &Study, sheet: &[Outcome]) -> String {
    let total: f64 = sheet.iter().map(|one| one.weight).sum();
    let mut list: Vec<&Outcome> = sheet.iter().filter(|one| !one.play.cured).collect();
    list.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    let mut text = "\nNot found by the sheet:\n".to_owned();
    for one in list.iter().take(NAMED) {
        let suspect = &study.lineup().suspects[one.suspect.index()];
        let part =
            suspect.part.map_or("", |part| study.circuit().parts[part.index()].name.as_str());
        let share = 100.0 * one.weight / total;
        let _ = writeln!(text, "  {share:4.1} %  {}: {}", sanitise(part), sanitise(&suspect.fault));
    }
    if list.len() > NAMED {
        let rest: f64 = list[NAMED..].iter().map(|one| one.weight).sum();
        let _ = writeln!(text, "  {:4.1} %  {} others", 100.0 * rest / total, list.len() - NAMED);
    }
    text
}
