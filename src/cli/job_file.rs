//! Job files begun and gone on with.

use std::path::{Path, PathBuf};

use super::args::Find;
use super::exit::{CliError, tell};
use super::keeper::{Keeper, Shared};
use super::{load, settings};
use crate::circuit::Circuit;
use crate::job::event::Event;
use crate::job::journal::{FORMAT, Header, Journal};
use crate::job::state::Job;
use crate::problem::sanitise;
use crate::tester::Instrument;

/// Begins the job file of a job, with what was told before its first step.
pub fn begin_job(
    job: &Job,
    kit: &[Instrument],
    find: &Find,
    keeper: &Shared,
) -> Result<(), CliError> {
    let circuit = job.study().circuit();
    let started = jiff::Timestamp::now();
    let header = Header {
        halfsplit_job: FORMAT,
        circuit: circuit.id.clone(),
        text: circuit.source.clone(),
        kit: kit.iter().map(|one| one.id().to_owned()).collect(),
        complaint: job.study().work().id.clone(),
        started: started.to_string(),
        learned: job.study().learned().clone(),
    };
    let mut kept =
        Keeper::begin(find.job.clone().unwrap_or_else(|| fresh_path(circuit, started)), header);
    for event in job.events() {
        // What cannot be written is told on the screen, and tried again.
        let _told = kept.keep(event);
    }
    // A job that was asked for by name must be kept there; otherwise the work goes on in memory.
    if find.job.is_some() && kept.kept_at().is_none() {
        return Err(CliError::failed(kept.why().unwrap_or_default()));
    }
    keeper.set(kept);
    Ok(())
}

fn fresh_path(circuit: &Circuit, started: jiff::Timestamp) -> PathBuf {
    let stamp = started.strftime("%Y%m%d-%H%M%S");
    let folder = settings::jobs_folder().unwrap_or_else(std::env::temp_dir);
    let mut path = folder.join(format!("{}-{stamp}.job", circuit.id));
    for number in 2..100 {
        if !path.exists() {
            break;
        }
        path = folder.join(format!("{}-{stamp}-{number}.job", circuit.id));
    }
    path
}

/// Goes on with a job file, the battery as measured by now: the job, what keeps it, and whether its last line was
/// cut short.
///
/// # Errors
/// Where the file cannot be read or written, or the battery cannot have these volts.
pub fn resumed(path: &Path, battery_volts: Option<f64>) -> Result<(Job, Keeper, bool), CliError> {
    let (journal, kept) = Journal::open(path).map_err(CliError::failed)?;
    let mut job = load::job(path, &kept)?;
    let torn = kept.torn;
    let mut goes_on = Keeper::resumed(journal, kept.header, kept.events);
    if let Some(volts) = battery_volts {
        let event = Event::Battery { volts };
        job.record(event.clone()).map_err(CliError::usage)?;
        goes_on.keep(&event).map_err(CliError::failed)?;
    }
    Ok((job, goes_on, torn))
}

/// Says that the end of a job file is lost.
pub fn tell_torn() {
    tell("the last line of the job file was cut short; that event is lost");
}

/// `2026-03-01T09:12:33.5Z` as `2026-03-01 09:12`; anything else as it stands.
pub fn moment(stamp: &str) -> String {
    let stamp = sanitise(stamp);
    match stamp.split_once('T') {
        Some((day, time)) if time.is_ascii() && time.len() >= 5 => format!("{day} {}", &time[..5]),
        _ => stamp,
    }
}
