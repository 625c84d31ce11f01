//! Worked circuits with their printed answers, by the source they come from.

use std::path::Path;

use super::Row;
use crate::worked_circuits::netlist;

/// How a file's name begins, its source, and what of it.
const SOURCES: [(&str, &str); 5] = [
    ("kup", "Lessons In Electric Circuits (T. R. Kuphaldt)"),
    ("osx", "OpenStax College Physics"),
    ("ac4313", "FAA Advisory Circular 43.13-1B"),
    ("doe", "DOE Fundamentals Handbook 1011/1-92"),
    ("neets", "NEETS Module 1, NAVEDTRA 14173"),
];

pub fn rows() -> Vec<Row> {
    SOURCES.iter().map(|(begins, source)| row(begins, source)).collect()
}

/// Each printed figure that follows from its own circuit, off by at most its last digit.
fn row(begins: &str, source: &'static str) -> Row {
    let mut row = Row::off(source, "worked circuits: printed volts, amperes, watts, ohms");
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/worked-circuits");
    let mut paths: Vec<_> =
        std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    let name = |path: &Path| path.file_name().unwrap().to_str().unwrap().to_owned();
    for path in paths.iter().filter(|path| name(path).starts_with(begins)) {
        let file: netlist::File =
            serde_yaml::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
        for worked in &file.circuits {
            for (expected, answer) in worked.expect.iter().zip(worked.answers().unwrap()) {
                let value = expected.value.unwrap();
                // A figure of nothing has no share to be off by, and is held by `worked_circuits`.
                if expected.holds == Some(true) && value.abs() > 1e-9 {
                    row.add(answer.unwrap(), value);
                }
            }
        }
    }
    row
}
