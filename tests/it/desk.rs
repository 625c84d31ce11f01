//! The questions before the first step, asked by the real program in a pipe.

use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use halfsplit::job::journal;

use crate::terminal::pty::folder;

fn find(home: &Path, words: &[&str], typed: &str) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_halfsplit"))
        .args([&["find"], words].concat())
        .env("XDG_DATA_HOME", home.join("data"))
        .env("XDG_CONFIG_HOME", home.join("config"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(typed.as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    output
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
