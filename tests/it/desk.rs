//! The questions before the first step, asked by the real program in a pipe.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use halfsplit::job::event::Event;
use halfsplit::job::journal;

use crate::pipe::typed_into;
use crate::terminal::pty::{Pty, folder};

const LAMP: &str = "tests/data/screens/lamp.yaml";

fn find(home: &Path, words: &[&str], typed: &str) -> Output {
    let mut program = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
    program.args([&["find"], words].concat());
    program.env("XDG_DATA_HOME", home.join("data")).env("XDG_CONFIG_HOME", home.join("config"));
    let output = typed_into(&mut program, typed);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    output
}

fn events(path: &Path) -> Vec<Event> {
    journal::read(path).unwrap().0.events
}

#[test]
fn volts_of_one_circuit_are_not_taken_over_to_another() {
    let home = folder("desk-volts");
    let job = home.join("one.job");
    let words = ["--plain", "--no-history", "--job", job.to_str().unwrap()];
    // A circuit, its questions up to the battery, back to the first, another circuit, straight on.
    let typed = ["button to ground\n1\n\n\n\n12.4\n", &"back\n".repeat(6), "horn\n1\ngo\nq\n"];
    let output = find(&home, &words, &typed.concat());
    let told = String::from_utf8_lossy(&output.stdout);
    assert!(told.contains("Battery volts at rest"), "{told}");
    let (kept, _) = journal::read(&job).unwrap();
    assert!(kept.header.circuit.starts_with("horn"), "{}", kept.header.circuit);
    assert_eq!(kept.events, [], "{told}");
}

/// A job in the data folder whose last line was cut short.
fn torn_job(home: &Path) -> PathBuf {
    find(home, &[LAMP, "--plain", "--straight", "--no-history"], "note seen\nq\n");
    let jobs = home.join("data/halfsplit/jobs");
    let job = std::fs::read_dir(jobs).unwrap().next().unwrap().unwrap().path();
    let whole = std::fs::read_to_string(&job).unwrap();
    assert_eq!(events(&job).len(), 1, "{whole}");
    std::fs::write(&job, format!("{whole}{{\"event\":\"no")).unwrap();
    job
}

const TORN: &str = "the last line of the job file was cut short";

#[test]
fn a_job_gone_on_with_from_the_list_takes_the_volts_and_tells_of_a_torn_line() {
    let home = folder("desk-resume");
    let job = torn_job(&home);
    let words = ["--plain", "--no-history", "--battery-volts", "12.4"];
    let output = find(&home, &words, "1\nq\n");
    assert_eq!(events(&job).last(), Some(&Event::Battery { volts: 12.4 }));
    let told = String::from_utf8_lossy(&output.stderr);
    assert!(told.contains(TORN), "{told}");
}

#[test]
fn a_torn_line_is_told_once_the_screen_is_left() {
    let home = folder("desk-torn");
    torn_job(&home);
    let mut pty = Pty::start(&["find", "--no-history"], (80, 24), &home);
    pty.wait_for("left unfinished");
    pty.keys("1");
    pty.wait_for("PRESS");
    pty.keys("q");
    pty.wait_for("Leave?");
    pty.keys("q");
    let (status, shown) = pty.wait_for_end();
    assert!(status.success());
    assert!(shown.contains(TORN), "{shown}");
}
