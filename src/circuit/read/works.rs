//! The section `works`: what the circuit does, and what is seen then.

use super::draft::{Draft, Named, good_name, shown};
use crate::circuit::document::{Entry, Node};
use crate::circuit::fields::{self, Fields, MOST_PROBLEMS, Word, did_you_mean, few, position};
use crate::circuit::names::{either, nearest, slug};
use crate::circuit::{ControlId, Kind, PartId, Sight, Work};
use crate::problem::Problem;

/// Keys of a work.
pub const WORK_KEYS: &[&str] = &["when", "see", "moves"];

/// All works, in the order of the file.
pub fn works(top: &Fields<'_>, draft: &mut Draft, problems: &mut Vec<Problem>) {
    let help = "add `works:` with what should happen, such as `cranks: { when: { key: on }, see: starter turns }`";
    let Some(section) = top.required("works", help, problems) else { return };
    let entries = fields::named(
        &section.value,
        "`works`",
        "cranks: { when: { key: on }, see: starter turns }",
        problems,
    );
    if entries.is_empty() && matches!(section.value.node, Node::Map(_)) {
        problems.push(
            Problem::error("no-works", &section.key_span, "nothing works in this circuit")
                .help(help),
        );
    }
    for entry in entries {
        if problems.len() > MOST_PROBLEMS {
            return;
        }
        let Some(id) = good_name(&entry.key, &entry.key_span, problems) else { continue };
        if let Some(index) = draft.circuit.works.iter().position(|work| work.id == id) {
            problems.push(
                Problem::error(
                    "given-twice",
                    &entry.key_span,
                    format!("the name `{}` is given twice", shown(entry)),
                )
                .note(&draft.origins.works[index], "the first is here")
                .help("give one of them another name"),
            );
            continue;
        }
        if let Some(work) = work(entry, id, draft, problems) {
            draft.circuit.works.push(work);
            draft.origins.works.push(entry.key_span.clone());
        }
    }
}

fn work(entry: &Entry, id: String, draft: &mut Draft, problems: &mut Vec<Problem>) -> Option<Work> {
    let what = format!("work `{}`", shown(entry));
    let fields = Fields::open(&entry.value, what, &entry.key_span, WORK_KEYS, problems)?;
    let when = fields.get("when").map_or_else(Vec::new, |entry| when(entry, draft, problems));
    fields.required(
        "see",
        "add `see:` with what is seen or heard, such as `see: starter turns`",
        problems,
    )?;
    let mut see: Vec<Sight> = Vec::new();
    for said in fields.words("see", problems) {
        if problems.len() > MOST_PROBLEMS {
            break;
        }
        see.extend(sight(&said, draft, problems));
    }
    let turns = |sight: &Sight| {
        let kind = &draft.circuit.part(sight.part).kind;
        sight.acts && matches!(kind, Kind::StarterMotor | Kind::Motor)
    };
    let moves = fields.flag("moves", problems).unwrap_or_else(|| see.iter().any(turns));
    Some(Work { id, name: shown(entry), when, see, moves })
}

/// `{ key: on, starter button: pressed }`.
fn when(section: &Entry, draft: &Draft, problems: &mut Vec<Problem>) -> Vec<(ControlId, usize)> {
    let mut settings: Vec<(ControlId, usize)> = Vec::new();
    for entry in fields::named(&section.value, "`when`", "{ key: on }", problems) {
        let name = shown(entry);
        let wanted = slug(&name);
        let Some(index) = draft.circuit.controls.iter().position(|c| c.id == wanted) else {
            if !draft.broken_controls.contains(&wanted) {
                let known = draft.circuit.controls.iter().map(|control| control.name.as_str());
                problems.push(
                    Problem::error(
                        "unknown-control",
                        &entry.key_span,
                        format!("there is no control `{name}`"),
                    )
                    .help(did_you_mean(&name, known)),
                );
            }
            continue;
        };
        let said = fields::word(&entry.value, &entry.key_span, &name, problems);
        if let Some(said) = said
            && let Some(position) = position(&draft.circuit.controls[index], &said, problems)
        {
            settings.push((ControlId(index as u32), position));
        }
    }
    settings
}

