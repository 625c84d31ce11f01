//! Files damaged at random and files made to hurt: whatever they hold, the program answers, soon and in little memory.
//!
//! The fuzz targets in `tests/fuzz` look further, by what the code does with a file; what they find is kept in
//! `tests/data/fuzz`, a folder a target, and tried here.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::{Arc, LazyLock};

use halfsplit::circuit::read::read_text;
use halfsplit::cli::{load, scores, settings};
use halfsplit::history::ledger::Ledger;
use halfsplit::history::teach::{lesson, slips};
use halfsplit::job::journal;
use halfsplit::job::study::Study;
use halfsplit::plan::{Budget, Progress};
use halfsplit::report::card;
use halfsplit::report::class;
use halfsplit::tester::Instrument;
use halfsplit::trial::sequence;
use proptest::prelude::*;

use crate::hostile::harmless;
use crate::terminal::pty::folder;

const LAMP: &str = include_str!("../data/screens/lamp.yaml");
const SHEET: &str = include_str!("../data/sequences/lamp/sheet.yaml");
const SCORES: &str = include_str!("../data/fuzz/scores/ann.drills");
const HISTORY: &str = include_str!("../data/fuzz/history/three-jobs");
const EVENTS: &str = include_str!("../data/fuzz/job/every-event.job");
const SETTINGS: &str =
    "kit: [lamp, meter]\ncircuits: ~/circuits\nlook: sun\nascii: no\nmouse: yes\n";

static STUDY: LazyLock<Arc<Study>> = LazyLock::new(|| {
    let circuit = Arc::new(read_text("lamp", LAMP).0.unwrap());
    Arc::new(Study::new(&circuit, &[Instrument::Lamp, Instrument::Meter], 0).unwrap())
});

/// `text` with a few stretches taken out, doubled or replaced by what readers stumble over.
fn damaged(text: &'static str) -> impl Strategy<Value = String> {
    let pieces = [
        "",
        "-",
        ": ",
        "{",
        "}",
        "[",
        "]",
        "\"",
        ",",
        "\n",
        "\r\n",
        "\u{feff}",
        "\0",
        "\u{1b}[2J",
        "\u{202e}",
        "\u{9b}",
        "1e308",
        "-1e308",
        "1e999",
        "NaN",
        ".inf",
        "null",
        "true",
        "18446744073709551616",
        "0.1e-400",
        "&a ",
        "*a ",
        "<<: ",
        "!!binary ",
        "\\ud800",
        "ｌamp",
        "а",
    ];
    let piece = prop_oneof![
        prop::sample::select(pieces.to_vec()).prop_map(str::to_owned),
        any::<String>(),
        (1_usize..2000).prop_map(|count| "x".repeat(count)),
    ];
    let edits = prop::collection::vec((any::<prop::sample::Index>(), 0_usize..30, piece), 1..5);
    edits.prop_map(|edits| {
        let mut text: Vec<char> = text.chars().collect();
        for (at, length, piece) in edits {
            let start = at.index(text.len() + 1);
            let end = (start + length).min(text.len());
            text.splice(start..end, piece.chars());
        }
        text.into_iter().collect()
    })
}

fn try_job(bytes: &[u8]) {
    let path = Path::new("any.job");
    let (kept, good) = match journal::parse(path, bytes) {
        Ok(found) => found,
        Err(error) => return drop(error.to_string()),
    };
    assert!(usize::try_from(good).unwrap() <= bytes.len());
    let Ok(job) = load::job(path, &kept) else { return };
    drop(job.standing(&Budget { nodes: 2 }, &Progress::default()));
    let card = card::sum_up(&job, &kept);
    harmless(&card::text::write(&card));
    harmless(&card::markdown::write(&card));
}

fn try_history(text: &str) {
    let Ok(ledger) = Ledger::parse(text) else { return };
    let learned = lesson(&ledger, STUDY.circuit()).learned;
    let minutes = learned.place_minutes.values().chain(learned.fix_minutes.values());
    for number in learned.times_likelier.values().chain(minutes) {
        assert!(number.is_finite() && *number >= 0.0, "{number}");
    }
    assert!(slips(&ledger).values().all(|share| (0.0..=1.0).contains(share)));
}

