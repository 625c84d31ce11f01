//! Writes the circuit file of an invented vehicle harness, for measurements of size.
//!
//! `cargo run --release --example harness -- [--parts N] [--seed N] [--works N] > FILE`. N parts are those of
//! the section `parts` (splices and ground points included), the pins of connectors, and the wires. Fuse
//! boxes on the battery, some of them behind a relay of the key; sections of the loom behind connectors of
//! twelve pins; ground points and ground splices that several loads share, some of them back through a
//! connector; lamps, motors, heaters and horns on switches, levers and relays. Exit code 2: the call is bad.
#![allow(clippy::disallowed_methods, reason = "an example is its own shell")]

#[path = "harness/generate.rs"]
mod generate;

use std::io::Write;
use std::process::ExitCode;

const USAGE: &str = "usage: harness [--parts N] [--seed N] [--works N]";

fn main() -> ExitCode {
    match text() {
        Ok(text) => match std::io::stdout().lock().write_all(text.as_bytes()) {
            Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => ExitCode::from(2),
            _ => ExitCode::SUCCESS,
        },
        Err(message) => {
            // Nobody listens when standard error is closed too.
            let _ = writeln!(std::io::stderr(), "harness: {message}; {USAGE}");
            ExitCode::from(2)
        }
    }
}

fn text() -> Result<String, String> {
    let (mut parts, mut seed, mut works) = (1000, 1, 8);
    let mut arguments = std::env::args().skip(1);
    while let Some(name) = arguments.next() {
        let value = arguments.next().ok_or_else(|| format!("`{name}` has no number"))?;
        let number = value.parse::<usize>().map_err(|_| format!("`{value}` is no number"))?;
        match name.as_str() {
            "--parts" => parts = number,
            "--seed" => seed = number as u64,
            "--works" => works = number.max(1),
            _ => return Err(format!("`{name}` is not understood")),
        }
    }
    if parts < generate::LEAST_PARTS {
        return Err(format!("a harness has at least {} parts", generate::LEAST_PARTS));
    }
    Ok(generate::harness(parts, works, seed))
}
