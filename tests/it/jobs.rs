//! Whole jobs on the real program in a real terminal: a fault is hidden, the reader of the screen sees
//! what that fault would show, and the job ends with the proven repair.

use std::path::Path;
use std::sync::Arc;

use halfsplit::circuit::read;
use halfsplit::cli::load::STEP_NODES;
use halfsplit::job::event::{Answer, Event};
use halfsplit::job::standing::Step;
use halfsplit::job::state::Job;
use halfsplit::job::study::Study;
use halfsplit::plan::{Budget, Progress};
use halfsplit::tester::Instrument;

use crate::terminal::pty::{Pty, folder};

/// What to type for one step, and the event it stands for.
struct Entry {
    keys: String,
    event: Event,
    cured: bool,
}

fn shadow(text: &str) -> Job {
    let circuit = Arc::new(read::read_text("lamp", text).0.unwrap());
    let kit = [Instrument::Lamp, Instrument::Meter];
    Job::new(Arc::new(Study::new(&circuit, &kit, 0).unwrap()))
}

/// What somebody would type who stands before `hidden`.
fn entry(job: &Job, hidden: usize) -> Entry {
    let standing = job.standing(&Budget { nodes: STEP_NODES }, &Progress::default());
    match standing.step {
        Step::Test(test) => {
            let column = job.column(&test.id).unwrap();
            let outcome = &column.outcomes[column.likeliest(hidden)].id;
            let line = test.outcomes.iter().find(|line| line.id == *outcome).unwrap();
            let (keys, answer) = if test.number.is_none() {
                (line.key.to_string(), Answer::Named(outcome.clone()))
            } else {
                let level = column.shown[hidden].level;
                let number = (column.test.scale.number_shown(level) * 100.0).round() / 100.0;
                (format!("{number}\r"), Answer::Number(number))
            };
            Entry { keys, event: Event::Reading { test: test.id, answer }, cured: false }
        }
        Step::Fix(fix) => {
            let lineup = job.study().lineup();
            let cures = lineup.suspects[hidden].fix == lineup.find_fix(&fix.id).unwrap();
            let keys = if cures { "c" } else { "x" }.to_owned();
            Entry { keys, event: Event::Tried { fix: fix.id, cured: cures }, cured: cures }
        }
        Step::Cured(_) | Step::Stuck(_) => panic!("the job ended before the repair"),
    }
}

/// Waits until the entry stands among what was found; the same key twice wants Enter when it was quick.
fn wait_for_entry(pty: &mut Pty, lines: &[String]) {
    let end = std::time::Instant::now() + std::time::Duration::from_secs(60);
    let mut asked = false;
    while !lines.iter().any(|line| pty.shown().contains(line)) {
        if !asked && pty.shown().contains("once more?") {
            pty.keys("\r");
            asked = true;
        }
        assert!(std::time::Instant::now() < end, "waited for {lines:?}; shown is\n{}", pty.shown());
        std::thread::yield_now();
    }
}

/// Plays the job against `hidden` on the screen, with one wrong entry taken back on the way.
fn play(name: &str, circuit: &str, hidden: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(circuit);
    let mut job = shadow(&std::fs::read_to_string(&path).unwrap());
    let hidden = job.study().lineup().find(hidden).unwrap().index();
    let home = folder(name);
    let path = path.display().to_string();
    let mut pty = Pty::start(&["find", &path, "--straight", "--job", "whole.job"], (80, 24), &home);
    pty.wait_for("PRESS");
    let right = entry(&job, hidden).keys;
    // A number is typed and entered, an outcome has a key.
    pty.keys(match right.as_str() {
        number if number.ends_with('\r') => "3.21\r",
        "1" => "3",
        _ => "1",
    });
    wait_for_entry(&mut pty, &["FOUND 1 ".to_owned()]);
    pty.keys("u");
    pty.wait_for("FOUND nothing yet");
    pty.wait_without("working");
    for _ in 1..30 {
        let entry = entry(&job, hidden);
        job.record(entry.event).unwrap();
        pty.keys(&entry.keys);
        if entry.cured {
            break;
        }
        let found = job.folded().found.pop().unwrap();
        let begins = |what: &str| format!("{} {what}", found.number).chars().take(12).collect();
        wait_for_entry(&mut pty, &[begins(&found.what), begins(&found.brief)]);
        pty.wait_without("working");
    }
    // A job that is done is left without being asked.
    pty.wait_for("Proven: it works again");
    pty.keys("q");
    let (status, shown) = pty.wait_for_end();
    assert!(status.success(), "{status:?}");
    assert!(shown.contains("whole.job"), "{shown}");
}

#[test]
fn a_broken_filament_is_found_and_proven() {
    play("whole-filament", "tests/data/screens/lamp.yaml", "work-lamp.open");
}

#[test]
fn a_bad_ground_is_found_and_proven() {
    play("whole-ground", "tests/data/screens/lamp.yaml", "frame-ground.open");
}
