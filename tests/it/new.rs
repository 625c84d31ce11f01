//! `new` starts files that `check` has no word for, and leaves other files alone.

use std::fs;
use std::process::{Command, Output};

use halfsplit::circuit::{builtin, read::read_text};

use crate::terminal::pty::folder;

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
