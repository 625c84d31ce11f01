//! Where a report goes: standard output, or a file that is never anybody else's.

use std::fs::{File, OpenOptions};
use std::io::{Read, Write};
use std::path::{Path, PathBuf};

use super::exit::{CliError, say};
use crate::problem::sanitise;
use crate::report::mark;

/// Whether [`out`] may write there: asked before long work, so that it is not done in vain.
pub fn may(path: Option<&Path>, force: bool) -> Result<(), CliError> {
    let Some(path) = path else { return Ok(()) };
    let named = sanitise(&path.display().to_string());
    if path.is_dir() {
        return Err(CliError::usage(format!("`{named}` is a folder; name a file in it")));
    }
    // The link itself, not what it leads to: a report takes the place of a name, and goes nowhere else.
    let Ok(there) = std::fs::symlink_metadata(path) else { return Ok(()) };
    if !there.is_file() && !there.is_symlink() {
        let message =
            format!("`{named}` is no file; without --out the report goes to standard output");
        return Err(CliError::usage(message));
    }
    if force || (there.is_file() && is_ours(path)) {
        return Ok(());
    }
    let what = if there.is_symlink() { "is a link" } else { "was not made by halfsplit" };
    Err(CliError::failed(format!("`{named}` is there and {what}; --force replaces it")))
}

fn is_ours(path: &Path) -> bool {
    let mut beginning = Vec::new();
    let file = File::open(path);
    let read = file.map(|file| file.take(mark::LONGEST as u64).read_to_end(&mut beginning));
    read.is_ok() && mark::is_ours(&beginning)
}

/// Writes a report to the file, or to standard output when there is none.
///
/// The file is there in whole or not at all: it is written beside its place and then moved.
pub fn out(path: Option<&Path>, force: bool, report: &str) -> Result<(), CliError> {
    let Some(path) = path else { return say(report) };
    may(Some(path), force)?;
    let aside = aside(path);
    let written = beside(&aside, report).and_then(|()| std::fs::rename(&aside, path));
    written.map_err(|error| {
        let _ = std::fs::remove_file(&aside);
        let named = sanitise(&path.display().to_string());
        CliError::failed(format!("cannot write `{named}`: {error}"))
    })
}

fn beside(aside: &Path, report: &str) -> std::io::Result<()> {
    let mut file = OpenOptions::new().write(true).create_new(true).open(aside)?;
    file.write_all(report.as_bytes())?;
    file.sync_all()
}

fn aside(path: &Path) -> PathBuf {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    path.with_file_name(format!(".{name}.{}.part", std::process::id()))
}
