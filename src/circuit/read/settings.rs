//! The sections that come before the parts: header, places, controls.

use std::collections::HashMap;

use super::draft::{Draft, good_name, shown};
use crate::circuit::document::{Entry, Node};
use crate::circuit::fields::MINUTES;
use crate::circuit::fields::{self, Fields, MOST_PROBLEMS, Word, position, range};
use crate::circuit::names::slug;
use crate::circuit::{Control, Place};
use crate::problem::{Problem, Span};
use crate::quantity::Unit;

/// Minutes to turn a key or press a button when the file does not say (common practice, no source).
const CONTROL_MINUTES: f64 = 0.1;

/// Keys of a control.
pub const CONTROL_KEYS: &[&str] = &["positions", "springs_back", "rest", "minutes", "by"];

/// The file is of a newer format: then nothing else is said of it, as every second line would look wrong.
pub fn is_newer(top: &Fields<'_>, problems: &mut Vec<Problem>) -> bool {
    let newer = !format_is_known(top, problems);
    if newer {
        problems.retain(|problem| problem.id == FORMAT || problem.span.file != top.span.file);
    }
    newer
}

/// The id of the problem of a format that is not known.
const FORMAT: &str = "format";

/// The file's format is one this program reads.
fn format_is_known(top: &Fields<'_>, problems: &mut Vec<Problem>) -> bool {
    let help = "add `format: 1` as the first line: it says which edition of the format this is";
    if top.required("format", help, problems).is_none() {
        return true;
    }
    let Some(format) = top.word("format", problems) else { return true };
    if format.text == "1" {
        return true;
    }
    let newer = format.text.parse::<u32>().is_ok_and(|number| number > 1);
    let help = if newer {
        "the file was written for a newer program: update this one, or ask for the file in format 1"
    } else {
        "write `format: 1`"
    };
    problems.push(
        Problem::error(
            FORMAT,
            &format.span,
            format!("format `{}` is not known here, only format 1", format.text),
        )
        .help(help),
    );
    !newer
}

/// Name, machine, system volts and notes.
pub fn header(top: &Fields<'_>, draft: &mut Draft, problems: &mut Vec<Problem>) {
    top.required(
        "name",
        "add `name:` with what the circuit is, such as `name: Start circuit`",
        problems,
    );
    for (key, into) in [("name", &mut draft.circuit.name), ("machine", &mut draft.circuit.machine)]
    {
        let said = top.word(key, problems);
        let at = said.as_ref().map_or(&top.span, |said| &said.span);
        draft.origins.header.push(at.clone());
        *into = said.map_or_else(String::new, |said| said.text);
    }
    top.required("system", "add `system: 12 V`", problems);
    // Above 60 V is refused elsewhere, with the reason.
    if let Some(volts) = top.number("system", range(Unit::Volts, 1.0, 100_000.0), problems) {
        draft.circuit.system_volts = volts;
        draft.origins.header.extend(top.get("system").map(|entry| entry.value.span.clone()));
    }
    draft.circuit.notes = top.words("notes", problems).into_iter().map(|word| word.text).collect();
}

/// The places with their minutes.
pub fn places(top: &Fields<'_>, draft: &mut Draft, problems: &mut Vec<Problem>) {
    let help = "add `places:` with the minutes to open each, such as `under seat: 1 min`";
    let Some(section) = top.required("places", help, problems) else { return };
    for entry in fields::named(&section.value, "`places`", "under seat: 1 min", problems) {
        if problems.len() > MOST_PROBLEMS {
            return;
        }
        let Some(id) = good_name(&entry.key, &entry.key_span, problems) else { continue };
        if let Some(index) = draft.circuit.places.iter().position(|place| place.id == id) {
            problems.push(same_name(entry, &draft.origins.places[index]));
            continue;
        }
        let minutes = fields::word(&entry.value, &entry.key_span, &shown(entry), problems)
            .and_then(|text| fields::number(&text, &shown(entry), MINUTES, problems));
        let Some(open_minutes) = minutes else {
            draft.broken_places.push(id);
            continue;
        };
        draft.circuit.places.push(Place { id, name: shown(entry), open_minutes });
        draft.origins.places.push(entry.key_span.clone());
    }
}

