//! Finding a circuit and reckoning it through; replaying a job.

use std::path::Path;
use std::sync::Arc;

use super::common_args::OneCircuit;
use super::exit::{CliError, hint};
use super::history;
use super::shelf::{Disk, MOST_BYTES};
use crate::circuit::read::Reading;
use crate::circuit::reuse::Text;
use crate::circuit::{Circuit, builtin, read};
use crate::job::event::Event;
use crate::job::journal::{Kept, bounded};
use crate::job::state::Job;
use crate::job::study::Study;
use crate::job::study::learned::Learned;
use crate::problem::{Picture, picture};
use crate::problem::{Problem, Severity, Source};
use crate::tester::Instrument;
use crate::trial::sequence::Sequence;
use crate::trial::sequence::read::read_text as read_sequence;

/// States the planner examines for one step, by default.
pub const STEP_NODES: u64 = 100;

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
    let bytes = bounded(Path::new(path), MOST_BYTES).map_err(|error| missing(&error))?;
    let bytes =
        bytes.ok_or_else(|| CliError::failed(format!("`{path}` is over 1 MiB: not {what}")))?;
    String::from_utf8(bytes).map_err(|_| CliError::failed(format!("`{path}` is not text in UTF-8")))
}

/// The text of a file that has to be there.
pub fn short_file(path: &str, what: &str) -> Result<String, CliError> {
    read_file(path, what, |error| CliError::usage(format!("cannot read `{path}`: {error}")))
}

/// Reads a printed order of checks for a circuit; its problems go to standard error.
pub fn sequence(path: &Path, study: &Study) -> Result<Sequence, CliError> {
    let name = path.display().to_string();
    let text = short_file(&name, "an order of checks")?;
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
        hint(&format!("{}\n", picture(problem, sources, look())));
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
    let learned = history::learned(common, circuit)?;
    job_taught(circuit, common, complaint, &learned)
}

fn job_taught(
    circuit: &Arc<Circuit>,
    common: &OneCircuit,
    complaint: usize,
    learned: &Arc<Learned>,
) -> Result<Job, CliError> {
    let study = Study::taught(circuit, common.kit(), complaint, learned);
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

/// Entries of a job that is replayed: nobody takes more steps at one machine. (A card of so many readings, a tenth of
/// them wrong, took ten seconds of a processor.)
const MOST_ENTRIES: usize = 2_000;

/// The job a job file holds.
pub fn job(path: &Path, kept: &Kept) -> Result<Job, CliError> {
    let named = path.display();
    if kept.events.len() > MOST_ENTRIES {
        let count = kept.events.len();
        let message =
            format!("`{named}` has {count} entries; {MOST_ENTRIES} are the most of a job");
        return Err(CliError::failed(message));
    }
    let (circuit, _) = read::read_text(&kept.header.circuit, &kept.header.text);
    let circuit = circuit
        .ok_or_else(|| CliError::failed(format!("the circuit inside `{named}` cannot be read")))?;
    let kit = kept
        .header
        .kit
        .iter()
        .filter_map(|name| Instrument::KIT.into_iter().find(|one| one.id() == name))
        .collect();
    let common = OneCircuit { kit: Some(kit), ..OneCircuit::default() };
    let circuit = Arc::new(circuit);
    let complaint = complaint(&circuit, Some(&kept.header.complaint))?;
    let learned = Arc::new(kept.header.learned.clone());
    let fresh = job_taught(&circuit, &common, complaint, &learned)?;
    for (number, event) in kept.events.iter().enumerate() {
        fresh.check(event).map_err(|error| {
            // The header is the first line.
            let line = number + 2;
            CliError::failed(format!("line {line} of `{named}` does not fit its circuit: {error}"))
        })?;
    }
    let unfit = |error| CliError::failed(format!("`{named}` does not fit its circuit: {error}"));
    fresh.back_at(&kept.events).map_err(unfit)
}
