//! Nothing is lost: the program is killed at each event of a job, the disk is full, the folder is barred, two
//! programs want one job, the file is cut at any byte.

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use halfsplit::cli::load::{STEP_NODES, job as replay};
use halfsplit::job::event::Event;
use halfsplit::job::journal::{Kept, parse, read};
use halfsplit::job::standing::{Standing, Step};
use halfsplit::plan::{Budget, Progress};

use crate::terminal::pty::{Pty, folder};

const WINDOW: (u16, u16) = (100, 30);
const EVERY_EVENT: &str = include_str!("../data/fuzz/job/every-event.job");

fn lamp() -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/screens/lamp.yaml");
    path.display().to_string()
}

fn find(home: &Path) -> Pty {
    let pty = Pty::start(&["find", &lamp(), "--straight", "--job", "lamp.job"], WINDOW, home);
    pty.wait_for("PRESS");
    pty
}

fn kept(path: &Path) -> Kept {
    read(path).expect("a job file").0
}

/// Waits until the job file has so many events.
#[track_caller]
fn wait_for_events(path: &Path, count: usize) {
    let end = Instant::now() + Duration::from_secs(120);
    while read(path).map_or(0, |(kept, _)| kept.events.len()) < count {
        assert!(Instant::now() < end, "{count} events were never written");
        std::thread::yield_now();
    }
}

fn standing(path: &Path) -> Standing {
    let job = replay(path, &kept(path)).expect("it replays");
    job.standing(&Budget { nodes: STEP_NODES }, &Progress::default())
}

fn title(standing: &Standing) -> &str {
    match &standing.step {
        Step::Test(step) => &step.title,
        Step::Fix(step) => &step.title,
        Step::Cured(end) | Step::Stuck(end) => &end.title,
    }
}

/// Every kind of event a person can bring about, in one job: its keys, and its name in the file.
const EVENTS: [(&str, &str); 11] = [
    ("12.5\r", "reading"),
    ("u", "undone"),
    ("r", "redone"),
    ("nholder is loose\r", "note"),
    ("mmeter\r", "equipped"),
    ("mtoggle\r", "replaced"),
    ("s3", "skipped"),
    ("t\r", "chose"),
    ("1", "reading"),
    ("u", "undone"),
    ("mbench\r", "reach"),
];

fn name(event: &Event) -> String {
    let value = serde_json::to_value(event).unwrap();
    value["event"].as_str().unwrap_or_default().to_owned()
}

/// Types keys, with time for what has to be looked up in between.
fn type_slowly(pty: &mut Pty, keys: &str) {
    let (first, rest) = keys.split_at(1);
    pty.keys(first);
    if first == "m" || first == "t" {
        pty.wait_for("FIND");
        pty.wait_for("►");
    }
    pty.keys(rest);
}

#[test]
fn killed_at_each_event_the_job_goes_on_where_it_was() {
    let home = folder("killed");
    let path = home.join("lamp.job");
    let mut pty = find(&home);
    for (position, (keys, kind)) in EVENTS.iter().enumerate() {
        // A repair is put off without a reason.
        let is_fix = *kind == "skipped" && matches!(standing(&path).step, Step::Fix(_));
        let (keys, kind) = if is_fix { ("s1", "fix-skipped") } else { (*keys, *kind) };
        type_slowly(&mut pty, keys);
        wait_for_events(&path, position + 1);
        // The screen may not even have moved yet.
        pty.signal("KILL");
        drop(pty);
        let events = kept(&path).events;
        assert_eq!(name(events.last().unwrap()), kind, "{keys:?}");
        let before = standing(&path);
        pty = Pty::start(&["find", "--resume", "lamp.job"], WINDOW, &home);
        pty.wait_for("PRESS");
        let shown = pty.shown();
        let beginning: String = title(&before).chars().take(30).collect();
        assert!(shown.contains(&beginning), "after {keys:?} `{beginning}` is the step:\n{shown}");
        assert_eq!(kept(&path).events, events, "to go on writes nothing");
        assert_eq!(standing(&path), before, "the same events give the same standing");
    }
}

