//! What a make of part has of its own: names stamped on its terminals, and which faults are usual with it.

use crate::circuit::catalogue::faults as known_faults;
use crate::circuit::catalogue::{self, Blueprint};
use crate::circuit::document::Entry;
use crate::circuit::fields::{self, Fields, Range, did_you_mean, range};
use crate::circuit::names::slug;
use crate::problem::{Problem, sanitise};
use crate::quantity::Unit;

/// How often something fails beside others of its kind.
pub const TROUBLE: Range = range(Unit::Plain, 0.01, 100.0);

/// Gives terminals the names that are stamped on the part: `stamped: { coil in: S }`.
pub fn stamp(
    mut plan: Blueprint,
    kind: &catalogue::Entry,
    fields: &Fields<'_>,
    problems: &mut Vec<Problem>,
) -> Blueprint {
    let Some(section) = fields.get("stamped") else { return plan };
    let usual: Vec<String> = plan.terminals.iter().map(|stub| stub.name.clone()).collect();
    for entry in fields::named(&section.value, "`stamped`", "{ coil in: S }", problems) {
        let key = sanitise(entry.key.trim());
        let Some(at) = usual.iter().position(|name| slug(name) == slug(&key)) else {
            let message = format!("a {} has no terminal `{key}`", kind.word);
            problems.push(
                Problem::error("unknown-terminal", &entry.key_span, message)
                    .help(did_you_mean(&key, usual.iter().map(String::as_str))),
            );
            continue;
        };
        if let Some(said) = fields::word(&entry.value, &entry.key_span, &key, problems) {
            if slug(&said.text).is_empty() || said.text.contains('.') {
                problems.push(
                    Problem::error(
                        "name",
                        &said.span,
                        format!("`{}` is no name for a terminal", said.text),
                    )
                    .help("a name needs a letter or digit, and no dot"),
                );
            }
            plan.terminals[at].name = said.text;
        }
    }
    for (at, stub) in plan.terminals.iter().enumerate() {
        if plan.terminals[..at].iter().any(|other| slug(&other.name) == slug(&stub.name)) {
            problems.push(
                Problem::error(
                    "given-twice",
                    &section.key_span,
                    format!("two terminals are stamped `{}`", stub.name),
                )
                .help("give each terminal a name of its own"),
            );
        }
    }
    plan
}

/// How often each fault is met beside what is usual of the kind: `faults: { contact-welded: 4 }`.
pub fn faults(
    fields: &Fields<'_>,
    kind: &catalogue::Entry,
    problems: &mut Vec<Problem>,
) -> Vec<(String, f64)> {
    let Some(section) = fields.get("faults") else { return Vec::new() };
    let known = known_faults::of(kind.word);
    let entries = fields::named(&section.value, "`faults`", "{ open: 3 }", problems);
    let mut weight = |entry: &&Entry| {
        let key = sanitise(entry.key.trim());
        if !known.iter().any(|fault| known_faults::names(&key, fault)) {
            let message = format!("a {} has no fault `{key}`", kind.word);
            problems.push(
                Problem::error("unknown-fault", &entry.key_span, message)
                    .help(did_you_mean(&key, known.iter().copied())),
            );
            return None;
        }
        let said = fields::word(&entry.value, &entry.key_span, &key, problems)?;
        fields::number(&said, &key, TROUBLE, problems).map(|weight| (key, weight))
    };
    entries.iter().filter_map(&mut weight).collect()
}