fn same_name(entry: &Entry, first: &Span) -> Problem {
    Problem::error(
        "given-twice",
        &entry.key_span,
        format!("the name `{}` is given twice", shown(entry)),
    )
    .note(first, "the first is here")
    .help("give one of them another name; capitals and blanks make no difference")
}

/// Positions of one control: far beyond any switch, few enough to be gone through for each word that names one.
const MOST_POSITIONS: usize = 100;

/// The controls with their positions.
pub fn controls(top: &Fields<'_>, draft: &mut Draft, problems: &mut Vec<Problem>) {
    let Some(section) = top.get("controls") else { return };
    for entry in fields::named(&section.value, "`controls`", "key: [off, on]", problems) {
        if problems.len() > MOST_PROBLEMS {
            return;
        }
        let Some(id) = good_name(&entry.key, &entry.key_span, problems) else { continue };
        if let Some(index) = draft.circuit.controls.iter().position(|control| control.id == id) {
            problems.push(same_name(entry, &draft.origins.controls[index]));
            continue;
        }
        match control(entry, id.clone(), problems) {
            Some(control) => {
                draft.circuit.controls.push(control);
                draft.origins.controls.push(entry.key_span.clone());
            }
            None => draft.broken_controls.push(id),
        }
    }
}

/// `{ positions: [...], springs_back: ..., rest: ..., minutes: ... }`, or just the list of positions.
fn control(entry: &Entry, id: String, problems: &mut Vec<Problem>) -> Option<Control> {
    let what = format!("control `{}`", shown(entry));
    let name = shown(entry);
    let bare = |positions| Control {
        id,
        name,
        positions,
        rest: 0,
        springs_back: false,
        minutes: CONTROL_MINUTES,
        by_machine: false,
    };
    if let Node::List(_) = entry.value.node {
        let said = fields::words(&entry.value, &entry.key_span, &what, problems);
        return positions(&said, &entry.key_span, &what, problems).map(bare);
    }
    let fields = Fields::open(&entry.value, what, &entry.key_span, CONTROL_KEYS, problems)?;
    fields.required("positions", "add `positions: [off, on]`", problems)?;
    let said = fields.words("positions", problems);
    let mut control = bare(positions(&said, &entry.key_span, &fields.what, problems)?);
    if let Some(minutes) = fields.number("minutes", MINUTES, problems) {
        control.minutes = minutes;
    }
    control.by_machine = fields.choice("by", &["hand", "machine"], problems) == Some("machine");
    if let Some(back) = fields.word("springs_back", problems) {
        control.springs_back = true;
        control.rest = position(&control, &back, problems).unwrap_or(0);
    }
    if let Some(rest) = fields.word("rest", problems)
        && let Some(index) = position(&control, &rest, problems)
    {
        if control.springs_back && control.rest != index {
            problems.push(
                Problem::error(
                    "rest",
                    &rest.span,
                    format!("it springs back to another position than `{}`", rest.text),
                )
                .help("leave `rest` out: a control that springs back rests where it springs to"),
            );
        }
        control.rest = index;
    }
    Some(control)
}

fn positions(
    said: &[Word],
    span: &Span,
    what: &str,
    problems: &mut Vec<Problem>,
) -> Option<Vec<String>> {
    if said.len() > MOST_POSITIONS {
        problems.push(
            Problem::error("positions", span, format!("{what} has {} positions", said.len()))
                .help(format!("leave out what tells nothing apart; {MOST_POSITIONS} can be given")),
        );
        return None;
    }
    let mut met: HashMap<String, &Word> = HashMap::new();
    for word in said {
        if let Some(first) = met.insert(slug(&word.text), word) {
            problems.push(
                Problem::error(
                    "given-twice",
                    &word.span,
                    format!("position `{}` is given twice", word.text),
                )
                .note(&first.span, "the first is here")
                .help("give each position a name of its own"),
            );
            return None;
        }
    }
    if said.len() < 2 {
        problems.push(
            Problem::error("positions", span, format!("{what} has fewer than two positions"))
                .help("write them as a list: `positions: [off, on]`"),
        );
        return None;
    }
    Some(said.iter().map(|word| word.text.clone()).collect())
}
