//! Long work: how far it is, on a terminal, and an end to it on Ctrl-C.

use std::io::{IsTerminal, Write};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use signal_hook::consts::SIGINT;
use signal_hook::flag;

use super::exit::CliError;
use crate::report::tree::grow::Growth;

/// How often a wish to stop is looked for.
const BEAT: Duration = Duration::from_millis(50);
/// Work shorter than this says nothing.
const QUIET: Duration = Duration::from_millis(500);

/// Does `work` on a tree; the first Ctrl-C asks it to end with what it has, the second ends the program.
pub fn over<T>(growth: &Growth, work: impl FnOnce() -> T) -> Result<T, CliError> {
    let wish = Arc::new(AtomicBool::new(false));
    // In this order: a wish that stands already ends the program, else it is noted.
    let hard = flag::register_conditional_default(SIGINT, Arc::clone(&wish));
    let hard = hard.map_err(CliError::failed)?;
    let soft = flag::register(SIGINT, Arc::clone(&wish)).map_err(CliError::failed)?;
    let done = AtomicBool::new(false);
    let result = std::thread::scope(|scope| {
        scope.spawn(|| stand_by(growth, &wish, &done));
        let result = work();
        done.store(true, Ordering::Relaxed);
        result
    });
    signal_hook::low_level::unregister(hard);
    signal_hook::low_level::unregister(soft);
    Ok(result)
}

fn stand_by(growth: &Growth, wish: &AtomicBool, done: &AtomicBool) {
    let started = Instant::now();
    let shows = std::io::stderr().is_terminal();
    let mut said = false;
    while !done.load(Ordering::Relaxed) {
        if wish.load(Ordering::Relaxed) {
            growth.plan.stop.store(true, Ordering::Relaxed);
        }
        if shows && started.elapsed() > QUIET {
            said = true;
            let steps = growth.steps.load(Ordering::Relaxed);
            let share = growth.settled() * 100.0;
            let mut out = std::io::stderr().lock();
            let _ = write!(out, "\r{steps} steps planned, {share:.0} % of the ways done ");
            let _ = out.flush();
        }
        std::thread::sleep(BEAT);
    }
    if said {
        let mut out = std::io::stderr().lock();
        let _ = write!(out, "\r{:60}\r", "");
        let _ = out.flush();
    }
}
