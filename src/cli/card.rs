//! `card`: the job card of a job file.

use super::exit::{CliError, End, tell};
use super::report_args::{Card, CardFormat};
use super::{load, write};
use crate::job::journal;
use crate::report::card::{html, json, markdown, sum_up, text};

/// Runs `card`.
pub fn run(card: &Card) -> Result<End, CliError> {
    write::may(card.out.out.as_deref(), card.out.force)?;
    let (kept, _) = journal::read(&card.job).map_err(CliError::failed)?;
    if kept.torn {
        tell("the last line of the job file was cut short; that event is left out");
    }
    let job = load::job(&card.job, &kept)?;
    let card_of = sum_up(&job, &kept);
    let format = if card.json { CardFormat::Json } else { card.format };
    let report = match format {
        CardFormat::Text => text::write(&card_of),
        CardFormat::Markdown => markdown::write(&card_of),
        CardFormat::Html => html::write(&card_of),
        CardFormat::Json => json::write(&card_of),
    };
    write::out(card.out.out.as_deref(), card.out.force, &report)?;
    Ok(End::Fine)
}
