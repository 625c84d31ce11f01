//! The history file: one finished job a line, plain JSON, so that two shops' files are merged by putting one
//! behind the other.

use std::collections::{BTreeSet, HashSet};

use serde::{Deserialize, Serialize};

use super::record::{FORMAT, Record};

/// All that a shop has learnt from.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Ledger {
    records: Vec<Record>,
    /// The ids of these, to find one among many.
    jobs: HashSet<String>,
}

/// Says that a job shall count no more: the file only ever grows.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Forget {
    /// The job's id.
    pub forget: String,
}

/// Why a history file cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum LedgerError {
    /// A line is something else.
    #[error("line {line} of the history is none: {reason}")]
    Line {
        /// From 1.
        line: usize,
        /// What is wrong with it.
        reason: String,
    },
    /// A line of a newer program.
    #[error(
        "line {line} of the history was written by a newer halfsplit (format {found}, this one knows {FORMAT})"
    )]
    Newer {
        /// From 1.
        line: usize,
        /// Its format.
        found: u64,
    },
}

/// What each line begins with, so that a last line which was cut short is told from somebody else's file.
const BEGINNINGS: [&str; 2] = ["{\"halfsplit_history\":", "{\"forget\":"];

/// The whole lines of a history, and what was cut short behind them. A last line that only lacks its end, as an
/// editor may leave it, is whole.
pub fn split(text: &str) -> (&str, &str) {
    let end = text.rfind('\n').map_or(0, |end| end + 1);
    let (whole, last) = text.split_at(end);
    let only_unended = serde_json::from_str::<serde_json::Value>(last).is_ok();
    if only_unended { (text, "") } else { (whole, last) }
}

impl Ledger {
    /// Reads a history file. A last line that was cut short is left out; a job told twice counts once.
    ///
    /// # Errors
    /// With the number of the first line that is not a line of a history.
    pub fn parse(text: &str) -> Result<Ledger, LedgerError> {
        let mut ledger = Ledger::default();
        let (whole, torn) = split(text);
        if !BEGINNINGS.iter().any(|ours| ours.starts_with(torn) || torn.starts_with(ours)) {
            let reason = "it has no end, and is not a line of a history cut short".to_owned();
            return Err(LedgerError::Line { line: text.lines().count(), reason });
        }
        for (at, line) in whole.lines().enumerate().filter(|(_, line)| !line.trim().is_empty()) {
            let failed = |error: serde_json::Error| LedgerError::Line {
                line: at + 1,
                reason: error.to_string(),
            };
            let value: serde_json::Value = serde_json::from_str(line).map_err(failed)?;
            if let Ok(Forget { forget }) = serde_json::from_value(value.clone()) {
                ledger.forget(&forget);
                continue;
            }
            let format = value.get("halfsplit_history").and_then(serde_json::Value::as_u64);
            if let Some(found) = format.filter(|found| *found > u64::from(FORMAT)) {
                return Err(LedgerError::Newer { line: at + 1, found });
            }
            let record: Record = serde_json::from_value(value).map_err(failed)?;
            if let Some(reason) = record.oddity() {
                return Err(LedgerError::Line { line: at + 1, reason: reason.to_owned() });
            }
            ledger.add(record);
        }
        Ok(ledger)
    }

    /// Adds a job; false when it was there already.
    pub fn add(&mut self, record: Record) -> bool {
        let new = self.jobs.insert(record.job.clone());
        if new {
            self.records.push(record);
        }
        new
    }

    /// Leaves a job out from now on; false when it was not there.
    pub fn forget(&mut self, job: &str) -> bool {
        let there = self.jobs.remove(job);
        if there {
            self.records.retain(|record| record.job != job);
        }
        there
    }

    /// Whether a job is in it.
    pub fn holds(&self, job: &str) -> bool {
        self.jobs.contains(job)
    }

    /// The jobs that count, oldest first.
    pub fn records(&self) -> &[Record] {
        &self.records
    }

    /// The circuits they were done on.
    pub fn circuits(&self) -> BTreeSet<&str> {
        self.records.iter().map(|record| record.circuit.as_str()).collect()
    }
}