fn try_scores(text: &str) {
    let (records, _) = scores::parse(text);
    if records.is_empty() {
        return;
    }
    let class = class::sum_up(&records);
    harmless(&class::text::write(&class));
    harmless(&class::csv::write(&class));
    harmless(&class::csv::drills(&records));
    harmless(&class::html::write(&class));
    drop(class::json::write(&class));
}

fn try_sequence(text: &str) {
    if let Ok(sheet) = sequence::read::read_text(&STUDY, text) {
        for outcome in sequence::outcomes(&STUDY, &sheet) {
            assert!(outcome.play.minutes.is_finite());
        }
    }
}

fn try_settings(text: &str) {
    drop(settings::read(text, Path::new("/shop")));
}

fn try_circuit(text: &str) {
    drop(read_text("any.yaml", text));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn a_damaged_job_returns(text in damaged(EVENTS)) {
        try_job(text.as_bytes());
    }

    #[test]
    fn a_damaged_history_returns(text in damaged(HISTORY)) {
        try_history(&text);
    }

    #[test]
    fn a_damaged_score_file_returns(text in damaged(SCORES)) {
        try_scores(&text);
    }

    #[test]
    fn a_damaged_sheet_returns(text in damaged(SHEET)) {
        try_sequence(&text);
    }

    #[test]
    fn damaged_settings_return(text in damaged(SETTINGS)) {
        try_settings(&text);
    }
}

/// What the fuzz targets have found, and where they began.
#[test]
fn what_was_found_once_is_found_no_more() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/fuzz");
    let mut tried = 0;
    for target in std::fs::read_dir(&root).unwrap().flatten() {
        let name = target.file_name().into_string().unwrap();
        for file in std::fs::read_dir(target.path()).unwrap().flatten() {
            let bytes = std::fs::read(file.path()).unwrap();
            let text = String::from_utf8_lossy(&bytes);
            match name.as_str() {
                "circuit" => try_circuit(&text),
                "job" => try_job(&bytes),
                "history" => try_history(&text),
                "scores" => try_scores(&text),
                "sequence" => try_sequence(&text),
                "settings" => try_settings(&text),
                other => panic!("no target `{other}`"),
            }
            tried += 1;
        }
    }
    assert!(tried >= 3);
}

/// A file of a mebibyte that begins with `start` and goes on with `again`.
fn big(home: &Path, name: &str, start: &str, again: impl Fn(usize) -> String) -> PathBuf {
    const MEBIBYTE: usize = 1 << 20;
    let mut text = start.to_owned();
    let mut count = 0;
    loop {
        let more = again(count);
        if text.len() + more.len() > MEBIBYTE {
            break;
        }
        text.push_str(&more);
        count += 1;
    }
    let path = home.join(name);
    std::fs::write(&path, text).unwrap();
    path
}

/// The program with 512 MB of address space, which is more than its memory, and a minute of the processor's time.
fn within_limits(words: &[&str]) -> Output {
    let script = "ulimit -v 524288; ulimit -t 60; exec \"$@\"";
    let mut command = Command::new("sh");
    command.args(["-c", script, "sh", env!("CARGO_BIN_EXE_halfsplit")]).args(words);
    command.output().unwrap()
}

#[track_caller]
fn check_answers(words: &[&str]) {
    let output = within_limits(words);
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(matches!(output.status.code(), Some(0 | 1)), "{words:?}: {}: {said}", output.status);
    harmless(&said);
    harmless(&String::from_utf8_lossy(&output.stdout));
}

const START: &str = "format: 1\nname: x\nmachine: y\nsystem: 12 V\nplaces: { p: 1 min }\n";

