//! The program itself: line by line in a pipe and in a pseudo-terminal, score files, class, sheets.

use std::path::Path;
use std::process::{Command, Output};

use super::LAMP;
use crate::pipe::typed_into;
use crate::terminal::pty::{Pty, folder};

fn lamp() -> String {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(LAMP).display().to_string()
}

fn run(home: &Path, words: &[&str], typed: &str) -> Output {
    let mut program = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
    program.args(words).env("XDG_DATA_HOME", home.join("data"));
    typed_into(program.env_remove("HALFSPLIT_DRILL_FAULT"), typed)
}

fn text(output: &Output) -> String {
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout.clone()).unwrap()
}

/// A whole drill on the lamp's filament, by one who knows how.
const GOOD: &str = "try\nvolts work lamp +\ndrop work lamp + / work lamp -\nname work lamp\noff\nmend work lamp\n\
                    prove\ndone\n";

#[test]
fn a_drill_in_a_pipe_is_whole_kept_and_summed_up() {
    let home = folder("drill-pipe");
    let circuit = lamp();
    let record = home.join("class");
    let record = record.to_str().unwrap();
    for (learner, orders) in
        [("Mia O'Neill", GOOD), ("Mia O'Neill", GOOD), ("Bo", "try\ngive up\nyes\n")]
    {
        let args = [
            "drill",
            &circuit,
            "--fault",
            "work-lamp.open",
            "--seed",
            "4",
            "--learner",
            learner,
            "--record",
            record,
        ];
        let told = text(&run(&home, &args, orders));
        assert!(told.contains("REVIEW") && told.contains("Wrong was: work lamp"), "{told}");
        assert!(told.contains("Kept in"), "{told}");
        assert!(told.lines().all(|line| line.chars().count() <= 120), "{told}");
        assert!(!told.contains('\u{1b}'));
    }
    let files: Vec<_> =
        std::fs::read_dir(record).unwrap().map(|entry| entry.unwrap().path()).collect();
    assert_eq!(files.len(), 2, "{files:?}");
    let kept = files.iter().map(|file| std::fs::read_to_string(file).unwrap());
    let lines: Vec<serde_json::Value> = kept
        .flat_map(|text| {
            text.lines().map(|line| serde_json::from_str(line).unwrap()).collect::<Vec<_>>()
        })
        .collect();
    assert_eq!(lines.len(), 3);
    let good = lines.iter().find(|line| line["learner"] == "Mia O'Neill").unwrap();
    for key in ["solved", "confirmed", "proven"] {
        assert_eq!(good[key], true, "{key}: {good}");
    }
    assert!(good["points"]["all"].as_f64().unwrap() > 80.0, "{good}");
    let summed = text(&run(&home, &["class", record], ""));
    assert!(summed.contains("Mia O'Neill") && summed.contains("Bo"), "{summed}");
    let csv = text(&run(&home, &["class", record, "--format", "csv"], ""));
    assert_eq!(csv.lines().count(), 3, "{csv}");
    let each = text(&run(&home, &["class", record, "--format", "csv-drills"], ""));
    assert_eq!(each.lines().count(), 4, "{each}");
    let page = text(&run(&home, &["class", record, "--format", "html"], ""));
    assert!(page.contains("<svg") && page.contains("Mia O'Neill"), "{page}");
    let json: serde_json::Value =
        serde_json::from_str(&text(&run(&home, &["class", record, "--json"], ""))).unwrap();
    assert_eq!(json["drills"], 3);
}

#[test]
fn a_score_file_cut_short_loses_one_line_and_says_so() {
    let home = folder("drill-torn");
    let circuit = lamp();
    let args = |record: &str| {
        ["drill", &circuit, "--seed", "4", "--learner", "bo", "--record", record].map(str::to_owned)
    };
    let record = home.join("class").display().to_string();
    let once = |record: &str| {
        let args = args(record);
        let args: Vec<&str> = args.iter().map(String::as_str).collect();
        text(&run(&home, &args, "try\ngive up\nyes\n"));
    };
    once(&record);
    let file = home.join("class/bo.drills");
    let whole = std::fs::read(&file).unwrap();
    std::fs::write(&file, [&whole[..], &whole[..whole.len() / 2]].concat()).unwrap();
    once(&record);
    let output = run(&home, &["class", &record, "--json"], "");
    assert_eq!(output.status.code(), Some(1), "a finding");
    assert!(String::from_utf8_lossy(&output.stderr).contains("line 2"), "{output:?}");
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(json["drills"], 2);
}

