//! Score files: one a learner, one line a finished drill, never rewritten.

use std::fs::OpenOptions;
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use super::exit::CliError;
use super::hold;
use crate::drill::record::{FORMAT, Record, file_name};
use crate::job::journal::bounded;
use crate::problem::sanitise;

/// Ending of score files.
const ENDING: &str = "drills";
/// Larger files are no score files.
const MOST_BYTES: u64 = 64 * 1024 * 1024;

/// The folder of score files in the data folder.
pub fn folder() -> Result<PathBuf, CliError> {
    use etcetera::BaseStrategy;
    let base = etcetera::choose_base_strategy().map_err(CliError::failed)?;
    Ok(base.data_dir().join("halfsplit").join("drills"))
}

/// Adds a line to the learner's file; gives the file.
pub fn keep(folder: &Path, record: &Record) -> Result<PathBuf, CliError> {
    let path = folder.join(file_name(&record.learner));
    let failed = |cause: std::io::Error| {
        CliError::failed(format!("cannot keep the score in `{}`: {cause}", path.display()))
    };
    std::fs::create_dir_all(folder).map_err(failed)?;
    // A class may share the folder: nobody's link leads a score into another's files.
    if std::fs::symlink_metadata(&path).is_ok_and(|facts| !facts.is_file()) {
        return Err(failed(std::io::Error::other("it is a link or no file")));
    }
    let mut file =
        OpenOptions::new().read(true).append(true).create(true).open(&path).map_err(failed)?;
    if !hold::soon(&file) {
        return Err(failed(std::io::Error::other("it is in use")));
    }
    let line = serde_json::to_string(record).map_err(CliError::failed)?;
    // A line cut short by a crash stays alone; the next one begins anew.
    let torn = !ends_whole(&mut file).map_err(failed)?;
    let line = format!("{}{line}\n", if torn { "\n" } else { "" });
    file.write_all(line.as_bytes()).and_then(|()| file.sync_all()).map_err(failed)?;
    Ok(path)
}

fn ends_whole(file: &mut std::fs::File) -> std::io::Result<bool> {
    if file.metadata()?.len() == 0 {
        return Ok(true);
    }
    file.seek(SeekFrom::End(-1))?;
    let mut last = [0];
    file.read_exact(&mut last)?;
    Ok(last == *b"\n")
}

/// The drills in these files and folders, and the lines that could not be read, told by file and number.
pub fn read(paths: &[PathBuf]) -> Result<(Vec<Record>, Vec<String>), CliError> {
    let mut files: Vec<PathBuf> = Vec::new();
    for path in paths {
        if path.is_dir() {
            let entries = std::fs::read_dir(path).map_err(CliError::failed)?.flatten();
            let mut inside: Vec<PathBuf> = Vec::new();
            for entry in entries {
                let path = entry.path();
                if path.extension().is_some_and(|ending| ending == ENDING) {
                    inside.push(path);
                }
            }
            inside.sort();
            files.extend(inside);
        } else {
            files.push(path.clone());
        }
    }
    let (mut records, mut broken) = (Vec::new(), Vec::new());
    for file in &files {
        let named = sanitise(&file.display().to_string());
        let cannot = |cause: String| CliError::failed(format!("cannot read `{named}`: {cause}"));
        let bytes = bounded(file, MOST_BYTES).map_err(|error| cannot(error.to_string()))?;
        let bytes = bytes.ok_or_else(|| cannot("it is too large for a score file".to_owned()))?;
        let (sound, torn) = parse(&String::from_utf8_lossy(&bytes));
        records.extend(sound);
        broken.extend(torn.iter().map(|(line, why)| format!("`{named}`, line {line}: {why}")));
    }
    // The same drill in two folders counts once.
    records.sort_by(|a, b| (&a.learner, &a.ended, a.seed).cmp(&(&b.learner, &b.ended, b.seed)));
    records.dedup();
    Ok((records, broken))
}

/// The drills in the text of a score file, and the numbers of the lines that are none, each with the reason.
pub fn parse(text: &str) -> (Vec<Record>, Vec<(usize, String)>) {
    let (mut records, mut broken) = (Vec::new(), Vec::new());
    for (at, line) in text.lines().enumerate().filter(|(_, line)| !line.trim().is_empty()) {
        match record(line) {
            Ok(record) => records.push(record),
            Err(why) => broken.push((at + 1, why)),
        }
    }
    (records, broken)
}

/// A line of a score file; the format is looked at first, as a newer one may have words unknown here.
fn record(line: &str) -> Result<Record, String> {
    let value: serde_json::Value = serde_json::from_str(line).map_err(|error| error.to_string())?;
    let format = value.get("halfsplit_drill").and_then(serde_json::Value::as_u64);
    if let Some(found) = format.filter(|found| *found > u64::from(FORMAT)) {
        return Err(format!("of a newer halfsplit (format {found})"));
    }
    serde_json::from_value(value).map_err(|error| error.to_string())
}