#[test]
fn circuit_files_of_a_mebibyte_are_answered_within_limits() {
    let home = folder("big-circuits");
    let anchor = "a0: &a0 [x, x, x, x, x, x, x, x, x]\n";
    let bomb = |n: usize| format!("a{0}: &a{0} [*a{n}, *a{n}, *a{n}, *a{n}, *a{n}]\n", n + 1);
    let long_text = format!("a: &a \"{}\"\n", "y".repeat(900_000));
    let supply = "parts:\n  b: { kind: battery, at: p }\n";
    let pins = format!("{START}{supply}connectors:\n  c:\n    at: p\n    pins:\n");
    let pin = |n: usize| format!("      - p{n}\n");
    let terminals = format!("{pins}{}wires:\n", (0..9000).map(pin).collect::<String>());
    let lamp = |n: usize| format!("  lamp number {n}: {{ kind: lamp, at: p }}\n");
    let lamps: String = (0..5000).map(lamp).collect();
    let sights = format!("{START}{supply}{lamps}wires: []\nworks:\n  w:\n    see:\n");
    let fuse = |n: usize| format!("  fuse of circuit {n}: {{ kind: fuse, rating: 5 A, at: p }}\n");
    let (fuses, long_name) = ((0..2500).map(fuse).collect::<String>(), "x".repeat(3000));
    let files = [
        big(&home, "deep-list.yaml", "a: ", |_| "[".to_owned()),
        big(&home, "deep-map.yaml", "", |_| "{a: ".to_owned()),
        big(&home, "bomb.yaml", anchor, bomb),
        big(&home, "long-alias.yaml", &long_text, |n| format!("b{n}: *a\n")),
        big(&home, "keys.yaml", "", |n| format!("k{n}: 1\n")),
        big(&home, "same-keys.yaml", START, |_| "name: x\n".to_owned()),
        big(&home, "positions.yaml", &format!("{START}controls:\n  k:\n    - a\n"), |n| {
            format!("    - p{n}\n")
        }),
        big(&home, "pins.yaml", &pins, pin),
        big(&home, "sights.yaml", &sights, |n| format!("      - x{n} lit\n")),
        big(&home, "terminals.yaml", &terminals, |_| "  - { from: b.+, to: c }\n".to_owned()),
        big(&home, "names.yaml", &format!("{START}{supply}{fuses}wires:\n"), |n| {
            format!("  - {{ from: {long_name}{n}, to: b.+ }}\n")
        }),
        big(&home, "long-name.yaml", "format: 1\nname: ", |_| "ä\u{202e}".to_owned()),
        big(&home, "dashes.yaml", "", |_| "- ".to_owned()),
        big(&home, "returns.yaml", "\u{feff}", |n| format!("k{n}: 1e{n}\r\n")),
        big(&home, "lamps.yaml", &format!("{START}{supply}"), |n| {
            format!("  l{n}: {{ kind: lamp, at: p, watts: NaN }}\n")
        }),
    ];
    for file in files {
        check_answers(&["check", file.to_str().unwrap()]);
    }
}

#[test]
fn other_files_of_a_mebibyte_are_answered_within_limits() {
    let home = folder("big-others");
    let header = EVENTS.lines().next().unwrap();
    let first = HISTORY.lines().next().unwrap();
    let note = "{\"event\":\"note\",\"text\":\"x\"}\n";
    let jobs = [
        big(&home, "deep.job", "", |_| "[".to_owned()),
        big(&home, "wide.job", "{\"halfsplit_job\":[0", |_| ",0".to_owned()),
        big(&home, "notes.job", &format!("{header}\n"), |_| note.to_owned()),
    ];
    for job in jobs {
        check_answers(&["card", job.to_str().unwrap()]);
    }
    let history = big(&home, "long.hist", "", |n| {
        format!("{}\n", first.replacen("\"job\":\"", &format!("\"job\":\"{n}"), 1))
    });
    check_answers(&["learn", "--history", history.to_str().unwrap()]);
    let class = big(&home, "long.drills", "", |_| SCORES.to_owned());
    check_answers(&["class", class.to_str().unwrap()]);
}
