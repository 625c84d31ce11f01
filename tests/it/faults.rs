//! What can happen to the program from outside: signals, closed pipes, a vanished terminal, a full disk, links and
//! devices for files, a clock going backwards, other programs at the same files, files cut anywhere or by another
//! version. Lost is at most what was being typed.

use std::io::{BufRead, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, Instant};

use halfsplit::cli::scores;
use halfsplit::history::ledger::Ledger;
use halfsplit::job::journal::read;

use crate::terminal::pty::{Pty, folder};

const LAMP: &str = "tests/data/screens/lamp.yaml";
const WINDOW: (u16, u16) = (100, 30);
/// How long anything may take; the machine may be busy with other builds.
const PATIENCE: Duration = Duration::from_secs(120);

fn root(path: &str) -> String {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path).display().to_string()
}

/// The program in a home of its own.
fn program(home: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
    command.env_clear().env("HOME", home).env("TMPDIR", home).current_dir(home);
    command.env("PATH", std::env::var_os("PATH").unwrap_or_default());
    command
}

fn run(home: &Path, words: &[&str]) -> Output {
    program(home).args(words).stdin(Stdio::null()).output().unwrap()
}

fn told(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// A job by lines, its input open, its output as it comes.
fn by_line(home: &Path, job: &str) -> (Child, BufReader<std::process::ChildStdout>) {
    let mut command = program(home);
    command.args(["find", &root(LAMP), "--straight", "--plain", "--job", job]);
    let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap();
    let output = BufReader::new(child.stdout.take().unwrap());
    (child, output)
}

/// Reads on until a line says this.
#[track_caller]
fn wait_for(output: &mut impl BufRead, words: &str) {
    let mut line = String::new();
    while !line.contains(words) {
        line.clear();
        assert!(output.read_line(&mut line).unwrap() > 0, "it ended before `{words}`");
    }
}

fn finished_job(home: &Path, name: &str) -> PathBuf {
    let (mut child, mut output) = by_line(home, name);
    let mut input = child.stdin.take().unwrap();
    input.write_all(b"12.5\ndark\nc\n").unwrap();
    drop(input);
    std::io::copy(&mut output, &mut std::io::sink()).unwrap();
    assert!(child.wait().unwrap().success());
    home.join(name)
}

#[test]
fn killed_at_any_moment_a_job_has_all_that_was_answered() {
    let home = folder("any-moment");
    for try_number in 0..20_u64 {
        let name = format!("{try_number}.job");
        let (mut child, mut output) = by_line(&home, &name);
        let mut input = child.stdin.take().unwrap();
        wait_for(&mut output, "Type the volts");
        // What is typed next may or may not be kept; what was answered has to be.
        let answered = usize::try_from(try_number % 4).unwrap();
        for _ in 0..answered {
            input.write_all(b"n some words\n").unwrap();
            wait_for(&mut output, "Note kept");
        }
        input.write_all(b"n more words\nn and more\n").unwrap();
        std::thread::sleep(Duration::from_micros(try_number * 150));
        let signal = if try_number % 2 == 0 { "KILL" } else { "TERM" };
        let id = child.id().to_string();
        assert!(Command::new("kill").args(["-s", signal, &id]).status().unwrap().success());
        child.wait().unwrap();
        let (kept, _) = read(&home.join(&name)).unwrap();
        let count = kept.events.len();
        assert!((answered..=answered + 2).contains(&count), "{count} of {answered} and 2");
        let resumed = run(&home, &["find", "--plain", "--resume", &name]);
        assert!(resumed.status.success(), "{}", told(&resumed));
    }
}

#[test]
fn a_terminal_that_vanishes_takes_nothing_with_it() {
    let home = folder("vanished");
    let mut pty = Pty::start(&["find", &root(LAMP), "--straight", "--job", "a.job"], WINDOW, &home);
    pty.wait_for("PRESS");
    pty.keys("12.5\r");
    pty.wait_for("FOUND 1 ");
    // Words that were begun are lost, and only they.
    pty.keys("n");
    pty.wait_for("A note into the job");
    let _status = pty.vanish("half a note");
    let (kept, _) = read(&home.join("a.job")).unwrap();
    assert_eq!((kept.events.len(), kept.torn), (1, false));
}

#[test]
fn nobody_reads_on_and_the_program_ends_quietly() {
    let home = folder("pipe");
    let lamp = root(LAMP);
    let broken = root("tests/data/broken/names.yaml");
    let commands: [&[&str]; 9] = [
        &["expect", &lamp, "--json", "--all"],
        &["tree", &lamp],
        &["next", &lamp],
        &["draw", &lamp],
        &["check"],
        &["schema"],
        &["completions", "bash"],
        &["--help"],
        &["find", &lamp, "--straight", "--plain"],
    ];
    for words in commands {
        let (reader, writer) = std::io::pipe().unwrap();
        drop(reader);
        let output = program(&home)
            .args(words)
            .stdin(Stdio::null())
            .stdout(writer)
            .stderr(Stdio::piped())
            .spawn()
            .unwrap()
            .wait_with_output()
            .unwrap();
        assert_eq!(output.status.code(), Some(0), "{words:?}: {}", told(&output));
        assert!(!told(&output).contains("panicked"), "{words:?}: {}", told(&output));
    }
    // Nor does anybody read what it has to complain of.
    for words in [&["expect", &broken] as &[&str], &["card", "nowhere"], &["nonsense"]] {
        let (reader, writer) = std::io::pipe().unwrap();
        drop(reader);
        let status =
            program(&home).args(words).stdout(Stdio::null()).stderr(writer).status().unwrap();
        assert!(matches!(status.code(), Some(1 | 2)), "{words:?}: {status}");
    }
}

#[test]
fn on_a_full_disk_reports_leave_what_was_there() {
    let home = folder("full-report");
    let lamp = root(LAMP);
    let page = home.join("tree.html");
    let first = run(&home, &["tree", &lamp, "--format", "html", "--out", "tree.html"]);
    assert!(first.status.success(), "{}", told(&first));
    let before = std::fs::read(&page).unwrap();
    let script = "trap '' XFSZ; ulimit -f 1; exec \"$@\"";
    let again = Command::new("sh")
        .args(["-c", script, "sh", env!("CARGO_BIN_EXE_halfsplit")])
        .args(["tree", &lamp, "--format", "html", "--out", "tree.html", "--cut-below", "1"])
        .current_dir(&home)
        .output()
        .unwrap();
    assert_eq!(again.status.code(), Some(1), "{}", told(&again));
    assert!(told(&again).contains("cannot write"), "{}", told(&again));
    assert_eq!(std::fs::read(&page).unwrap(), before);
    let left: Vec<_> = std::fs::read_dir(&home).unwrap().flatten().collect();
    assert_eq!(left.len(), 1, "nothing half written is left: {left:?}");
    if Path::new("/dev/full").exists() {
        let full = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        let output = program(&home).args(["check"]).stdout(full).output().unwrap();
        assert_eq!(output.status.code(), Some(1));
        assert!(told(&output).contains("cannot write to standard output"), "{}", told(&output));
    }
}

#[test]
fn in_a_barred_folder_everything_says_so() {
    let home = folder("barred-all");
    let lamp = root(LAMP);
    let job = finished_job(&home, "a.job");
    let job = job.to_str().unwrap();
    // A file where the folder should be: nobody can write in it, whoever they are.
    std::fs::write(home.join("barred"), "").unwrap();
    let commands: [&[&str]; 7] = [
        &["tree", &lamp, "--out", "barred/x"],
        &["card", job, "--out", "barred/x"],
        &["schema", "--out", "barred/x"],
        &["new", "--name", "x", "--out", "barred/x.yaml"],
        &["manual", "--to", "barred/x"],
        &["learn", job, "--history", "barred/x"],
        &["find", &lamp, "--straight", "--plain", "--job", "barred/x.job"],
    ];
    for words in commands {
        let output = run(&home, words);
        let said = told(&output);
        assert!(matches!(output.status.code(), Some(1 | 2)), "{words:?}: {said}");
        assert!(said.starts_with("halfsplit: ") && said.contains("barred"), "{words:?}: {said}");
        assert_eq!(said.lines().count(), 1, "{words:?}: {said}");
    }
    assert_eq!(std::fs::read(home.join("barred")).unwrap(), b"");
}

#[cfg(unix)]
#[test]
fn links_and_devices_are_not_written_through() {
    use std::os::unix::fs::symlink;
    let home = folder("links");
    let lamp = root(LAMP);
    let theirs = home.join("theirs");
    std::fs::write(&theirs, "made by halfsplit? no\n").unwrap();
    symlink(&theirs, home.join("link")).unwrap();
    symlink(home.join("nothing"), home.join("dangling")).unwrap();
    for name in ["link", "dangling"] {
        let output = run(&home, &["tree", &lamp, "--out", name]);
        assert_eq!(output.status.code(), Some(1), "{name}: {}", told(&output));
        assert!(told(&output).contains("is a link"), "{}", told(&output));
        // Told to, it replaces the link; what that led to stays as it was.
        let output = run(&home, &["tree", &lamp, "--out", name, "--force"]);
        assert!(output.status.success(), "{name}: {}", told(&output));
        assert!(home.join(name).symlink_metadata().unwrap().is_file());
    }
    assert_eq!(std::fs::read(&theirs).unwrap(), b"made by halfsplit? no\n");
    assert!(!home.join("nothing").exists());
    let output = run(&home, &["schema", "--out", "/dev/null", "--force"]);
    assert_eq!(output.status.code(), Some(2), "{}", told(&output));
    assert!(!Path::new("/dev/null").symlink_metadata().unwrap().is_file());
    // A class shares the folder of scores: nobody's link leads a score elsewhere.
    std::fs::create_dir(home.join("class")).unwrap();
    symlink(&theirs, home.join("class/ann.drills")).unwrap();
    let drill = drill(&home, "ann", 1);
    assert_eq!(drill.status.code(), Some(1), "{}", told(&drill));
    assert_eq!(std::fs::read(&theirs).unwrap(), b"made by halfsplit? no\n");
}

fn drill(home: &Path, learner: &str, seed: u32) -> Output {
    let mut command = program(home);
    command.args(["drill", &root(LAMP), "--seed", &seed.to_string()]);
    command.args(["--learner", learner, "--record", "class"]);
    let mut child =
        command.stdin(Stdio::piped()).stdout(Stdio::null()).stderr(Stdio::piped()).spawn().unwrap();
    child.stdin.take().unwrap().write_all(b"lamp plus work-lamp.plus\ngive up\nyes\n").unwrap();
    child.wait_with_output().unwrap()
}

#[cfg(unix)]
#[test]
fn an_endless_file_is_no_file() {
    let home = folder("endless");
    let commands: [&[&str]; 5] = [
        &["check", "/dev/zero"],
        &["card", "/dev/zero"],
        &["class", "/dev/zero"],
        &["drill", "--fault-file", "/dev/zero"],
        &["trial", &root(LAMP), "--sequence", "/dev/zero"],
    ];
    for words in commands {
        let output = run(&home, words);
        assert!(matches!(output.status.code(), Some(1 | 2)), "{words:?}");
        assert!(told(&output).contains("over") || told(&output).contains("too large"));
    }
}

#[test]
fn a_clock_going_backwards_changes_no_job_and_no_lesson() {
    let home = folder("clock");
    let job = finished_job(&home, "a.job");
    let text = std::fs::read_to_string(&job).unwrap();
    let mut hour = 23;
    let back: Vec<String> = text
        .lines()
        .map(|line| {
            let mut value: serde_json::Value = serde_json::from_str(line).unwrap();
            if let Some(at) = value.get_mut("at") {
                hour -= 5;
                *at = format!("1999-12-31T{hour:02}:00:00Z").into();
            }
            value.to_string()
        })
        .collect();
    assert!(back.len() > 3);
    let path = home.join("back.job");
    std::fs::write(&path, back.join("\n") + "\n").unwrap();
    let card = |name: &str| {
        let output = run(&home, &["card", name, "--json"]);
        assert!(output.status.success(), "{}", told(&output));
        let card: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
        (card["verdict"].clone(), card["minutes"].clone())
    };
    assert_eq!(card("a.job"), card("back.job"));
    let learnt = run(&home, &["learn", "back.job", "--history", "h", "--json"]);
    assert!(learnt.status.success(), "{}", told(&learnt));
    let ledger = Ledger::parse(&std::fs::read_to_string(home.join("h")).unwrap()).unwrap();
    assert_eq!(ledger.records().len(), 1);
    assert!(!std::fs::read_to_string(home.join("h")).unwrap().contains(":-"));
}

#[test]
fn jobs_of_other_versions_are_read_or_refused_in_words() {
    let home = folder("versions");
    let job = finished_job(&home, "a.job");
    let text = std::fs::read_to_string(&job).unwrap();
    let newer = text.replacen("\"halfsplit_job\":1", "\"halfsplit_job\":2", 1);
    std::fs::write(home.join("newer.job"), newer).unwrap();
    let output = run(&home, &["find", "--plain", "--resume", "newer.job"]);
    assert_eq!(output.status.code(), Some(1));
    assert!(told(&output).contains("newer halfsplit (format 2"), "{}", told(&output));
    // The first programs wrote no times; an event of a later one is told by its line.
    let older: Vec<String> = text
        .lines()
        .map(|line| {
            let mut value: serde_json::Value = serde_json::from_str(line).unwrap();
            value.as_object_mut().unwrap().remove("at");
            value.to_string()
        })
        .collect();
    std::fs::write(home.join("older.job"), older.join("\n") + "\n").unwrap();
    let output = run(&home, &["card", "older.job"]);
    assert!(output.status.success(), "{}", told(&output));
    let unknown = format!("{text}{{\"event\":\"telepathy\"}}\n");
    std::fs::write(home.join("unknown.job"), &unknown).unwrap();
    let output = run(&home, &["find", "--plain", "--resume", "unknown.job"]);
    assert_eq!(output.status.code(), Some(1));
    let line = format!("line {}", unknown.lines().count());
    assert!(told(&output).contains(&line), "{}", told(&output));
    assert_eq!(std::fs::read_to_string(home.join("unknown.job")).unwrap(), unknown);
}

#[test]
fn a_history_and_a_score_file_cut_anywhere_keep_their_whole_lines() {
    let home = folder("cut-all");
    for name in ["a.job", "b.job"] {
        finished_job(&home, name);
        let learnt = run(&home, &["learn", name, "--history", "h"]);
        assert!(learnt.status.success(), "{}", told(&learnt));
    }
    std::fs::create_dir(home.join("class")).unwrap();
    for seed in [1, 2] {
        let drill = drill(&home, "ann", seed);
        assert!(drill.status.success(), "{}", told(&drill));
    }
    let history = std::fs::read_to_string(home.join("h")).unwrap();
    let scores_text = std::fs::read_to_string(home.join("class/ann.drills")).unwrap();
    assert_eq!((history.lines().count(), scores_text.lines().count()), (2, 2));
    // A last line that only lacks its end is whole.
    let whole = |text: &str, cut: usize| {
        let ended = text[..cut].matches('\n').count();
        ended + usize::from(text[cut..].starts_with('\n'))
    };
    for cut in 0..=history.len() {
        let ledger = Ledger::parse(&history[..cut]).unwrap();
        assert_eq!(ledger.records().len(), whole(&history, cut), "cut at byte {cut}");
    }
    for cut in 0..=scores_text.len() {
        let (records, _) = scores::parse(&scores_text[..cut]);
        assert_eq!(records.len(), whole(&scores_text, cut), "cut at byte {cut}");
    }
}

#[test]
fn many_programs_at_one_history_and_one_score_file_lose_nothing() {
    let home = folder("many");
    std::fs::create_dir(home.join("class")).unwrap();
    let names: Vec<String> = (0..6).map(|number| format!("{number}.job")).collect();
    for name in &names {
        finished_job(&home, name);
    }
    let learning: Vec<(String, Child)> = names
        .iter()
        .map(|name| {
            let mut command = program(&home);
            command.args(["learn", name, "--history", "h"]).stdout(Stdio::null());
            (name.clone(), command.stderr(Stdio::piped()).spawn().unwrap())
        })
        .collect();
    let (mut learnt, mut refused) = (0, Vec::new());
    for (name, mut child) in learning {
        let mut said = String::new();
        child.stderr.take().unwrap().read_to_string(&mut said).unwrap();
        match child.wait().unwrap().code() {
            Some(0) => learnt += 1,
            // Another had it: this one is told to try again, and can, once the others have done.
            Some(1) if said.contains("in use; try again") => refused.push(name),
            other => panic!("{name} ended with {other:?}: {said}"),
        }
    }
    for name in refused {
        let again = run(&home, &["learn", &name, "--history", "h"]);
        assert!(again.status.success(), "{}", told(&again));
        learnt += 1;
    }
    let ledger = Ledger::parse(&std::fs::read_to_string(home.join("h")).unwrap()).unwrap();
    assert_eq!((learnt, ledger.records().len()), (6, 6));
    let began = Instant::now();
    std::thread::scope(|scope| {
        for seed in 0..4 {
            let home = &home;
            scope.spawn(move || assert!(drill(home, "ann", seed).status.success()));
        }
    });
    assert!(began.elapsed() < PATIENCE);
    let text = std::fs::read_to_string(home.join("class/ann.drills")).unwrap();
    let (records, broken) = scores::parse(&text);
    assert_eq!((records.len(), broken), (4, Vec::new()));
}
