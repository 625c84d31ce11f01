//! `find`: the interactive diagnosis.

use std::io::IsTerminal;
use std::path::PathBuf;
use std::sync::Arc;

use super::args::Find;
use super::bench::RealBench;
use super::config::tell_warnings;
use super::desk::RealDesk;
use super::exit::{CliError, End, say, tell};
use super::job_file::{begin_job, resumed, tell_torn};
use super::keeper::Shared;
use super::settings::{self, Settings};
use super::{history, load, screen};
use crate::circuit::builtin;
use crate::history::ledger::Ledger;
use crate::job::state::Job;
use crate::problem::sanitise;
use crate::tui::bench::Bench;
use crate::tui::intake::{Intake, Turn, plain as questions};
use crate::tui::{Leave, LeaveCause, ScreenOptions, Start, plain, run as run_screen};

/// Runs `find`.
pub fn run(find: &Find) -> Result<End, CliError> {
    let settings = settings::load();
    tell_warnings(&settings);
    let mut find = find.clone();
    if find.common.kit.is_none() {
        find.common.kit.clone_from(&settings.kit);
    }
    if !find.no_history && find.common.history.is_none() && find.resume.is_none() {
        find.common.own_history = own_history();
    }
    let find = &find;
    if !find.plain {
        on_terminal(find)?;
    }
    let keeper = Shared::empty();
    let leave = match (asks(find), &find.resume) {
        (true, None) => asked(find, &settings, &keeper)?,
        (_, Some(file)) => {
            let job = resume(file, find.common.battery_volts, &keeper)?;
            work(find, &settings, job, &keeper)?
        }
        (false, None) => {
            let circuit = load::circuit(find.circuit.as_deref().unwrap_or_default())?;
            let job = load::job_of(&circuit, &find.common)?;
            begin_job(&job, find.common.kit(), find, &keeper)?;
            work(find, &settings, job, &keeper)?
        }
    };
    farewell(&keeper, leave.cured)?;
    Ok(End::Fine)
}

/// The shop's own history, where it can be read: no job waits for one that cannot.
fn own_history() -> Option<Arc<Ledger>> {
    match history::path("").and_then(|path| history::read(&path)) {
        Ok(ledger) => Some(Arc::new(ledger)),
        Err(error) => {
            tell(&format!("{error}; the job goes on without it"));
            None
        }
    }
}

/// Whether questions come before the first step.
fn asks(find: &Find) -> bool {
    let somebody = !find.plain || std::io::stdin().is_terminal();
    find.circuit.is_none() || !find.straight && somebody
}

fn work(find: &Find, settings: &Settings, job: Job, keeper: &Shared) -> Result<Leave, CliError> {
    let bench: Box<dyn Bench> = Box::new(RealBench::new(job, keeper.clone()));
    if find.plain { by_line(bench) } else { on_screen(find, settings, Start::Job(bench)) }
}

fn asked(find: &Find, settings: &Settings, keeper: &Shared) -> Result<Leave, CliError> {
    let desk = RealDesk::new(find, settings, keeper.clone())?;
    let (mut intake, turn) = Intake::new(Box::new(desk)).map_err(CliError::failed)?;
    if find.plain {
        let bench = {
            let mut input = std::io::stdin().lock();
            let mut output = std::io::stdout().lock();
            questions::ask(&mut intake, turn, &mut input, &mut output).map_err(CliError::failed)?
        };
        let left = Leave { cause: LeaveCause::Asked, cured: false };
        return bench.map_or(Ok(left), by_line);
    }
    let start = match turn {
        Turn::Begins(bench) => Start::Job(bench),
        Turn::Asks | Turn::Wrong(_) => Start::Asked(Box::new(intake)),
    };
    on_screen(find, settings, start)
}

fn by_line(mut bench: Box<dyn Bench>) -> Result<Leave, CliError> {
    let mut input = std::io::stdin().lock();
    let mut output = std::io::stdout().lock();
    plain::run(bench.as_mut(), &mut input, &mut output).map_err(CliError::failed)
}

/// A screen needs a terminal.
fn on_terminal(find: &Find) -> Result<(), CliError> {
    if screen::is_there() {
        return Ok(());
    }
    let message = "this is no terminal for a screen; use `halfsplit find --plain`";
    if find.circuit.is_some() || find.resume.is_some() {
        return Err(CliError::usage(message));
    }
    let known = builtin::names().join(", ");
    Err(CliError::usage(format!("{message}, with a circuit file or one of {known}")))
}

fn on_screen(find: &Find, settings: &Settings, start: Start) -> Result<Leave, CliError> {
    let options = screen::options(find.color, find.ascii, find.look, settings);
    let options = ScreenOptions { mouse: settings.mouse == Some(true), ..options };
    run_screen(start, options).map_err(CliError::failed)
}

fn resume(file: &str, battery_volts: Option<f64>, keeper: &Shared) -> Result<Job, CliError> {
    let path = if file.is_empty() { newest_job()? } else { PathBuf::from(file) };
    let (job, goes_on, torn) = resumed(&path, battery_volts)?;
    if torn {
        tell_torn();
    }
    keeper.set(goes_on);
    Ok(job)
}

fn newest_job() -> Result<PathBuf, CliError> {
    let folder = settings::jobs_folder().unwrap_or_default();
    let entries = std::fs::read_dir(&folder).into_iter().flatten().flatten();
    let newest = entries
        .filter(|entry| entry.path().extension().is_some_and(|ending| ending == "job"))
        .filter(|entry| entry.path().is_file())
        .filter_map(|entry| Some((entry.metadata().ok()?.modified().ok()?, entry.path())))
        .max();
    newest.map(|(_, path)| path).ok_or_else(|| {
        CliError::failed(format!("there is no job in `{}` to go on with", folder.display()))
    })
}

/// Says where the job is, and saves what the disk refused by another way.
fn farewell(keeper: &Shared, cured: bool) -> Result<(), CliError> {
    let Some((path, saved, torn)) = keeper.with(|keeper| {
        let saved = (keeper.waiting() > 0).then(|| keeper.rescue(&std::env::temp_dir()));
        (keeper.path().to_owned(), saved, keeper.torn)
    }) else {
        return Ok(());
    };
    if torn {
        tell_torn();
    }
    let shown = |path: &PathBuf| sanitise(&path.display().to_string());
    // The newest job in the data folder needs no name.
    let in_its_folder = path.parent() == settings::jobs_folder().as_deref();
    let (path, named) = match saved {
        None => (shown(&path), !in_its_folder),
        Some(Ok(other)) => {
            let other = shown(&other);
            tell(&format!("{} could not be written to the end", shown(&path)));
            (other, true)
        }
        Some(Err(error)) => {
            let message = format!(
                "the job is lost: neither {} nor another place takes it: {error}",
                shown(&path)
            );
            return Err(CliError::failed(message));
        }
    };
    say(&format!("The job is kept in {path}\n"))?;
    if !cured {
        let name = if named { format!(" {path}") } else { String::new() };
        say(&format!("Go on with it by: halfsplit find --resume{name}\n"))?;
    }
    Ok(())
}
