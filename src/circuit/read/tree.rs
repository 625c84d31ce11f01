//! One located tree, all its files put together, as a circuit.
//!
//! The order follows the arrows between the sections: places and controls first, then parts, which
//! name them, then connectors and wires, which join parts, then what works. A thing with a problem
//! of its own is remembered as broken, so that naming it elsewhere is no further problem.

use super::draft::{Draft, Origins};
use super::{connectors, kinds, parts, pieces, settings, wires, works};
use crate::circuit::document::Located;
use crate::circuit::fields::Fields;
use crate::circuit::names::slug;
use crate::circuit::{Circuit, Kind, examine, refuse};
use crate::problem::{Problem, Severity};

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

/// A wire as it goes by on screens and in ids.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WireName {
    /// Its id.
    pub id: String,
    /// Its name.
    pub name: String,
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

/// The circuit of a tree; nothing where it is none.
pub(super) fn circuit(
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
