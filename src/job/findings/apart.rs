//! Suspects that no available test tells from each other, and what would.
//!
//! Two suspects are told apart by a test when what it shows under one is seldom what it shows under the
//! other. Only suspects that are mended differently count: to know more than what to mend is no use.

use std::sync::Arc;

use crate::circuit::{Circuit, Kind, TerminalId};
use crate::job::study::Study;
use crate::job::study::error::StudyError;
use crate::suspect::{Nature, SuspectId};
use crate::tester::expectations::Column;
use crate::tester::{Instrument, Target};

/// Shares of outcomes that differ by less than this in sum are the same to a person.
const ALIKE: f64 = 0.25;
/// Suspects that nothing at hand tells apart.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Group {
    /// The suspects, likeliest first, as `part: fault`.
    pub suspects: Vec<String>,
    /// What would tell some of them apart: a tester not at hand, or a point that no probe reaches.
    pub help: Option<String>,
}

/// Why groups cannot be found.
#[derive(Debug, thiserror::Error)]
pub enum ApartError {
    /// A setup has no operating point.
    #[error("{0}")]
    Unsolved(String),
    /// With more testers the circuit cannot be studied.
    #[error(transparent)]
    Study(#[from] StudyError),
}

/// The groups of a study, the likeliest first.
///
/// # Errors
/// Where a setup has no operating point.
pub fn groups(study: &Study) -> Result<Vec<Group>, ApartError> {
    let columns = study.columns().map_err(|error| ApartError::Unsolved(error.to_string()))?;
    let found = alike(study, &columns.iter().map(|column| &**column).collect::<Vec<_>>());
    if found.is_empty() {
        return Ok(Vec::new());
    }
    let richer = richer(study)?;
    let groups = found.iter().map(|group| Group {
        suspects: group.iter().map(|id| words(study, *id)).collect(),
        help: richer.iter().find_map(|(words, other)| tells(study, other, group, words)),
    });
    Ok(groups.collect())
}

fn words(study: &Study, id: SuspectId) -> String {
    let suspect = &study.lineup().suspects[id.index()];
    let part = suspect.part.map_or("", |part| study.circuit().part(part).name.as_str());
    format!("{part}: {}", suspect.fault)
}

/// Groups of suspects that are alike in all columns, and differ in what mends them.
fn alike(study: &Study, columns: &[&Column]) -> Vec<Vec<SuspectId>> {
    let lineup = study.lineup();
    let mut open: Vec<SuspectId> = (0..lineup.suspects.len() as u32)
        .map(SuspectId)
        .filter(|id| {
            lineup.suspects[id.index()].nature == Nature::Fault && study.prior[id.index()] > 0.0
        })
        .collect();
    open.sort_by(|a, b| study.prior[b.index()].total_cmp(&study.prior[a.index()]));
    let mut groups = Vec::new();
    while let Some(first) = open.first().copied() {
        let same =
            |id: &SuspectId| columns.iter().all(|column| distance(column, first, *id) < ALIKE);
        let (group, rest): (Vec<SuspectId>, Vec<SuspectId>) = open.into_iter().partition(same);
        let fix = |id: &SuspectId| lineup.suspects[id.index()].fix;
        if group.iter().any(|id| fix(id) != fix(&first)) {
            groups.push(group);
        }
        open = rest;
    }
    groups
}

/// Half the sum of the differences of two suspects' shares of outcomes: 0 alike, 1 told apart for sure.
fn distance(column: &Column, one: SuspectId, other: SuspectId) -> f64 {
    let of = |row: &Vec<f64>| (row[one.index()] - row[other.index()]).abs();
    column.likelihood.iter().map(of).sum::<f64>() / 2.0
}

/// Studies with more at hand: each tester more, then every sealed terminal open.
fn richer(study: &Study) -> Result<Vec<(String, Study)>, StudyError> {
    // A tester is bought for less than a harness is opened: those come first.
    let circuit = Arc::new(study.circuit().clone());
    let mut studies = Vec::new();
    for more in Instrument::KIT.into_iter().filter(|more| !study.kit().contains(more)) {
        let kit: Vec<Instrument> = study.kit().iter().copied().chain([more]).collect();
        studies.push((more.words().to_owned(), Study::new(&circuit, &kit, study.complaint)?));
    }
    if let Some(open) = opened(&circuit) {
        let words = String::new();
        studies.push((words, Study::new(&Arc::new(open), study.kit(), study.complaint)?));
    }
    Ok(studies)
}

/// The circuit with every terminal open to a probe; `None` when all are.
fn opened(circuit: &Circuit) -> Option<Circuit> {
    let sealed: Vec<TerminalId> =
        circuit.terminal_ids().filter(|at| is_sealed(circuit, *at)).collect();
    let mut open = circuit.clone();
    for at in &sealed {
        open.graph[*at].probe = true;
    }
    (!sealed.is_empty()).then_some(open)
}

/// No probe touches it, though a wire is there; terminals within a part stay within.
fn is_sealed(circuit: &Circuit, at: TerminalId) -> bool {
    let wired = || {
        let mut links = circuit.links_at(at).into_iter();
        links.any(|(link, _)| {
            matches!(circuit.part(circuit.link(link).part).kind, Kind::Wire { .. })
        })
    };
    !circuit.terminal(at).probe && wired()
}

/// What of a richer study tells the first of a group from another, in words.
fn tells(study: &Study, other: &Study, group: &[SuspectId], words: &str) -> Option<String> {
    let ids = |id: &SuspectId| other.lineup().find(&study.lineup().suspects[id.index()].id);
    let group: Vec<SuspectId> = group.iter().filter_map(ids).collect();
    let (first, rest) = group.split_first()?;
    let columns = other.columns().ok()?;
    let best = columns
        .iter()
        .filter(|column| rest.iter().any(|id| distance(column, *first, *id) >= 2.0 * ALIKE));
    let column = best.min_by(|a, b| a.test.minutes.total_cmp(&b.test.minutes))?;
    let title = crate::job::words::title_in_setup(other.circuit(), &column.test);
    if !words.is_empty() {
        return Some(format!("{words} would: {title}"));
    }
    let ends = match column.test.target {
        Target::Point(at) => vec![at],
        Target::Pair(a, b) => vec![a, b],
        _ => Vec::new(),
    };
    let point = ends.into_iter().find(|at| is_sealed(study.circuit(), *at))?;
    Some(format!("a probe point at `{}` would: {title}", study.circuit().terminal(point).name))
}