/// Words for a kind of part: that it acts, where that is ever wanted, and that it does not.
fn words_of(kind: &Kind) -> Option<(Option<&'static str>, &'static str)> {
    match kind {
        Kind::StarterMotor | Kind::Motor => Some((Some("turns"), "still")),
        Kind::Lamp | Kind::Led => Some((Some("lit"), "dark")),
        Kind::Horn => Some((Some("sounds"), "silent")),
        Kind::Flasher { .. } => Some((Some("ticks"), "silent")),
        Kind::Heater => Some((Some("warms"), "cold")),
        Kind::IgnitionCoil => Some((Some("sparks"), "dead")),
        Kind::Load => Some((Some("works"), "idle")),
        Kind::Gauge { .. } => Some((Some("high"), "low")),
        Kind::Solenoid | Kind::Relay => Some((Some("clicks"), "silent")),
        Kind::Battery => Some((None, "rests")),
        _ => None,
    }
}

/// `starter turns`, `neutral lamp dark`.
fn sight(said: &Word, draft: &Draft, problems: &mut Vec<Problem>) -> Option<Sight> {
    let help = "write a part and what it does: `starter turns`, `neutral lamp lit`, `horn sounds`, `relay clicks`; \
                or does not: `starter still`, `neutral lamp dark`, `horn silent`";
    let Some((name, verb)) = said.text.rsplit_once(char::is_whitespace) else {
        problems.push(
            Problem::error(
                "sight",
                &said.span,
                format!("`{}` does not say what is seen", said.text),
            )
            .help(help),
        );
        return None;
    };
    let part = part(name.trim(), said, draft, problems)?;
    let about = draft.circuit.part(part);
    let Some((acts, rests)) = words_of(&about.kind) else {
        problems.push(
            Problem::error(
                "sight",
                &said.span,
                format!("nothing can be seen or heard of `{}`", about.name),
            )
            .help("name a lamp, motor, horn, relay or solenoid"),
        );
        return None;
    };
    match verb.to_lowercase() {
        verb if acts == Some(verb.as_str()) => Some(Sight { part, acts: true }),
        verb if verb == rests => Some(Sight { part, acts: false }),
        verb => {
            problems.push(
                Problem::error(
                    "sight",
                    &said.span,
                    format!("`{verb}` is no word for what `{}` does", about.name),
                )
                .help(match acts {
                    Some(acts) => {
                        format!("write `{name} {acts}`, or `{name} {rests}` for when it must not")
                    }
                    None => format!("write `{name} {rests}`"),
                }),
            );
            None
        }
    }
}

fn part(name: &str, said: &Word, draft: &Draft, problems: &mut Vec<Problem>) -> Option<PartId> {
    match draft.names.get(&slug(name)) {
        Some((Named::Part(part), ..)) => Some(*part),
        Some((Named::Broken, ..)) => None,
        Some((Named::Connector(_) | Named::Wire, ..)) => {
            problems.push(
                Problem::error(
                    "sight",
                    &said.span,
                    format!("nothing can be seen or heard of `{name}`"),
                )
                .help("name a lamp, motor, horn, relay or solenoid"),
            );
            None
        }
        None => {
            let visible = draft.circuit.parts.iter().filter(|part| words_of(&part.kind).is_some());
            let names: Vec<&str> = visible.map(|part| part.name.as_str()).collect();
            let help = match nearest(name, names.iter().copied()) {
                Some(near) => format!("did you mean `{near}`?"),
                None if names.is_empty() => "add it under `parts`".to_owned(),
                None => format!("what can be watched here: {}", few(names, either)),
            };
            problems.push(
                Problem::error("unknown-part", &said.span, format!("there is no part `{name}`"))
                    .help(help),
            );
            None
        }
    }
}
