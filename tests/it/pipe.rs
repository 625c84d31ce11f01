//! The program in a pipe: what is typed goes in at once, what is said comes out when it has ended.

use std::io::Write as _;
use std::process::{Command, Output, Stdio};

/// Runs a command with these lines on its standard input.
pub fn typed_into(command: &mut Command, typed: &str) -> Output {
    let pipes = command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = pipes.spawn().unwrap();
    child.stdin.take().unwrap().write_all(typed.as_bytes()).unwrap();
    child.wait_with_output().unwrap()
}
