//! The shop's history on the disk: where it is, how it is read, how lines are added.

use std::fs::{File, OpenOptions};
use std::io::{ErrorKind, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use etcetera::BaseStrategy;
use serde::Serialize;

use super::common_args::OneCircuit;
use super::exit::CliError;
use super::hold;
use crate::circuit::Circuit;
use crate::history::ledger::{Ledger, split};
use crate::history::teach::lesson;
use crate::job::study::learned::Learned;
use crate::problem::sanitise;

/// Larger files are not read: a hundred thousand jobs would fit.
const MOST_BYTES: u64 = 256 * 1024 * 1024;

/// The history file meant: the one named, or for an empty name the shop's own in the data folder.
pub fn path(named: &str) -> Result<PathBuf, CliError> {
    if !named.is_empty() {
        return Ok(PathBuf::from(named));
    }
    let base = etcetera::choose_base_strategy().map_err(CliError::failed)?;
    Ok(base.data_dir().join("halfsplit").join("history"))
}

fn failed(act: &str, path: &Path, cause: &std::io::Error) -> CliError {
    CliError::failed(format!("cannot {act} the history `{}`: {cause}", path.display()))
}

/// The history in a file; an empty one where there is none.
pub fn read(path: &Path) -> Result<Ledger, CliError> {
    match File::open(path) {
        Ok(mut file) => parse(path, &text(path, &mut file)?),
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(Ledger::default()),
        Err(error) => Err(failed("read", path, &error)),
    }
}

fn text(path: &Path, file: &mut File) -> Result<String, CliError> {
    let mut text = String::new();
    let read = file.take(MOST_BYTES + 1).read_to_string(&mut text);
    read.map_err(|error| failed("read", path, &error))?;
    if text.len() as u64 > MOST_BYTES {
        let named = path.display();
        return Err(CliError::failed(format!("the history `{named}` is over 256 MiB")));
    }
    Ok(text)
}

fn parse(path: &Path, text: &str) -> Result<Ledger, CliError> {
    let named = sanitise(&path.display().to_string());
    Ledger::parse(text).map_err(|error| CliError::failed(format!("`{named}`: {error}")))
}

/// What the history named on the command line, or else the one read before, says of a circuit; nothing without one.
pub fn learned(common: &OneCircuit, circuit: &Circuit) -> Result<Arc<Learned>, CliError> {
    let said = |ledger: &Ledger| Arc::new(lesson(ledger, circuit).learned);
    let Some(named) = &common.history else {
        return Ok(common.own_history.as_deref().map(said).unwrap_or_default());
    };
    let path = path(named)?;
    if !named.is_empty() && !path.exists() {
        return Err(CliError::usage(format!("there is no history `{named}`")));
    }
    Ok(said(&read(&path)?))
}

/// A history file held against other programs, to be read and added to.
#[derive(Debug)]
pub struct Held {
    file: File,
    path: PathBuf,
    /// What it holds.
    pub ledger: Ledger,
}

impl Held {
    /// Opens a history file, or makes it.
    pub fn open(path: &Path) -> Result<Held, CliError> {
        let disk = |error| failed("open", path, &error);
        if let Some(folder) = path.parent() {
            std::fs::create_dir_all(folder).map_err(disk)?;
        }
        let file =
            OpenOptions::new().read(true).write(true).create(true).truncate(false).open(path);
        let mut file = file.map_err(disk)?;
        if !hold::soon(&file) {
            let named = path.display();
            return Err(CliError::failed(format!("the history `{named}` is in use; try again")));
        }
        let text = text(path, &mut file)?;
        let ledger = parse(path, &text)?;
        // A last line cut short, or without its end, must not run into the next one.
        let (whole, _) = split(&text);
        file.set_len(whole.len() as u64).map_err(disk)?;
        file.seek(SeekFrom::End(0)).map_err(disk)?;
        if !whole.is_empty() && !whole.ends_with('\n') {
            file.write_all(b"\n").map_err(disk)?;
        }
        Ok(Held { file, path: path.to_owned(), ledger })
    }

    /// Adds lines, all or none, and waits until the disk has them.
    pub fn append(&mut self, lines: &[impl Serialize]) -> Result<(), CliError> {
        let mut text = String::new();
        for line in lines {
            text.push_str(&serde_json::to_string(line).map_err(CliError::failed)?);
            text.push('\n');
        }
        let disk = |error: std::io::Error| failed("write", &self.path, &error);
        let start = self.file.stream_position().map_err(disk)?;
        let written = self.file.write_all(text.as_bytes()).and_then(|()| self.file.sync_data());
        if written.is_err() {
            let _ = self.file.set_len(start);
        }
        written.map_err(disk)
    }
}
