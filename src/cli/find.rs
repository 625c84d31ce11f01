//! `find`: the interactive diagnosis.

use std::io::IsTerminal;
use std::path::PathBuf;

use super::ahead::Ahead;
use super::args::{Color, Find, Kit};
use super::exit::{CliError, End, say};
use super::load;
use crate::circuit::Circuit;
use crate::job::event::Event;
use crate::job::journal::{FORMAT, Header, Journal};
use crate::job::present::by_worth;
use crate::job::reasons::for_and_against;
use crate::job::standing::{Standing, TestStep};
use crate::job::state::Job;
use crate::job::words;
use crate::plan::{Budget, Progress};
use crate::problem::sanitise;
use crate::tui::bench::{Bench, OtherTest};
use crate::tui::{Leave, ScreenOptions, plain, run as screen};

/// Tests listed beside the proposed one.
const OTHERS: usize = 200;

/// Runs `find`.
pub fn run(find: &Find) -> Result<End, CliError> {
    let (job, journal) = match &find.resume {
        Some(file) => resume(file, find.common.battery_volts)?,
        None => begin(find)?,
    };
    let kept = journal.as_ref().map(|journal| journal.path().to_owned());
    let bench = Box::new(RealBench { job, journal, ahead: Ahead::default() });
    let leave = if find.plain { by_line(bench)? } else { on_screen(find, bench)? };
    let cured = leave.cured;
    if let Some(path) = kept {
        let path = sanitise(&path.display().to_string());
        say(&format!("The job is kept in {path}\n"))?;
        if !cured {
            // The newest job in the data folder needs no name.
            let name = if find.job.is_some() { format!(" {path}") } else { String::new() };
            say(&format!("Go on with it by: halfsplit find --resume{name}\n"))?;
        }
    }
    Ok(End::Fine)
}

fn by_line(mut bench: Box<RealBench>) -> Result<Leave, CliError> {
    let mut input = std::io::stdin().lock();
    let mut output = std::io::stdout().lock();
    plain::run(bench.as_mut(), &mut input, &mut output).map_err(CliError::failed)
}

fn on_screen(find: &Find, bench: Box<RealBench>) -> Result<Leave, CliError> {
    let dumb = std::env::var("TERM").is_ok_and(|term| term == "dumb");
    if !std::io::stdout().is_terminal() || !std::io::stdin().is_terminal() || dumb {
        let message = "this is no terminal for a screen; use `halfsplit find --plain`";
        return Err(CliError::usage(message));
    }
    let color = match find.color {
        Color::Auto => std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty()),
        Color::Always => true,
        Color::Never => false,
    };
    screen(bench, ScreenOptions { color, ascii: find.ascii }).map_err(CliError::failed)
}

fn begin(find: &Find) -> Result<(Job, Option<Journal>), CliError> {
    let name = find.circuit.as_deref().unwrap_or_default();
    let circuit = load::circuit(name)?;
    let job = load::job_of(&circuit, &find.common)?;
    let started = jiff::Timestamp::now();
    let header = Header {
        halfsplit_job: FORMAT,
        circuit: circuit.id.clone(),
        text: circuit.source.clone(),
        kit: find.common.kit.iter().map(Kit::to_string).collect(),
        complaint: job.study().work().id.clone(),
        started: started.to_string(),
    };
    let path = match &find.job {
        Some(path) => path.clone(),
        None => fresh_path(&circuit, started)?,
    };
    match Journal::create(&path, &header) {
        Ok(mut journal) => {
            for event in job.events() {
                journal.append(event).map_err(CliError::failed)?;
            }
            Ok((job, Some(journal)))
        }
        // A job that was asked for by name must be kept there; otherwise the work goes on unkept.
        Err(error) if find.job.is_some() => Err(CliError::failed(error)),
        Err(error) => {
            eprintln!("halfsplit: {error}; this job will not be kept");
            Ok((job, None))
        }
    }
}

fn fresh_path(circuit: &Circuit, started: jiff::Timestamp) -> Result<PathBuf, CliError> {
    let stamp = started.strftime("%Y%m%d-%H%M%S");
    let folder = jobs_folder()?;
    let mut path = folder.join(format!("{}-{stamp}.job", circuit.id));
    for number in 2..100 {
        if !path.exists() {
            break;
        }
        path = folder.join(format!("{}-{stamp}-{number}.job", circuit.id));
    }
    Ok(path)
}

