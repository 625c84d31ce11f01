//! From a located tree to a [`Circuit`], noting down every problem on the way.
//!
//! The order follows the arrows between the sections: places and controls first, then parts, which
//! name them, then connectors and wires, which join parts, then what works. A thing with a problem
//! of its own is remembered as broken, so that naming it elsewhere is no further problem.

mod connectors;
pub mod draft;
mod ends;
mod parts;
pub mod settings;
mod wires;
pub mod works;

use super::document::{self, Located};
use super::fields::{Fields, MOST_PROBLEMS, range};
use super::names::slug;
use super::{Circuit, examine, refuse};
use crate::problem::{Problem, Severity};
use crate::quantity::Unit;
use draft::{Draft, Origins};

/// Top-level keys of a circuit file.
pub const KEYS: &[&str] = &[
    "format",
    "name",
    "machine",
    "system",
    "notes",
    "controls",
    "places",
    "parts",
    "connectors",
    "wires",
    "works",
];

/// Reads a circuit file's text. `name` is its path or the name of a built-in circuit, for the
/// circuit's id.
///
/// The circuit is there only when no problem is an error. Returns on any text: size, depth and
/// aliases are bounded.
pub fn read_text(name: &str, text: &str) -> (Option<Circuit>, Vec<Problem>) {
    let (found, problems) = read_located(name, text);
    (found.map(|found| found.0), problems)
}

/// The same with the places in the file of everything in the circuit.
pub fn read_located(name: &str, text: &str) -> (Option<(Circuit, Origins)>, Vec<Problem>) {
    let tree = match document::read(text) {
        Ok(tree) => tree,
        Err(problems) => return (None, problems),
    };
    let mut problems = Vec::new();
    let circuit = circuit(name, text, &tree, &mut problems);
    in_order(&mut problems);
    let sound = problems.iter().all(|problem| problem.severity == Severity::Warning);
    (circuit.filter(|_| sound), problems)
}

/// The problems as they stand in the file, no more than a person can be told; what stands for the others is as
/// bad as the worst of them all.
pub fn in_order(problems: &mut Vec<Problem>) {
    problems.sort_by_key(|problem| (problem.span.bytes.start, problem.severity));
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
    text: &str,
    tree: &Located,
    problems: &mut Vec<Problem>,
) -> Option<(Circuit, Origins)> {
    let top = Fields::open(tree, "the circuit file".to_owned(), &tree.span, KEYS, problems)?;
    if !settings::format_is_known(&top, problems) {
        return None;
    }
    let mut draft = Draft::new(id_of(name), text);
    settings::header(&top, &mut draft, problems);
    settings::places(&top, &mut draft, problems);
    settings::controls(&top, &mut draft, problems);
    let before = errors(problems);
    parts::parts(&top, &mut draft, problems);
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
const MINUTES: super::fields::Range = range(Unit::Minutes, 0.0, 2880.0);