#[test]
fn a_file_cut_at_any_byte_keeps_all_whole_events() {
    let home = folder("cut");
    let path = home.join("lamp.job");
    let mut pty = find(&home);
    for (position, keys) in ["12.5\r", "u", "nnote\r"].iter().enumerate() {
        pty.keys(keys);
        wait_for_events(&path, position + 1);
    }
    pty.signal("KILL");
    drop(pty);
    let whole = std::fs::read(&path).unwrap();
    let header = whole.iter().position(|byte| *byte == b'\n').unwrap() + 1;
    let all = kept(&path).events;
    for length in header..=whole.len() {
        let cut = home.join("cut.job");
        std::fs::write(&cut, &whole[..length]).unwrap();
        let lines = whole[header..length].split(|byte| *byte == b'\n').count() - 1;
        assert_eq!(kept(&cut).events, all[..lines], "cut at byte {length}");
    }
}

#[test]
fn two_programs_on_one_job_are_kept_apart() {
    let home = folder("two");
    let _first = find(&home);
    let second = Pty::start(&["find", "--resume", "lamp.job"], WINDOW, &home);
    let (status, shown) = second.wait_for_end();
    assert!(!status.success());
    assert!(shown.contains("open in another halfsplit"), "{shown}");
}

#[test]
fn on_a_full_disk_the_job_goes_on_and_is_written_once_there_is_room() {
    let home = folder("full");
    let path = home.join("lamp.job");
    drop(find(&home));
    let header = std::fs::metadata(&path).unwrap().len();
    std::fs::remove_file(&path).unwrap();
    let args = ["find", &lamp(), "--straight", "--job", "lamp.job"];
    let mut pty = Pty::start_on_full_disk(header / 512 + 1, &args, WINDOW, &home);
    pty.wait_for("PRESS");
    for _ in 0..2 {
        let long = "x".repeat(450);
        pty.keys(&format!("n{long}\r"));
        pty.wait_without("A note into the job");
    }
    pty.wait_for("Not on disk");
    pty.wait_for("memory only");
    pty.keys("12.5\r");
    pty.wait_for("3 entries are in memory only");
    pty.wait_without("working");
    assert!(pty.shown().contains("Not on disk"), "it is said for as long as it is so");
    let torn = kept(&path);
    assert!(!torn.torn && torn.events.len() < 3, "no half line is left behind");
    pty.lift_limit();
    pty.keys("u");
    pty.wait_without("Not on disk");
    let names: Vec<String> = kept(&path).events.iter().map(name).collect();
    assert_eq!(names, ["note", "note", "reading", "undone"], "in their order, without a hole");
}

#[test]
fn where_no_job_can_be_made_the_work_goes_on_and_is_saved_elsewhere() {
    let home = folder("barred");
    // A file where the folder should be: nobody can make a job in it, whoever they are.
    let barred = home.join("barred");
    std::fs::write(&barred, "").unwrap();
    let args = ["find", &lamp(), "--straight"];
    let mut pty = Pty::start_keeping_in(&barred, &args, WINDOW, &home);
    pty.wait_for("Not on disk");
    pty.wait_for("PRESS");
    pty.keys("12.5\r");
    pty.wait_for("FOUND 1 ");
    pty.keys("qq");
    let (status, shown) = pty.wait_for_end();
    assert!(status.success(), "{shown}");
    let jobs = std::fs::read_dir(&home).unwrap().flatten().map(|entry| entry.path());
    let saved: Vec<PathBuf> =
        jobs.filter(|path| path.extension().is_some_and(|e| e == "job")).collect();
    assert_eq!(saved.len(), 1, "{shown}");
    assert_eq!(kept(&saved[0]).events.len(), 1);
}

#[test]
fn an_unfinished_job_is_offered_at_the_start() {
    let home = folder("offered");
    let mut pty = Pty::start(&["find", &lamp(), "--straight"], WINDOW, &home);
    pty.wait_for("PRESS");
    pty.keys("12.5\r");
    pty.wait_for("FOUND 1 ");
    pty.signal("HUP");
    let _ended = pty.wait_for_end();
    let mut pty = Pty::start(&["find", &lamp()], WINDOW, &home);
    pty.wait_for("left unfinished");
    pty.keys("1");
    pty.wait_for("FOUND 1 ");
    pty.wait_for("12.5 V");
}

