//! `drill`: practice on a hidden fault, and question sheets.

use std::io::IsTerminal;

use super::config::tell_warnings;
use super::drill_args::{Ask, Drill as Typed, SheetFormat, SheetPart};
use super::exit::{CliError, End, say, tell};
use super::{load, scores, screen, settings, write};
use crate::drill::DrillError;
use crate::drill::fault::{Setting, chosen};
use crate::drill::judge::review;
use crate::drill::par::{Par, par};
use crate::drill::play::Drill;
use crate::drill::record::{Record, Who};
use crate::drill::score::score;
use crate::drill::sheet::sheet;
use crate::drill::weigh::BUDGET;
use crate::job::study::Study;
use crate::problem::sanitise;
use crate::report::drill::{review as printed, sheet_html, sheet_markdown};
use crate::tui::drill::{Asking, screen as page, talk};

/// Where the trainer's choice may stand, beside the command line and a file.
const FAULT: &str = "HALFSPLIT_DRILL_FAULT";
/// Seeds drawn by chance are below this: short enough to be told across a room.
const SEEDS: u64 = 10_000;

/// Runs `drill`.
pub fn run(typed: &Typed) -> Result<End, CliError> {
    let study = load::study(&typed.circuit, &typed.common)?;
    let setting = Setting {
        seed: typed.seed.unwrap_or_else(by_chance),
        level: typed.level,
        kind: typed.kind,
    };
    if let Some(count) = typed.sheet {
        return print_sheet(typed, &study, setting, count as usize);
    }
    practise(typed, &study, setting)
}

fn by_chance() -> u64 {
    jiff::Timestamp::now().as_millisecond().unsigned_abs() % SEEDS
}

fn print_sheet(
    typed: &Typed,
    study: &Study,
    setting: Setting,
    count: usize,
) -> Result<End, CliError> {
    write::may(typed.out.out.as_deref(), typed.out.force)?;
    let made = sheet(study, setting, count).map_err(failed)?;
    if made.questions.is_empty() {
        return Err(CliError::failed(
            "no fault of this circuit makes a question; try another seed",
        ));
    }
    let (questions, answers) = match typed.only {
        None => (true, true),
        Some(SheetPart::Questions) => (true, false),
        Some(SheetPart::Answers) => (false, true),
    };
    let text = match typed.format {
        SheetFormat::Markdown => sheet_markdown::write(&made, questions, answers),
        SheetFormat::Html => sheet_html::write(&made, questions, answers),
    };
    write::out(typed.out.out.as_deref(), typed.out.force, &text)?;
    if made.questions.len() < count {
        let count = made.questions.len();
        tell(&format!("{count} questions differ from each other; more there are not"));
    }
    Ok(End::Fine)
}

fn failed(error: DrillError) -> CliError {
    match error {
        DrillError::Bench(error) => CliError::failed(error),
        // As a trial ends: nothing was typed wrong.
        DrillError::NoFault => CliError::failed(error),
        other => CliError::usage(other),
    }
}

/// The trainer's choice, from wherever it stands.
fn trainers(typed: &Typed) -> Result<Option<String>, CliError> {
    if typed.kind.is_some() {
        return Ok(None);
    }
    if let Some(path) = &typed.fault_file {
        let text = load::short_file(&path.display().to_string(), "a file with a fault")?;
        return Ok(Some(text.lines().next().unwrap_or_default().trim().to_owned()));
    }
    let given = typed.fault.clone().or_else(|| std::env::var(FAULT).ok());
    Ok(given.filter(|ids| !ids.trim().is_empty()))
}

fn practise(typed: &Typed, study: &Study, setting: Setting) -> Result<End, CliError> {
    let drill = match trainers(typed)? {
        Some(ids) => {
            let hidden = chosen(study, &ids).map_err(failed)?;
            Drill::hiding(study, setting, hidden)
        }
        None => Drill::new(study, setting),
    };
    let mut drill = drill.map_err(failed)?;
    let hidden = drill.hidden.clone();
    // While the learner works, the planner plays the same machine.
    let (ended, beside) = std::thread::scope(|scope| {
        let planner = scope.spawn(|| {
            study.get_ready();
            par(study, setting, &hidden)
        });
        let ended = converse(typed, &mut drill);
        (ended, planner.join())
    });
    let ended = ended?;
    let par = beside
        .map_err(|_| CliError::failed("the planner broke on this machine; no score"))?
        .map_err(failed)?;
    conclude(typed, &drill, ended, par)
}

fn converse(typed: &Typed, drill: &mut Drill<'_>) -> Result<talk::End, CliError> {
    let asking = Asking {
        foretell: typed.predict,
        open: typed.ask == Some(Ask::Open),
        echo: !std::io::stdin().is_terminal(),
    };
    if screen::is_there() && !typed.plain {
        let settings = settings::load();
        tell_warnings(&settings);
        let options = screen::options(typed.color, typed.ascii, None, &settings);
        return page::run(drill, asking, options).map_err(CliError::failed);
    }
    let mut input = std::io::stdin().lock();
    let mut output = std::io::stdout().lock();
    match talk::run(drill, asking, &mut input, &mut output) {
        Ok(ended) => Ok(ended),
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => Err(CliError::Pipe),
        Err(error) => Err(CliError::failed(error)),
    }
}

/// The review, and the line that is kept of it.
fn conclude(typed: &Typed, drill: &Drill<'_>, ended: talk::End, par: Par) -> Result<End, CliError> {
    let steps = review(drill, &BUDGET);
    let score = score(drill, &steps, par);
    say(&format!("\n{}", printed::write(drill, &steps, &score)))?;
    if drill.log.is_empty() || typed.no_record {
        return Ok(End::Fine);
    }
    let Some(learner) =
        typed.learner.clone().or_else(|| typed.record.as_ref().map(|_| "learner".to_owned()))
    else {
        say("\n  Not kept: say who you are with --learner NAME.\n")?;
        return Ok(End::Fine);
    };
    let who = Who {
        learner,
        ended: jiff::Timestamp::now().to_string(),
        gave_up: ended != talk::End::Done,
    };
    let folder = match &typed.record {
        Some(folder) => folder.clone(),
        None => scores::folder()?,
    };
    let path = scores::keep(&folder, &Record::new(drill, &steps, &score, who))?;
    say(&format!("\n  Kept in {}\n", sanitise(&path.display().to_string())))?;
    Ok(End::Fine)
}
