//! The job card: one diagnosis on a page, from the complaint to the proven repair.
//!
//! `sum_up` takes a job together; the other files are a format each.

pub mod html;
pub mod json;
pub mod markdown;
mod sum_up;
pub mod text;

pub use sum_up::sum_up;

use crate::job::event::Event;
use crate::job::journal::Header;

/// One job, taken together.
///
/// All texts are sanitised but those in `header` and `events`, which are the job file's own.
#[derive(Debug, Clone, PartialEq)]
pub struct JobCard {
    /// The job file's first line.
    pub header: Header,
    /// Its events.
    pub events: Vec<Event>,
    /// The circuit's name.
    pub circuit: String,
    /// The machine's.
    pub machine: String,
    /// What should work and did not.
    pub complaint: String,
    /// Testers at hand.
    pub kit: Vec<String>,
    /// When it began, for a person.
    pub started: String,
    /// What was done, oldest first; what was taken back is left out.
    pub rows: Vec<Row>,
    /// How it stands.
    pub verdict: Verdict,
    /// Minutes reckoned for all that was done.
    pub minutes: f64,
    /// Readings taken.
    pub tests: usize,
    /// What had to be heeded on the way.
    pub cautions: Vec<String>,
    /// A reading that does not fit, or a drawing.
    pub surprise: Option<String>,
    /// The current paths, supply first.
    pub paths: Vec<Path>,
    /// The wiring drawing as an SVG element, the proven fault's part framed.
    pub drawing: String,
}

/// One thing done.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// From 1.
    pub number: usize,
    /// What sort.
    pub kind: RowKind,
    /// Id of the test or fix; of a note empty.
    pub id: String,
    /// What was done, in one line.
    pub what: String,
    /// How the machine stood.
    pub setup: String,
    /// What was seen.
    pub seen: String,
    /// What the sound circuit would have shown; empty where nothing was read.
    pub sound: String,
    /// What was seen is no sound circuit's.
    pub differs: bool,
    /// Minutes it added.
    pub minutes: f64,
}

/// What was done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RowKind {
    /// A reading.
    Reading,
    /// A repair and its check.
    Repair,
    /// A step passed over.
    Skipped,
    /// Words of the person.
    Note,
}

impl RowKind {
    /// `reading`, `repair`, `skipped` or `note`.
    pub fn word(self) -> &'static str {
        match self {
            RowKind::Reading => "reading",
            RowKind::Repair => "repair",
            RowKind::Skipped => "skipped",
            RowKind::Note => "note",
        }
    }
}

/// How a job stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// A repair cured, by its check.
    pub proven: bool,
    /// In one line.
    pub title: String,
    /// Of a proven repair, the faults it cures, likeliest first, shares of one. Else the likeliest suspects.
    pub faults: Vec<Fault>,
    /// The repair that cured.
    pub repair: Option<String>,
    /// What was to be had at hand for it.
    pub parts: Vec<String>,
    /// How it was proven, a line each.
    pub proof: Vec<String>,
    /// What is to be put back before the machine is handed over.
    pub put_back: Vec<String>,
}

/// A fault and how likely it was the one.
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    /// The suspect's id.
    pub id: String,
    /// The part.
    pub part: String,
    /// What is wrong with it.
    pub fault: String,
    /// 0 to 1.
    pub probability: f64,
}

/// One current path.
#[derive(Debug, Clone, PartialEq)]
pub struct Path {
    /// The load that names it.
    pub name: String,
    /// Its parts, supply first.
    pub parts: Vec<PathPart>,
}

/// One part on a path.
#[derive(Debug, Clone, PartialEq)]
pub struct PathPart {
    /// Its name, short.
    pub name: String,
    /// It is a wire, pin or ground.
    pub thin: bool,
    /// The proven fault was here.
    pub bad: bool,
}
