//! Readings as typed: `TEST=OUTCOME`, `TEST=11.8`, `TEST=9-11`, `FIX=cured`.

use super::exit::CliError;
use crate::job::entry::typed::Asked;
use crate::job::event::Event;
use crate::job::state::Job;

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
    let column = job.know(what).map_err(CliError::usage)?;
    let answer = Asked::of_column(&column, job.study().circuit().system_volts)
        .read(answer)
        .map_err(CliError::usage)?;
    Ok(Event::Reading { test: what.to_owned(), answer })
}
