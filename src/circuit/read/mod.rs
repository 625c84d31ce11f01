//! From a located tree to a [`Circuit`], noting down every problem on the way.
//!
//! The order follows the arrows between the sections: places and controls first, then parts, which
//! name them, then connectors and wires, which join parts, then what works. A thing with a problem
//! of its own is remembered as broken, so that naming it elsewhere is no further problem. What a file
//! includes or differs from has been put into the tree by `reuse` before.

use std::collections::HashSet;

mod connectors;
pub mod draft;
mod ends;
pub mod kinds;
mod make;
mod parts;
pub mod pieces;
pub mod settings;
mod wires;
pub mod works;

use super::document::Located;
use super::fields::{Fields, MOST_PROBLEMS, range};
use super::names::slug;
use super::reuse::shelf::{NoShelf, Shelf};
use super::reuse::{self, Gathered, Text};
use super::unread::MOST_BYTES;
use super::{Circuit, Kind, examine, refuse};
use crate::problem::{Problem, Severity};
use crate::quantity::Unit;
use draft::{Draft, Origins};

/// Top-level keys of a circuit file.
pub const KEYS: &[&str] = &[
    "format",
    "include",
    "base",
    "change",
    "name",
    "machine",
    "system",
    "notes",
    "kinds",
    "controls",
    "places",
    "parts",
    "connectors",
    "wires",
    "works",
];

/// A circuit file that was read, with the files it names.
#[derive(Debug)]
pub struct Reading {
    /// The circuit, and the places of everything in it; there only when no problem is an error.
    pub found: Option<(Circuit, Origins)>,
    /// What is wrong, in the order of files and lines.
    pub problems: Vec<Problem>,
    /// The files, in the order of [`crate::problem::Span::file`]; the first is the one that was asked for.
    pub texts: Vec<Text>,
}

/// A wire as it goes by on screens and in ids.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WireName {
    /// Its id.
    pub id: String,
    /// Its name.
    pub name: String,
}

/// Reads a circuit file's text that names no other files but built-in circuits. `name` is its path or
/// the name of a built-in circuit, for the circuit's id.
///
/// The circuit is there only when no problem is an error. Returns on any text: size, depth and
/// aliases are bounded.
pub fn read_text(name: &str, text: &str) -> (Option<Circuit>, Vec<Problem>) {
    let (found, problems) = read_located(name, text);
    (found.map(|found| found.0), problems)
}

/// The same with the places in the file of everything in the circuit.
pub fn read_located(name: &str, text: &str) -> (Option<(Circuit, Origins)>, Vec<Problem>) {
    let reading = read_files(name, text, &NoShelf);
    (reading.found, reading.problems)
}

/// Reads a circuit file's text with the files it names, which come from `shelf`. Bounded as [`read_text`] is.
pub fn read_files(name: &str, text: &str, shelf: &dyn Shelf) -> Reading {
    let Gathered { tree, texts, shared, mut problems } = reuse::gather(name, text, shelf);
    let mut found = None;
    if let Some(tree) = tree {
        let source = if texts.len() > 1 { reuse::whole(&tree, &texts) } else { text.to_owned() };
        if source.len() > MOST_BYTES && texts.len() > 1 {
            problems.push(
                Problem::error(
                    "too-long",
                    &tree.span,
                    "all files together are longer than a circuit can need",
                )
                .help("circuit files are a few kilobytes of YAML text"),
            );
        }
        found = circuit(name, (&source, &shared), &tree, &mut problems);
    }
    pieces::tell_of_files(&mut problems);
    let mut met = HashSet::new();
    problems.retain(|one| met.insert((one.id, one.span.clone(), one.message.clone())));
    in_order(&mut problems);
    let sound = problems.iter().all(|problem| problem.severity == Severity::Warning);
    Reading { found: found.filter(|_| sound), problems, texts }
}

/// Ids and names of the wires of a tree, in the order of its list; its errors, if it has any.
pub fn names_in(name: &str, tree: &Located) -> Result<Vec<WireName>, Vec<Problem>> {
    let mut problems = Vec::new();
    let found = circuit(name, ("", &[]), tree, &mut problems);
    problems.retain(|problem| problem.severity == Severity::Error);
    let Some((circuit, _)) = found.filter(|_| problems.is_empty()) else { return Err(problems) };
    let wires = circuit.parts.into_iter().filter(|part| matches!(part.kind, Kind::Wire { .. }));
    Ok(wires.map(|wire| WireName { id: wire.id, name: wire.name }).collect())
}

/// The problems as they stand in the file, no more than a person can be told; what stands for the others is as
/// bad as the worst of them all.
pub fn in_order(problems: &mut Vec<Problem>) {
    problems.sort_by_key(Problem::order);
    if problems.len() <= MOST_PROBLEMS {
        return;
    }
    let worst = problems.iter().map(|problem| problem.severity).min();
    let left = problems.split_off(MOST_PROBLEMS);
    let message = format!("there are {} problems more than are told at once", left.len());
    problems.push(
        Problem {
            severity: worst.unwrap_or(Severity::Error),
            ..Problem::error("too-many", &left[0].span, message)
        }
        .help("mend the first ones and look again"),
    );
}

fn circuit(
    name: &str,
    (text, shared): (&str, &[bool]),
    tree: &Located,
    problems: &mut Vec<Problem>,
) -> Option<(Circuit, Origins)> {
    let top = Fields::open(tree, "the circuit file".to_owned(), &tree.span, KEYS, problems)?;
    if settings::is_newer(&top, problems) {
        return None;
    }
    if let Some(piece) = pieces::a_piece(&top) {
        problems.push(piece);
        return None;
    }
    let mut draft = Draft::new(id_of(name), text);
    draft.origins.shared = shared.to_vec();
    settings::header(&top, &mut draft, problems);
    settings::places(&top, &mut draft, problems);
    settings::controls(&top, &mut draft, problems);
    let before = errors(problems);
    let mut kinds = kinds::kinds(&top, problems);
    parts::parts(&top, &mut kinds, &mut draft, problems);
    connectors::connectors(&top, &mut draft, problems);
    wires::wires(&top, &mut draft, problems);
    // Parts at a place, or on a control, with problems of its own are missing: what hangs on them only follows.
    let joined_well = errors(problems) == before
        && draft.broken_places.is_empty()
        && draft.broken_controls.is_empty();
    works::works(&top, &mut draft, problems);
    refuse::refuse(&draft, problems);
    // What is left over or leads nowhere can only be judged when everything is in its place.
    if errors(problems) == 0 {
        examine::unused(&draft.circuit, &draft.origins, problems);
        kinds.unused(problems);
    }
    if joined_well
        && !refuse::is_declined(problems)
        && examine::has_battery(&draft.circuit, &top, problems)
    {
        examine::paths(&draft.circuit, &draft.origins, problems);
    }
    Some((draft.circuit, draft.origins))
}

fn errors(problems: &[Problem]) -> usize {
    problems.iter().filter(|problem| problem.severity == Severity::Error).count()
}

/// The circuit's id from its path or name: the stem, without blanks.
fn id_of(name: &str) -> String {
    let file = name.rsplit(['/', '\\']).next().unwrap_or(name);
    let stem = file.strip_suffix(".yaml").or_else(|| file.strip_suffix(".yml")).unwrap_or(file);
    match slug(stem) {
        id if id.is_empty() => "circuit".to_owned(),
        id => id,
    }
}

/// Minutes a person can need for something.
pub const MINUTES: super::fields::Range = range(Unit::Minutes, 0.0, 2880.0);
