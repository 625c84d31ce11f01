//! How the program ends: one place turns failures into words and codes.

use std::process::ExitCode;

use crate::problem::sanitise;
use crate::report::plain;

/// All is well.
pub const FINE: u8 = 0;
/// A finding (a file with problems) or a failure.
pub const FAILED: u8 = 1;
/// What was typed makes no sense.
pub const BAD_USAGE: u8 = 2;

/// What a command ends with when nothing went wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// Exit code 0.
    Fine,
    /// Exit code 1: something was found.
    Finding,
}

/// What went wrong.
#[derive(Debug, thiserror::Error)]
pub enum CliError {
    /// What was typed makes no sense.
    #[error("{message}")]
    Usage {
        /// What, and what to type instead.
        message: String,
    },
    /// Something failed.
    #[error("{message}")]
    Failed {
        /// What, and a way out.
        message: String,
    },
    /// Nobody reads what is printed any more.
    #[error("nobody reads the output")]
    Pipe,
}

impl CliError {
    /// Bad usage.
    pub fn usage(message: impl std::fmt::Display) -> CliError {
        CliError::Usage { message: format!("{message}") }
    }

    /// A failure.
    pub fn failed(message: impl std::fmt::Display) -> CliError {
        CliError::Failed { message: format!("{message}") }
    }
}

/// Prints what went wrong and gives the code.
pub fn end(result: Result<End, CliError>) -> ExitCode {
    let code = match result {
        Ok(End::Fine) | Err(CliError::Pipe) => FINE,
        Ok(End::Finding) => FAILED,
        Err(error @ CliError::Usage { .. }) => {
            tell(&error.to_string());
            BAD_USAGE
        }
        Err(error @ CliError::Failed { .. }) => {
            tell(&error.to_string());
            FAILED
        }
    };
    ExitCode::from(code)
}

/// Writes JSON to standard output, a line: for programs, and harmless on a terminal too.
pub fn say_json(value: &serde_json::Value) -> Result<(), CliError> {
    say(&format!("{}\n", plain::json(value)))
}

/// A line on standard error.
pub fn tell(words: &str) {
    hint(&format!("halfsplit: {}\n", sanitise(words)));
}

/// Writes to standard error as it is. Where nobody reads there, as on a terminal that has vanished, the work goes on:
/// `eprintln!` would panic.
pub fn hint(text: &str) {
    use std::io::Write;
    let mut out = std::io::stderr().lock();
    let _nobody_reads = out.write_all(text.as_bytes()).and_then(|()| out.flush());
}

/// Writes to standard output; a closed pipe ends the program quietly.
pub fn say(text: &str) -> Result<(), CliError> {
    use std::io::Write;
    let mut out = std::io::stdout().lock();
    let done = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    done.map_err(|error| match error.kind() {
        std::io::ErrorKind::BrokenPipe => CliError::Pipe,
        _ => CliError::failed(format!("cannot write to standard output: {error}")),
    })
}
