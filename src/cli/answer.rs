//! Readings as typed: `TEST=OUTCOME`, `TEST=11.8`, `FIX=cured`.

use super::exit::CliError;
use crate::job::event::{Answer, Event};
use crate::job::state::Job;
use crate::quantity;

/// The event a typed reading stands for.
pub fn event(job: &mut Job, typed: &str) -> Result<Event, CliError> {
    let (what, answer) = typed.rsplit_once('=').ok_or_else(|| {
        CliError::usage(format!("`{typed}` is no reading: write TEST=OUTCOME or FIX=cured"))
    })?;
    if job.fix(what).is_ok() {
        let cured = match answer {
            "cured" => true,
            "not-cured" => false,
            _ => {
                let message = format!("after a fix say `cured` or `not-cured`, not `{answer}`");
                return Err(CliError::usage(message));
            }
        };
        return Ok(Event::Tried { fix: what.to_owned(), cured });
    }
    job.know(what).map_err(CliError::usage)?;
    let unit = job.column(what).and_then(|column| column.test.tester.unit());
    let named = job
        .column(what)
        .is_some_and(|column| column.outcomes.iter().any(|outcome| outcome.id == answer));
    let answer = match unit {
        Some(unit) if !named => number(answer, unit)?,
        _ => Answer::Named(answer.to_owned()),
    };
    Ok(Event::Reading { test: what.to_owned(), answer })
}

fn number(typed: &str, unit: &str) -> Result<Answer, CliError> {
    let unit = match unit {
        "V" => quantity::Unit::Volts,
        "A" => quantity::Unit::Amps,
        _ => quantity::Unit::Ohms,
    };
    quantity::parse(typed, unit).map(Answer::Number).map_err(CliError::usage)
}
