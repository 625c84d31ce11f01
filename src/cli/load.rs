//! Finding a circuit and reckoning it through; replaying a job.

use std::path::Path;
use std::sync::Arc;

use clap::ValueEnum;

use super::args::{Kit, OneCircuit};
use super::exit::CliError;
use super::history;
use super::shelf::Disk;
use crate::circuit::read::Reading;
use crate::circuit::reuse::Text;
use crate::circuit::{Circuit, builtin, read};
use crate::job::event::Event;
use crate::job::journal::Kept;
use crate::job::learned::Learned;
use crate::job::state::Job;
use crate::job::study::Study;
use crate::problem::{Picture, picture};
use crate::problem::{Problem, Severity, Source};
use crate::trial::sequence::Sequence;
use crate::trial::sequence::read::read_text as read_sequence;

/// States the planner examines for one step, by default.
pub const STEP_NODES: u64 = 100;
/// Larger files are not read: no circuit is so long.
pub const MOST_BYTES: u64 = 1024 * 1024;

/// How pictures of problems look: plain, so that a pipe and a screen get the same.
pub fn look() -> Picture {
    Picture::default()
}

/// CIRCUIT, a built-in one or a file with the files it names, as it was read: with all its problems.
pub fn reading(circuit: &str) -> Result<Reading, CliError> {
    if let Some(text) = builtin::text(circuit) {
        let mut reading = read::read_files(circuit, text, &Disk);
        reading.texts[0].name = format!("{circuit} (built in)");
        return Ok(reading);
    }
    let text = read_file(circuit, "a circuit file", |error| missing(circuit, error))?;
    Ok(read::read_files(circuit, &text, &Disk))
}

/// A built-in circuit by the id that jobs have it under, which comes from its name.
pub fn built_in(id: &str) -> Option<Arc<Circuit>> {
    let all = builtin::names().into_iter();
    let mut circuits = all.filter_map(|name| read::read_text(name, builtin::text(name)?).0);
    circuits.find(|circuit| circuit.id == id).map(Arc::new)
}

/// The text of a file that is not too long; `what` it should be is said where it is.
fn read_file(
    path: &str,
    what: &str,
    missing: impl Fn(&std::io::Error) -> CliError,
) -> Result<String, CliError> {
    let size = std::fs::metadata(path).map_err(|error| missing(&error))?.len();
    if size > MOST_BYTES {
        return Err(CliError::failed(format!("`{path}` is over 1 MiB: not {what}")));
    }
    let bytes = std::fs::read(path).map_err(|error| missing(&error))?;
    String::from_utf8(bytes).map_err(|_| CliError::failed(format!("`{path}` is not text in UTF-8")))
}

/// Reads a printed order of checks for a circuit; its problems go to standard error.
pub fn sequence(path: &Path, study: &Study) -> Result<Sequence, CliError> {
    let name = path.display().to_string();
    let missing =
        |error: &std::io::Error| CliError::usage(format!("cannot read `{name}`: {error}"));
    let text = read_file(&name, "an order of checks", missing)?;
    read_sequence(study, &text).map_err(|problems| {
        show_problems(&[Source { name: &name, text: &text }], &problems);
        let count = problems.len();
        let (s, them) = if count == 1 { ("", "it") } else { ("s", "them") };
        CliError::failed(format!("`{name}` has {count} error{s}; mend {them} and try again"))
    })
}

fn missing(circuit: &str, error: &std::io::Error) -> CliError {
    let known = builtin::names();
    let nearest = known
        .iter()
        .map(|name| (strsim::damerau_levenshtein(circuit, name), *name))
        .min()
        .filter(|(distance, name)| *distance <= name.len() / 3);
    let hint = match nearest {
        Some((_, name)) => format!("did you mean the built-in `{name}`?"),
        None => format!("built-in circuits: {}", known.join(", ")),
    };
    CliError::usage(format!("cannot read `{circuit}`: {error}; {hint}"))
}