fn jobs_folder() -> Result<PathBuf, CliError> {
    use etcetera::BaseStrategy;
    let base = etcetera::choose_base_strategy().map_err(CliError::failed)?;
    Ok(base.data_dir().join("halfsplit").join("jobs"))
}

fn resume(file: &str, battery_volts: Option<f64>) -> Result<(Job, Option<Journal>), CliError> {
    let path = if file.is_empty() { newest_job()? } else { PathBuf::from(file) };
    let (mut journal, kept) = Journal::open(&path).map_err(CliError::failed)?;
    if kept.torn {
        eprintln!("halfsplit: the last line of the job file was cut short; that event is lost");
    }
    let mut job = load::job(&path, &kept)?;
    if let Some(volts) = battery_volts {
        let event = Event::Battery { volts };
        job.record(event.clone()).map_err(CliError::usage)?;
        journal.append(&event).map_err(CliError::failed)?;
    }
    Ok((job, Some(journal)))
}

fn newest_job() -> Result<PathBuf, CliError> {
    let folder = jobs_folder()?;
    let entries = std::fs::read_dir(&folder).into_iter().flatten().flatten();
    let newest = entries
        .filter(|entry| entry.path().extension().is_some_and(|ending| ending == "job"))
        .filter_map(|entry| Some((entry.metadata().ok()?.modified().ok()?, entry.path())))
        .max();
    newest.map(|(_, path)| path).ok_or_else(|| {
        CliError::failed(format!("there is no job in `{}` to go on with", folder.display()))
    })
}

/// A job with its journal, as the screen needs it.
struct RealBench {
    job: Job,
    journal: Option<Journal>,
    ahead: Ahead,
}

impl RealBench {
    fn keep(&mut self, event: &Event) -> Result<(), String> {
        match &mut self.journal {
            Some(journal) => journal.append(event).map_err(|error| error.to_string()),
            None => Ok(()),
        }
    }
}

impl Bench for RealBench {
    fn standing(&mut self) -> Standing {
        let budget = Budget { nodes: load::STEP_NODES };
        let foreseen = self.ahead.take(&self.job);
        let standing = foreseen.unwrap_or_else(|| self.job.standing(&budget, &Progress::default()));
        // While the person does this step, what may follow it is made ready.
        self.ahead.begin(&self.job, &standing, budget);
        standing
    }

    fn record(&mut self, event: Event) -> Result<(), String> {
        self.job.record(event.clone()).map_err(|error| error.to_string())?;
        self.keep(&event)
    }

    fn undo(&mut self) -> Result<bool, String> {
        if !self.job.can_undo() {
            return Ok(false);
        }
        self.record(Event::Undone).map(|()| true)
    }

    fn others(&mut self) -> Vec<OtherTest> {
        let folded = self.job.folded();
        let circuit = self.job.study().circuit();
        by_worth(&self.job, &folded.course, &folded.course.belief())
            .into_iter()
            .take(OTHERS)
            .map(|(column, worth)| {
                let places: Vec<&str> = column
                    .test
                    .places
                    .iter()
                    .map(|place| circuit.places[place.index()].name.as_str())
                    .collect();
                OtherTest {
                    id: column.test.id.clone(),
                    title: words::title_in_setup(circuit, &column.test),
                    place: places.join(", "),
                    minutes: folded.course.test_minutes(&column.test),
                    worth,
                }
            })
            .collect()
    }

    fn step_for(&mut self, test: &str) -> Option<TestStep> {
        self.job.know(test).ok()?;
        let folded = self.job.folded();
        let belief = folded.course.belief();
        let column = self.job.column(test)?;
        Some(self.job.test_step(&folded.course, &belief, &column, None))
    }

    fn explain(&mut self, suspect: &str) -> Vec<String> {
        for_and_against(&self.job, suspect)
    }

    fn title(&self) -> (String, String) {
        let circuit = self.job.study().circuit();
        (circuit.name.clone(), circuit.machine.clone())
    }

    fn kept_at(&self) -> Option<String> {
        self.journal.as_ref().map(|journal| journal.path().display().to_string())
    }
}
