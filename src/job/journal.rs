//! The job file: a header and one event a line, on disk before the screen moves.
//!
//! Plain text, one JSON object a line. The header carries the circuit's own text, so that the file
//! replays to the same job on another machine. A last line cut short by a crash is dropped. Each event has
//! the time it was entered, from which a shop can learn how long things take.
#![expect(clippy::disallowed_methods, reason = "the job's one door to the disk")]

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::event::Event;
use super::study::learned::Learned;

/// Version of the job file this program writes; newer ones are refused politely.
pub const FORMAT: u32 = 1;
/// Larger files are not job files.
const MOST_BYTES: u64 = 16 * 1024 * 1024;

/// First line of a job file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Header {
    /// Version of the format.
    pub halfsplit_job: u32,
    /// The circuit's short name.
    pub circuit: String,
    /// The circuit file's text.
    pub text: String,
    /// Testers at hand, by name.
    pub kit: Vec<String>,
    /// The work that fails, by its id.
    pub complaint: String,
    /// When the job began, RFC 3339.
    pub started: String,
    /// What the shop had learnt before.
    #[serde(default, skip_serializing_if = "Learned::is_empty")]
    pub learned: Learned,
}

/// One event as the file has it.
#[derive(Debug, Serialize, Deserialize)]
struct Line {
    #[serde(flatten)]
    event: Event,
    /// When it was entered; files of older programs have none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    at: Option<Timestamp>,
}

/// Why a job file cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum JournalError {
    /// The disk said no.
    #[error("cannot {act} the job file `{path}`: {cause}")]
    Disk {
        /// `read`, `write`, `make`.
        act: &'static str,
        /// The file.
        path: PathBuf,
        /// Why.
        cause: io::Error,
    },
    /// Another program has it.
    #[error("the job file `{path}` is open in another halfsplit; close that one first")]
    Locked {
        /// The file.
        path: PathBuf,
    },
    /// It is something else.
    #[error("`{path}` is no job file: {reason}")]
    NotAJob {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        reason: String,
    },
    /// Made by a newer program.
    #[error("`{path}` was written by a newer halfsplit (format {found}, this one knows {FORMAT})")]
    Newer {
        /// The file.
        path: PathBuf,
        /// Its format.
        found: u32,
    },
}

/// An open job file; dropped, it is unlocked.
#[derive(Debug)]
pub struct Journal {
    file: File,
    path: PathBuf,
}

/// What a job file holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept {
    /// Its first line.
    pub header: Header,
    /// Its events.
    pub events: Vec<Event>,
    /// When each was entered, where the file tells.
    pub times: Vec<Option<Timestamp>>,
    /// A last line was cut short and dropped.
    pub torn: bool,
}

impl Journal {
    /// Makes a new job file; one that is there already is not touched.
    pub fn create(path: &Path, header: &Header) -> Result<Journal, JournalError> {
        let disk = |cause| JournalError::Disk { act: "make", path: path.to_owned(), cause };
        if let Some(folder) = path.parent() {
            std::fs::create_dir_all(folder).map_err(disk)?;
        }
        let file =
            OpenOptions::new().read(true).write(true).create_new(true).open(path).map_err(disk)?;
        let mut journal = Journal::locked(file, path)?;
        if let Err(error) = journal.line(header) {
            // Without its first line it would be no job file, and in the way of the next try.
            let _ = std::fs::remove_file(path);
            return Err(error);
        }
        Ok(journal)
    }

    /// Opens a job file to go on with it.
    pub fn open(path: &Path) -> Result<(Journal, Kept), JournalError> {
        let disk = |cause| JournalError::Disk { act: "read", path: path.to_owned(), cause };
        let file = OpenOptions::new().read(true).write(true).open(path).map_err(disk)?;
        let mut journal = Journal::locked(file, path)?;
        let (kept, good_bytes) = read(path)?;
        journal.file.set_len(good_bytes).map_err(disk)?;
        journal.file.seek(SeekFrom::End(0)).map_err(disk)?;
        Ok((journal, kept))
    }

