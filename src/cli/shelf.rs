//! Files that circuit files name, on the disk: plain ones only, and none outside the folder.

use std::io::ErrorKind;
use std::path::Path;

use crate::circuit::reuse::shelf::{Shelf, Unreachable, is_circuit_file};
use crate::problem::sanitise;

/// Larger files are not read: no circuit is so long.
pub const MOST_BYTES: u64 = 1024 * 1024;
/// So many names are looked at for "did you mean".
const MOST_NAMES: usize = 200;

/// The disk.
pub struct Disk;

impl Shelf for Disk {
    fn text(&self, folder: &str, path: &str) -> Result<String, Unreachable> {
        let path_in_words = path.to_owned();
        let refused = |error: std::io::Error| match error.kind() {
            ErrorKind::NotFound => Unreachable::Missing { path: path.to_owned() },
            _ => Unreachable::Refused { path: path.to_owned(), why: error.to_string() },
        };
        let home = std::fs::canonicalize(if folder.is_empty() { "." } else { folder });
        let real = std::fs::canonicalize(path).map_err(refused)?;
        if !real.starts_with(home.map_err(refused)?) {
            return Err(Unreachable::Outside { path: path_in_words });
        }
        let about = std::fs::metadata(&real).map_err(refused)?;
        if !about.is_file() {
            return Err(Unreachable::NotAFile { path: path_in_words });
        }
        if about.len() > MOST_BYTES {
            return Err(Unreachable::TooLong { path: path_in_words });
        }
        let bytes = std::fs::read(&real).map_err(refused)?;
        String::from_utf8(bytes).map_err(|_| Unreachable::NotText { path: path_in_words })
    }

    fn names(&self, folder: &str) -> Vec<String> {
        let folder = Path::new(if folder.is_empty() { "." } else { folder });
        let entries = std::fs::read_dir(folder).into_iter().flatten().flatten().take(MOST_NAMES);
        let names = entries.filter_map(|entry| entry.file_name().into_string().ok());
        let mut names: Vec<String> =
            names.filter(|name| is_circuit_file(name)).map(|name| sanitise(&name)).collect();
        names.sort();
        names
    }
}
