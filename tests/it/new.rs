//! `new` starts files that `check` has no word for, and leaves other files alone.

use std::fs;
use std::process::{Command, Output};
use std::sync::Arc;

use halfsplit::circuit::{builtin, read::read_text};
use halfsplit::job::study::Study;
use halfsplit::plan::{Budget, Progress};
use halfsplit::tester::Instrument;
use halfsplit::trial::{desk::Desk, play::Player, rival::Way};

use crate::terminal::pty::{Pty, folder};

fn new(words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_halfsplit")).arg("new").args(words).output().unwrap()
}

#[test]
fn a_new_file_is_checked_and_has_its_schema_beside_it() {
    let folder = folder("new");
    let path = folder.join("seat.yaml");
    let file = path.to_str().unwrap();
    let output =
        new(&["--name", "Seat: start", "--machine", "Wendle 12", "--system", "24", "-o", file]);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let text = fs::read_to_string(&path).unwrap();
    assert!(text.starts_with("# yaml-language-server: $schema=circuit.schema.json\n"), "{text}");
    let circuit = read_text("seat", &text).0.unwrap();
    assert_eq!((circuit.name.as_str(), circuit.system_volts.round()), ("Seat: start", 24.0));
    let schema = fs::read_to_string(folder.join("circuit.schema.json")).unwrap();
    assert!(serde_json::from_str::<serde_json::Value>(&schema).unwrap()["definitions"].is_object());
    let again = new(&["--name", "Other", "-o", file]);
    assert!(!again.status.success());
    assert_eq!(fs::read_to_string(&path).unwrap(), text);
    assert!(new(&["--name", "Other", "-o", file, "--force"]).status.success());
    assert!(fs::read_to_string(&path).unwrap().contains("name: Other\n"));
}

#[test]
fn a_file_like_a_built_in_one_differs_in_its_head_only() {
    let output = new(&["--like", "horn-relay", "--name", "My horn", "--machine", "Mine"]);
    let text = String::from_utf8(output.stdout).unwrap();
    let body = |text: &str| text.split_once("system:").unwrap().1.to_owned();
    assert_eq!(body(&text), body(builtin::text("horn-relay").unwrap()));
    let circuit = read_text("mine", &text).0.unwrap();
    assert_eq!((circuit.name.as_str(), circuit.machine.as_str()), ("My horn", "Mine"));
    let unknown = new(&["--like", "horn"]);
    assert!(!unknown.status.success());
    assert!(String::from_utf8_lossy(&unknown.stderr).contains("horn-relay"));
}

#[test]
fn what_is_not_given_is_asked_for_on_a_terminal() {
    let home = folder("new-asks");
    let mut pty = Pty::start(&["new"], (80, 24), &home);
    pty.wait_for("What is the circuit? [New circuit]");
    pty.keys("Seat: start\r");
    pty.wait_for("On what machine? [my machine]");
    pty.keys("\r");
    pty.wait_for("How many volts? [12 V]");
    pty.keys("24\r");
    pty.wait_for("In which file? [seat-start.yaml]");
    pty.keys("\r");
    let (status, shown) = pty.wait_for_end();
    assert!(status.success(), "{shown}");
    assert!(shown.contains("Now: halfsplit check seat-start.yaml"), "{shown}");
    let path = home.join("seat-start.yaml");
    let circuit = read_text("seat", &fs::read_to_string(&path).unwrap()).0.unwrap();
    let said = (circuit.name.as_str(), circuit.machine.as_str(), circuit.system_volts.round());
    assert_eq!(said, ("Seat: start", "my machine", 24.0));
    assert!(home.join("circuit.schema.json").exists());
    for (answer, replaced) in [("\r", false), ("yes\r", true)] {
        let mut pty = Pty::start(
            &["new", "--name", "Other", "--machine", "Wendle", "-o", "seat-start.yaml"],
            (80, 24),
            &home,
        );
        pty.wait_for("How many volts? [12 V]");
        pty.keys("\r");
        pty.wait_for("Replace it? [no]");
        pty.keys(answer);
        let (status, shown) = pty.wait_for_end();
        assert_eq!(status.success(), replaced, "{shown}");
        assert_eq!(fs::read_to_string(&path).unwrap().contains("name: Other\n"), replaced);
    }
}

#[test]
fn a_volt_that_is_none_is_told() {
    let mut pty =
        Pty::start(&["new", "--name", "A", "--machine", "B"], (80, 24), &folder("new-volts"));
    pty.wait_for("How many volts?");
    pty.keys("twelve\r");
    let (status, shown) = pty.wait_for_end();
    assert!(!status.success());
    assert!(shown.contains("twelve"), "{shown}");
}

#[test]
fn a_file_of_what_differs_is_begun_beside_its_base() {
    let folder = folder("new-base");
    let at = |name: &str| folder.join(name).to_str().unwrap().to_owned();
    fs::write(at("horn.yaml"), builtin::text("horn-relay").unwrap()).unwrap();
    let output = new(&["--base", &at("horn.yaml"), "--name", "Mine", "-o", &at("mine.yaml")]);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let text = fs::read_to_string(at("mine.yaml")).unwrap();
    assert!(text.contains("\nbase: horn.yaml\n"), "{text}");
    assert!(text.contains("#     horn-relay--c5: { colour: "), "{text}");
    let check =
        Command::new(env!("CARGO_BIN_EXE_halfsplit")).args(["check", &at("mine.yaml")]).output();
    assert!(String::from_utf8_lossy(&check.unwrap().stdout).contains("nothing to mend"));
    fs::create_dir_all(at("below")).unwrap();
    let elsewhere = new(&["--base", &at("horn.yaml"), "-o", &at("below/elsewhere.yaml")]);
    assert!(!elsewhere.status.success());
    assert!(String::from_utf8_lossy(&elsewhere.stderr).contains("not in the folder"));
}

/// A circuit that was written from nothing, with the messages that `check` has for a beginner.
#[test]
fn what_was_written_from_nothing_is_sound_and_its_faults_are_found() {
    let path = "examples/seat-switch-start.yaml";
    let checked =
        Command::new(env!("CARGO_BIN_EXE_halfsplit")).args(["check", path]).output().unwrap();
    assert_eq!(String::from_utf8_lossy(&checked.stdout), format!("{path}: nothing to mend\n"));
    let circuit = Arc::new(read_text("seat", &fs::read_to_string(path).unwrap()).0.unwrap());
    let testers = [Instrument::Lamp, Instrument::Meter];
    let study = Arc::new(Study::new(&circuit, &testers, 0).unwrap());
    let desk = Desk::new(&study, Budget { nodes: 0 });
    let player = Player::new(&desk, Way::Planned);
    for hidden in ["seat-switch.open", "solenoid.body-high-3", "c1-2.high-100"] {
        let suspect = study.lineup().find(hidden).unwrap();
        assert!(player.play(suspect, &Progress::default()).cured, "{hidden}");
    }
}
