//! `class`: the record of a class.

use super::drill_args::{Class, ClassFormat};
use super::exit::{CliError, End, tell};
use super::{scores, write};
use crate::report::class::{csv, html, json, sum_up, text};

/// Runs `class`.
pub fn run(class: &Class) -> Result<End, CliError> {
    write::may(class.out.out.as_deref(), class.out.force)?;
    let paths =
        if class.scores.is_empty() { vec![scores::folder()?] } else { class.scores.clone() };
    let (records, broken) = scores::read(&paths)?;
    for line in &broken {
        tell(&format!("{line}; left out"));
    }
    if records.is_empty() {
        return Err(CliError::failed(
            "no finished drill is kept there; `halfsplit drill --learner NAME` keeps one",
        ));
    }
    let summed = sum_up(&records);
    let format = if class.json { ClassFormat::Json } else { class.format };
    let report = match format {
        ClassFormat::Text => text::write(&summed),
        ClassFormat::Csv => csv::write(&summed),
        ClassFormat::CsvDrills => csv::drills(&records),
        ClassFormat::Html => html::write(&summed),
        ClassFormat::Json => json::write(&summed),
    };
    write::out(class.out.out.as_deref(), class.out.force, &report)?;
    Ok(if broken.is_empty() { End::Fine } else { End::Finding })
}