#[test]
fn without_a_circuit_it_asks_and_the_answers_are_kept() {
    let home = folder("asked");
    let config = home.join("config/halfsplit");
    std::fs::create_dir_all(&config).unwrap();
    std::fs::create_dir_all(home.join("mine")).unwrap();
    std::fs::copy(lamp(), home.join("mine/lamp.yaml")).unwrap();
    let settings = format!("circuits: {}\nkit: [lamp]\n", home.join("mine").display());
    std::fs::write(config.join("settings.yaml"), settings).unwrap();
    let mut pty = Pty::start(&["find", "--job", "asked.job"], WINDOW, &home);
    pty.wait_for("What does not work?");
    pty.keys("your own");
    pty.wait_without("Horn with relay");
    pty.keys("\r");
    pty.wait_for("What is at hand?");
    pty.wait_for("[x] test lamp with a filament");
    pty.wait_for("[ ] digital meter");
    // Straight to the first step.
    pty.keys("\x1bOQ");
    pty.wait_for("PRESS");
    assert_eq!(kept(&home.join("asked.job")).header.kit, ["lamp"]);
}

#[test]
fn without_a_circuit_and_without_a_terminal_it_says_what_to_type() {
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_halfsplit"))
        .arg("find")
        .stdin(std::process::Stdio::null())
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(2));
    let words = String::from_utf8_lossy(&output.stderr);
    assert!(words.contains("find --plain") && words.contains("start-button"), "{words}");
}

/// A job of these entries on the circuit of the kept one.
fn job_of(entries: &str) -> Result<halfsplit::job::state::Job, String> {
    let (header, _) = EVERY_EVENT.split_once('\n').unwrap();
    let path = Path::new("long.job");
    let (kept, _) = parse(path, format!("{header}\n{entries}").as_bytes()).unwrap();
    replay(path, &kept).map_err(|error| error.to_string())
}

#[test]
fn a_job_of_two_thousand_entries_is_replayed_and_a_longer_one_refused_in_words() {
    let reading = "{\"event\": \"reading\", \"test\": \"volts/work-lamp.plus/toggle.on\", \"answer\": 12.5}\n";
    let pair = "{\"event\": \"undone\"}\n{\"event\": \"redone\"}\n".to_owned();
    let some = reading.to_owned() + &pair.repeat(999) + "{\"event\": \"note\", \"text\": \"x\"}\n";
    let job = job_of(&some).unwrap();
    assert_eq!((job.events().len(), job.folded().course.tests), (2_000, 1));
    let refused = job_of(&(some + reading)).unwrap_err();
    assert!(refused.contains("2001 entries; 2000 are the most of a job"), "{refused}");
}

#[test]
fn an_entry_that_does_not_fit_is_told_with_its_line() {
    let note = "{\"event\": \"note\", \"text\": \"x\"}\n";
    let odd = "{\"event\": \"replaced\", \"part\": \"second-starter\"}\n";
    // Of what cannot be nothing is reckoned: it is refused before.
    for odd in [
        "{\"event\": \"reading\", \"test\": \"ohms/work-lamp.plus~work-lamp.minus/battery-ground.off\", \"answer\": -5.0}\n",
        "{\"event\": \"reading\", \"test\": \"volts/work-lamp.plus/toggle.on\", \"answer\": 1e300}\n",
        "{\"event\": \"battery\", \"volts\": 1e300}\n",
    ] {
        let refused = job_of(&format!("{note}{odd}{note}")).unwrap_err();
        assert!(refused.contains("line 3 of `long.job`"), "{refused}");
        assert!(refused.contains("cannot be read here"), "{refused}");
    }
    let refused = job_of(&format!("{note}{odd}{note}")).unwrap_err();
    let words = "line 3 of `long.job` does not fit its circuit: `second-starter` is no part";
    assert!(refused.contains(words), "{refused}");
}