#[test]
fn the_trainers_choice_is_never_on_the_screen() {
    let home = folder("drill-secret");
    let circuit = lamp();
    let file = home.join("fault.txt");
    std::fs::write(&file, "work-lamp.open\n").unwrap();
    let args = ["drill", &circuit, "--fault-file", file.to_str().unwrap(), "--seed", "4"];
    let typed = "state\nfound\ncircuit\nmenu\nhelp\ntry\nhint\nfind lamp\n";
    let told = text(&run(&home, &args, typed));
    let before = told.split("REVIEW").next().unwrap();
    assert!(!before.contains("work-lamp.open") && !before.contains("filament broken"), "{before}");
    assert!(told.contains("filament broken"), "the review tells it: {told}");
}

#[test]
fn what_makes_no_sense_is_told_and_ends_nothing() {
    let home = folder("drill-nonsense");
    let circuit = lamp();
    let typed = "xyzzy\nlamp nowhere\nohms a\n99\n\u{1b}[2J\nvolts\n999\ntoggle up\n";
    let told = text(&run(&home, &["drill", &circuit, "--seed", "4"], typed));
    assert!(told.contains("Nothing here is called so") && told.contains("REVIEW"), "{told}");
    assert!(!told.contains('\u{1b}'));
    let output = run(&home, &["drill", &circuit, "--fault", "no-such"], "");
    assert_eq!(output.status.code(), Some(2));
    let output = run(&home, &["drill", &circuit, "--kind", "miswired"], "");
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("there are: "), "{output:?}");
}

#[test]
fn a_drill_in_a_terminal_follows_the_tool_to_its_end() {
    let home = folder("drill-pty");
    let circuit = lamp();
    let args = [
        "drill",
        circuit.as_str(),
        "--plain",
        "--level",
        "1",
        "--fault",
        "work-lamp.open",
        "--seed",
        "4",
    ];
    let mut pty = Pty::start(&args, (80, 24), &home);
    pty.wait_for("First see the complaint");
    pty.keys("?\n");
    pty.wait_for("starter rests");
    pty.keys("try\n");
    pty.wait_for("The work lamp stays dark.");
    pty.wait_for_end_with(">");
    for _ in 0..12 {
        let before = pty.shown();
        if before.contains("ends the drill") {
            break;
        }
        pty.keys("1\n");
        pty.wait_until_changed(&before);
        pty.wait_for_end_with(">");
    }
    pty.wait_for("ends the drill");
    pty.keys("done\n");
    let (status, shown) = pty.wait_for_end();
    assert!(status.success());
    assert!(shown.contains("Nothing to add") || shown.contains("  - "), "{shown}");
}

#[test]
fn a_drill_on_the_screen_is_left_with_its_review() {
    let home = folder("drill-screen");
    let circuit = lamp();
    let args =
        ["drill", circuit.as_str(), "--fault", "work-lamp.open", "--seed", "4", "--learner", "mia"];
    let mut pty = Pty::start(&args, (80, 24), &home);
    pty.wait_for("CIRCUIT");
    pty.wait_for("toggle switch");
    pty.keys("try\r");
    pty.wait_for("The work lamp stays dark.");
    pty.resize((30, 9));
    pty.wait_for("needs 40 columns");
    pty.resize((80, 24));
    pty.keys("volts work lamp +\r");
    pty.wait_for("touched last");
    pty.keys("off\rmend work lamp\r");
    pty.wait_for("the proof will tell");
    pty.keys("prove\r");
    pty.wait_for("Everything does");
    pty.keys("done\r");
    let (status, shown) = pty.wait_for_end();
    assert!(status.success());
    assert!(shown.contains("Kept in"), "{shown}");
}

#[test]
fn a_sheet_has_its_answers_apart_and_repeats_by_its_seed() {
    let home = folder("drill-sheet");
    let circuit = lamp();
    let sheet = |more: &[&str]| {
        let args = [&["drill", circuit.as_str(), "--sheet", "2", "--seed", "3"], more].concat();
        text(&run(&home, &args, ""))
    };
    let both = sheet(&[]);
    assert_eq!(both, sheet(&[]));
    let questions = sheet(&["--only", "questions"]);
    assert!(questions.contains("Question 1") && !questions.contains("Hidden was"), "{questions}");
    let answers = sheet(&["--only", "answers"]);
    assert!(!answers.contains("Question 1") && answers.contains("Hidden was"), "{answers}");
    let page = sheet(&["--format", "html"]);
    assert!(page.contains("Answers") && page.contains("<table>"), "{page}");
}
