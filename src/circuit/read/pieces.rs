//! What is said of files that are made for, or put together from, others.

use crate::circuit::fields::Fields;
use crate::problem::Problem;

/// The id of the problem of a file that is only a piece.
pub const PIECE: &str = "piece";

/// A file that others include, asked for itself: it has sections, but nothing of a whole circuit.
pub fn a_piece(top: &Fields<'_>) -> Option<Problem> {
    let none = |keys: &[&str]| keys.iter().all(|key| top.get(key).is_none());
    if !none(&["name", "machine", "system", "works"]) || !top.nothing_unknown() {
        return None;
    }
    let first = ["kinds", "controls", "places", "parts", "connectors", "wires"];
    let section = first.iter().find_map(|key| top.get(key))?;
    let message = "this is no whole circuit: it has neither `name` nor `system` nor `works`";
    Some(Problem::error(PIECE, &section.key_span, message).help(
        "a piece for other files is looked at with a circuit that has it under `include`; \
         a circuit begins with `name: ...` and `system: 12 V`",
    ))
}

/// Of a name that is given in two files, it is said which way out there is between files.
pub fn tell_of_files(problems: &mut [Problem]) {
    for problem in problems.iter_mut().filter(|problem| problem.id == "given-twice") {
        let other = problem.notes.iter().any(|(span, _)| span.file != problem.span.file);
        if other {
            problem.help = Some(
                "two of the files have it: keep one, or give one another name; \
                 what differs from a `base` goes under `change`"
                    .to_owned(),
            );
        }
    }
}