/// Reads CIRCUIT; its problems go to standard error.
pub fn circuit(name: &str) -> Result<Arc<Circuit>, CliError> {
    let Reading { found, problems, texts } = reading(name)?;
    let sources: Vec<Source<'_>> = texts.iter().map(Text::source).collect();
    show_problems(&sources, &problems);
    let Some((circuit, _)) = found else {
        let count = problems.iter().filter(|one| one.severity == Severity::Error).count();
        let (s, them) = if count == 1 { ("", "it") } else { ("s", "them") };
        let message = format!("`{name}` has {count} error{s}; mend {them} and try again");
        return Err(CliError::failed(message));
    };
    Ok(Arc::new(circuit))
}

fn show_problems(sources: &[Source<'_>], problems: &[Problem]) {
    for problem in problems {
        eprintln!("{}", picture(problem, sources, look()));
    }
}

/// Reckons CIRCUIT through.
pub fn study(name: &str, common: &OneCircuit) -> Result<Arc<Study>, CliError> {
    study_of(&circuit(name)?, common)
}

/// Reckons a circuit through, with its battery as measured if it was.
pub fn study_of(circuit: &Arc<Circuit>, common: &OneCircuit) -> Result<Arc<Study>, CliError> {
    let job = job_of(circuit, common)?;
    Ok(job.shared_study())
}

/// A job on CIRCUIT in which nothing was done yet but what the command line tells.
pub fn new_job(name: &str, common: &OneCircuit) -> Result<Job, CliError> {
    job_of(&circuit(name)?, common)
}

/// The same on a circuit that was read.
pub fn job_of(circuit: &Arc<Circuit>, common: &OneCircuit) -> Result<Job, CliError> {
    let complaint = complaint(circuit, common.complaint.as_deref())?;
    let learned = history::learned(common.history.as_deref(), circuit)?;
    job_taught(circuit, common, complaint, &learned)
}

fn job_taught(
    circuit: &Arc<Circuit>,
    common: &OneCircuit,
    complaint: usize,
    learned: &Arc<Learned>,
) -> Result<Job, CliError> {
    let study = Study::taught(circuit, &common.instruments(), complaint, learned);
    let mut job = Job::new(study.map(Arc::new).map_err(CliError::failed)?);
    if let Some(volts) = common.battery_volts {
        job.record(Event::Battery { volts }).map_err(CliError::usage)?;
    }
    Ok(job)
}

/// The number of the work that fails.
pub fn complaint(circuit: &Circuit, wanted: Option<&str>) -> Result<usize, CliError> {
    let Some(wanted) = wanted else { return Ok(0) };
    let at = circuit.works.iter().position(|work| work.id == wanted || work.name == wanted);
    at.ok_or_else(|| {
        let known: Vec<&str> = circuit.works.iter().map(|work| work.id.as_str()).collect();
        CliError::usage(format!(
            "`{wanted}` is nothing this circuit does; it has: {}",
            known.join(", ")
        ))
    })
}

/// The job a job file holds.
pub fn job(path: &Path, kept: &Kept) -> Result<Job, CliError> {
    let (circuit, _) = read::read_text(&kept.header.circuit, &kept.header.text);
    let circuit = circuit.ok_or_else(|| {
        CliError::failed(format!("the circuit inside `{}` cannot be read", path.display()))
    })?;
    let kit = kept
        .header
        .kit
        .iter()
        .filter_map(|name| {
            Kit::value_variants().iter().copied().find(|kit| kit.to_string() == *name)
        })
        .collect();
    let common = OneCircuit { kit: Some(kit), complaint: None, battery_volts: None, history: None };
    let circuit = Arc::new(circuit);
    let complaint = complaint(&circuit, Some(&kept.header.complaint))?;
    let learned = Arc::new(kept.header.learned.clone());
    let mut job = job_taught(&circuit, &common, complaint, &learned)?;
    for event in &kept.events {
        job.record(event.clone()).map_err(|error| {
            CliError::failed(format!("`{}` does not fit its circuit: {error}", path.display()))
        })?;
    }
    Ok(job)
}
