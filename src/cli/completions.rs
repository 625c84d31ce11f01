//! `completions`: what makes a shell complete commands and options, from the definitions of `args`.

use clap::CommandFactory;

use super::args::{Args, Completions};
use super::exit::{CliError, End, say};

/// Runs `completions`.
pub fn run(completions: &Completions) -> Result<End, CliError> {
    let mut script = Vec::new();
    clap_complete::generate(completions.shell, &mut Args::command(), "halfsplit", &mut script);
    say(&String::from_utf8_lossy(&script))?;
    Ok(End::Fine)
}