    fn locked(file: File, path: &Path) -> Result<Journal, JournalError> {
        match file.try_lock() {
            Ok(()) => Ok(Journal { file, path: path.to_owned() }),
            Err(TryLockError::WouldBlock) => Err(JournalError::Locked { path: path.to_owned() }),
            Err(TryLockError::Error(cause)) => {
                Err(JournalError::Disk { act: "lock", path: path.to_owned(), cause })
            }
        }
    }

    /// Appends an event and waits until the disk has it.
    pub fn append(&mut self, event: &Event) -> Result<(), JournalError> {
        self.line(&Line { event: event.clone(), at: Some(Timestamp::now()) })
    }

    /// Where the job is kept.
    pub fn path(&self) -> &Path {
        &self.path
    }

    fn line(&mut self, value: &impl Serialize) -> Result<(), JournalError> {
        let disk =
            |cause: io::Error| JournalError::Disk { act: "write", path: self.path.clone(), cause };
        let mut line = serde_json::to_vec(value).map_err(|error| disk(error.into()))?;
        line.push(b'\n');
        let start = self.file.stream_position().map_err(disk)?;
        let written = self.file.write_all(&line).and_then(|()| self.file.sync_data());
        if let Err(cause) = written {
            // Half a line must not stand before the next event.
            let _ = self.file.set_len(start);
            let _ = self.file.seek(SeekFrom::Start(start));
            return Err(JournalError::Disk { act: "write", path: self.path.clone(), cause });
        }
        Ok(())
    }
}

/// Reads a job file; also gives the bytes up to the end of its last whole line.
pub fn read(path: &Path) -> Result<(Kept, u64), JournalError> {
    let disk = |cause| JournalError::Disk { act: "read", path: path.to_owned(), cause };
    let Some(bytes) = bounded(path, MOST_BYTES).map_err(disk)? else {
        let reason = "it is over 16 MiB".to_owned();
        return Err(JournalError::NotAJob { path: path.to_owned(), reason });
    };
    parse(path, &bytes)
}

/// The bytes of a file that has no more than `most` of them; `None` where it has more.
///
/// A pipe or a device has no length beforehand: of an endless one no more is read either.
pub fn bounded(path: &Path, most: u64) -> io::Result<Option<Vec<u8>>> {
    let mut bytes = Vec::new();
    File::open(path)?.take(most + 1).read_to_end(&mut bytes)?;
    Ok((bytes.len() as u64 <= most).then_some(bytes))
}

/// What [`read`] makes of the bytes of the file at `path`.
pub fn parse(path: &Path, bytes: &[u8]) -> Result<(Kept, u64), JournalError> {
    let not = |reason: String| JournalError::NotAJob { path: path.to_owned(), reason };
    let mut lines = bytes.split_inclusive(|byte| *byte == b'\n');
    let first = lines.next().filter(|line| line.ends_with(b"\n"));
    let first = first.ok_or_else(|| not("its first line is cut short".to_owned()))?;
    if let Some(found) = newer(first) {
        return Err(JournalError::Newer { path: path.to_owned(), found });
    }
    let header: Header =
        serde_json::from_slice(first).map_err(|error| not(format!("first line: {error}")))?;
    let mut good = first.len();
    let mut kept = Kept { header, events: Vec::new(), times: Vec::new(), torn: false };
    for (number, line) in lines.enumerate() {
        if !line.ends_with(b"\n") {
            kept.torn = true;
            break;
        }
        let Line { event, at } = serde_json::from_slice(line)
            .map_err(|error| not(format!("line {}: {error}", number + 2)))?;
        kept.events.push(event);
        kept.times.push(at);
        good += line.len();
    }
    Ok((kept, good as u64))
}

fn newer(line: &[u8]) -> Option<u32> {
    let value: serde_json::Value = serde_json::from_slice(line).ok()?;
    let found = u32::try_from(value.get("halfsplit_job")?.as_u64()?).ok()?;
    (found > FORMAT).then_some(found)
}
