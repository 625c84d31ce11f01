//! A job that breaks behind the screen, or the screen itself: the terminal is given back, the job is kept.
//!
//! The program has no way to panic when asked to, so this test binary runs itself in the pseudo-terminal, and
//! there the screen of the program around a bench that breaks.

use std::path::Path;

use halfsplit::cli::bench::RealBench;
use halfsplit::cli::job_file::resumed;
use halfsplit::cli::keeper::Shared;
use halfsplit::job::event::Event;
use halfsplit::job::journal::read;
use halfsplit::job::standing::{Standing, TestStep};
use halfsplit::tui::bench::{Bench, OtherTest};
use halfsplit::tui::{Look, ScreenOptions, Start, run};

use super::find;
use super::pty::{Pty, folder};

/// Tells the run inside which thread is to break: `planner` or `screen`.
const BREAKS: &str = "HALFSPLIT_TEST_BREAKS";
/// The job it works on.
const JOB: &str = "HALFSPLIT_TEST_JOB";
const WORDS: &str = "broken on purpose";

/// A real job that breaks once a reading is kept, or as soon as the screen asks for its name.
struct Breaks {
    bench: RealBench,
    on_screen: bool,
}

impl Bench for Breaks {
    fn standing(&mut self) -> Standing {
        self.bench.standing()
    }

    fn record(&mut self, event: Event) -> Result<(), String> {
        let kept = self.bench.record(event);
        assert!(self.on_screen, "{WORDS}: {kept:?}");
        kept
    }

    fn undo(&mut self) -> Result<bool, String> {
        self.bench.undo()
    }

    fn others(&mut self) -> Vec<OtherTest> {
        self.bench.others()
    }

    fn step_for(&mut self, test: &str) -> Option<TestStep> {
        self.bench.step_for(test)
    }

    fn explain(&mut self, suspect: &str) -> Vec<String> {
        self.bench.explain(suspect)
    }

    fn title(&self) -> (String, String) {
        assert!(!self.on_screen, "{WORDS}");
        self.bench.title()
    }
}

/// What runs in the pseudo-terminal.
fn inside(job: &str, breaks: &str) {
    let (job, keeper, _) = resumed(Path::new(job), None).expect("the job goes on");
    let shared = Shared::empty();
    shared.set(keeper);
    let bench = Breaks { bench: RealBench::new(job, shared), on_screen: breaks == "screen" };
    let options = ScreenOptions { color: true, ascii: false, look: Look::Usual, mouse: true };
    let ended = run(Start::Job(Box::new(bench)), options);
    ended.expect_err("a job that broke is no end of a job");
}

/// Runs the test of this name inside, in a terminal whose settings are printed behind it.
fn start(test: &str, breaks: &str, home: &Path) -> Pty {
    let program = std::env::current_exe().expect("this test has a file");
    let program = program.display().to_string();
    let script = format!("{BREAKS}={breaks} {JOB}=lamp.job \"$@\"; echo; stty -a; echo over");
    let args = [program.as_str(), "--exact", test, "--nocapture", "--test-threads=1"];
    Pty::start_script(&script, &args, (100, 40), home)
}

#[track_caller]
fn check_given_back(pty: Pty) {
    let (_, shown) = pty.wait_for_end();
    assert!(shown.contains(WORDS), "the message is not painted over: {shown}");
    let words: Vec<&str> = shown.split_whitespace().collect();
    for flag in ["icanon", "echo", "isig", "icrnl", "opost"] {
        assert!(words.contains(&flag), "{flag}: {shown}");
    }
}

/// A job in `home` with one entry.
fn begun(home: &Path) {
    let mut pty = find(home, (80, 24), &[]);
    pty.keys("nholder is loose\r");
    pty.wait_for("Note kept.");
    pty.keys("qq");
    pty.wait_for_end();
}

fn events(home: &Path) -> usize {
    read(&home.join("lamp.job")).expect("a job file").0.events.len()
}

#[test]
fn a_planner_that_panics_gives_the_terminal_back_and_keeps_the_job() {
    if let (Ok(breaks), Ok(job)) = (std::env::var(BREAKS), std::env::var(JOB)) {
        return inside(&job, &breaks);
    }
    let home = folder("broken-planner");
    begun(&home);
    let name = "terminal::broken::a_planner_that_panics_gives_the_terminal_back_and_keeps_the_job";
    let mut pty = start(name, "planner", &home);
    pty.wait_for("PRESS");
    pty.keys("12.5\r");
    check_given_back(pty);
    assert_eq!(events(&home), 2, "the reading is on disk");
    let pty = Pty::start(&["find", "--resume", "lamp.job"], (80, 24), &home);
    pty.wait_for("12.5 V");
}

#[test]
fn a_screen_that_panics_gives_the_terminal_back() {
    if let (Ok(breaks), Ok(job)) = (std::env::var(BREAKS), std::env::var(JOB)) {
        return inside(&job, &breaks);
    }
    let home = folder("broken-screen");
    begun(&home);
    let name = "terminal::broken::a_screen_that_panics_gives_the_terminal_back";
    check_given_back(start(name, "screen", &home));
    assert_eq!(events(&home), 1);
}
