//! Switches of every sort, and the controls that move them.

use super::{BODY, Blueprint, Entry, GROUND, Given, number, words};
use crate::circuit::document::{Located, Node};
use crate::circuit::fields::{self, Word, did_you_mean, range};
use crate::circuit::names::slug;
use crate::circuit::{ClosedWhen, ControlId, Element, Kind};
use crate::problem::{Problem, Span};
use crate::quantity::Unit;

/// Anything a control opens and closes.
pub const SWITCH: Entry = Entry {
    word: "switch",
    about: "terminals `in` and `out`, or those it is given",
    keys: &[
        words("control", "what operates it; has to be given"),
        words("closed", "position or positions in which it is closed"),
        words("terminals", "names of its terminals; `[in, out]`"),
        words("joins", "for more than two terminals: which are joined in which position"),
        number("ohms", range(Unit::Ohms, 0.0, 100.0), "across clean contacts; 20 mohm"),
        GROUND,
    ],
    build: switch,
};

/// Closed or opened by the pressure of oil, air or brake fluid.
pub const PRESSURE_SWITCH: Entry = Entry {
    word: "pressure switch",
    about: "a switch that oil, air or brake pressure moves; terminals as a switch",
    keys: SWITCH.keys,
    build: switch,
};

/// Closed or opened by heat.
pub const THERMO_SWITCH: Entry = Entry {
    word: "thermo switch",
    about: "a switch that heat moves; terminals as a switch",
    keys: SWITCH.keys,
    build: switch,
};

/// Closed or opened by a magnet: side stand, float, door.
pub const REED_SWITCH: Entry = Entry {
    word: "reed switch",
    about: "a switch that a magnet moves; terminals as a switch",
    keys: SWITCH.keys,
    build: switch,
};

/// Keeps an engine from cranking in gear.
pub const INHIBITOR_SWITCH: Entry = Entry {
    word: "inhibitor switch",
    about: "a switch on gear lever or selector; terminals as a switch",
    keys: SWITCH.keys,
    build: switch,
};

/// Closed in neutral.
pub const NEUTRAL_SWITCH: Entry = Entry {
    word: "neutral switch",
    about: "a switch on the gearbox, made in neutral; terminals as a switch",
    keys: SWITCH.keys,
    build: switch,
};

/// Moved by the clutch lever or pedal.
pub const CLUTCH_SWITCH: Entry = Entry {
    word: "clutch switch",
    about: "a switch on clutch lever or pedal; terminals as a switch",
    keys: SWITCH.keys,
    build: switch,
};

fn switch(given: &mut Given<'_, '_>) -> Option<Blueprint> {
    let word = given.entry.word;
    // One terminal and a thread: how oil pressure switches are made.
    let body = given.body_ground(word == PRESSURE_SWITCH.word);
    // Clean contacts of a small switch, and of a reed: from memory.
    let ohms = given.number("ohms", if word == REED_SWITCH.word { 0.1 } else { 0.020 });
    let control = control(given)?;
    let (names, table) = match given.fields.get("joins") {
        Some(joins) => {
            if let Some(closed) = given.fields.get("closed") {
                given.problems.push(
                    Problem::error(
                        "closed-and-joins",
                        &closed.key_span,
                        "`closed` and `joins` say the same thing twice",
                    )
                    .note(&joins.key_span, "`joins` is here")
                    .help("keep `closed` for a switch with two terminals, `joins` for more"),
                );
            }
            let names = terminals(given, &["in", "out"], body);
            let table = table(given, &joins.value, control, &names);
            (names, table)
        }
        None => (terminals(given, &["in", "out"], body), pair(given, control)?),
    };
    let mut blueprint =
        Blueprint::new(Kind::Switch { control }, names.iter().map(|name| name.text.as_str()));
    for (first, second, positions) in table {
        let closed_when = ClosedWhen::Control { control, positions };
        blueprint =
            blueprint.link("contact", first, second, Element::Contact { ohms, closed_when });
    }
    let last = names.len().checked_sub(1)?;
    Some(blueprint.grounded_by_body(last, body).inside())
}

/// The control named by the key `control`, which has to be there.
pub(super) fn control(given: &mut Given<'_, '_>) -> Option<ControlId> {
    let help = "add `control: NAME`: what a person does to operate it, from `controls`";
    given.fields.required("control", help, given.problems)?;
    let said = given.fields.word("control", given.problems)?;
    control_named(given, &said)
}

/// The control of this name, noted down as used; one that is not there becomes a problem.
pub(super) fn control_named(given: &mut Given<'_, '_>, said: &Word) -> Option<ControlId> {
    let wanted = slug(&said.text);
    if let Some(index) = given.controls.iter().position(|control| control.id == wanted) {
        let id = ControlId(index as u32);
        given.used_controls.push(id);
        return Some(id);
    }
    if !given.broken_controls.contains(&wanted) {
        let known = given.controls.iter().map(|control| control.name.as_str());
        given.problems.push(
            Problem::error(
                "unknown-control",
                &said.span,
                format!("there is no control `{}`", said.text),
            )
            .help(did_you_mean(&said.text, known)),
        );
    }
    None
}

/// The names of a switch's terminals; with `body` a last one is added for its body.
fn terminals(given: &mut Given<'_, '_>, usual: &[&str], body: bool) -> Vec<Word> {
    let mut names = given.fields.words("terminals", given.problems);
    let span =
        given.fields.get("terminals").map_or(&given.fields.span, |entry| &entry.key_span).clone();
    if names.is_empty() {
        let own = usual.len() - usize::from(body);
        names = usual[..own]
            .iter()
            .map(|name| Word { text: (*name).to_owned(), span: span.clone() })
            .collect();
    }
    if body {
        names.push(Word { text: BODY.to_owned(), span: span.clone() });
    }
    for (index, name) in names.iter().enumerate() {
        if let Some(first) = names[..index].iter().find(|n| slug(&n.text) == slug(&name.text)) {
            given.problems.push(
                Problem::error(
                    "given-twice",
                    &name.span,
                    format!("terminal `{}` is given twice", name.text),
                )
                .note(&first.span, "the first is here")
                .help("give each terminal a name of its own"),
            );
        }
    }
    let with_table = given.fields.get("joins").is_some();
    if names.len() < 2 || !with_table && names.len() > 2 {
        let help = if body {
            "with `ground: body` name the one terminal that is wired"
        } else if names.len() < 2 {
            "a switch has two terminals, or with `ground: body` one"
        } else {
            "for more than two terminals say with `joins` which are joined in which position, \
             as in `joins: { on: [[B, IG]] }`"
        };
        given.problems.push(
            Problem::error(
                "terminals",
                &span,
                format!("{} has {} terminals", given.fields.what, names.len()),
            )
            .help(help),
        );
    }
    names
}

/// Contacts as first terminal, second terminal, positions.
type Contacts = Vec<(usize, usize, Vec<usize>)>;

/// The one contact of a switch with two terminals.
fn pair(given: &mut Given<'_, '_>, control: ControlId) -> Option<Contacts> {
    let names = given.controls[control.index()].positions.join("`, `");
    let help = format!("add `closed:` with the position in which it is closed, of `{names}`");
    given.fields.required("closed", &help, given.problems)?;
    let said = given.fields.words("closed", given.problems);
    let mut positions: Vec<usize> =
        said.iter().filter_map(|word| position(given, control, word)).collect();
    positions.sort_unstable();
    positions.dedup();
    Some(vec![(0, 1, positions)])
}

/// The position of this name; one that is not there becomes a problem.
pub(super) fn position(
    given: &mut Given<'_, '_>,
    control: ControlId,
    said: &Word,
) -> Option<usize> {
    fields::position(&given.controls[control.index()], said, given.problems)
}

/// The contacts of `joins: { on: [[B, IG]], start: [[B, IG], [B, ST]] }`.
fn table(
    given: &mut Given<'_, '_>,
    joins: &Located,
    control: ControlId,
    names: &[Word],
) -> Contacts {
    let mut contacts: Contacts = Vec::new();
    for entry in fields::named(joins, "`joins`", "{ on: [[B, IG]] }", given.problems) {
        let said = Word::of_key(entry);
        let Some(position) = position(given, control, &said) else { continue };
        for group in groups(given, &entry.value, &entry.key_span) {
            let joined: Vec<usize> =
                group.iter().filter_map(|word| terminal(given, names, word)).collect();
            for pair in joined.windows(2) {
                // Each group hangs on its first terminal, so that B-IG of `on` and of `start` is one contact.
                let (first, second) = (joined[0].min(pair[1]), joined[0].max(pair[1]));
                if first == second {
                    continue;
                }
                match contacts.iter_mut().find(|(a, b, _)| (*a, *b) == (first, second)) {
                    Some((_, _, positions)) if positions.contains(&position) => {}
                    Some((_, _, positions)) => positions.push(position),
                    None => contacts.push((first, second, vec![position])),
                }
            }
        }
    }
    contacts
}

/// The groups of one position: a list of lists, or a single list of names.
fn groups(given: &mut Given<'_, '_>, value: &Located, key_span: &Span) -> Vec<Vec<Word>> {
    let lists: Vec<&Located> = match &value.node {
        Node::Nothing => return Vec::new(),
        Node::List(items) if items.iter().all(|item| matches!(item.node, Node::List(_))) => {
            items.iter().collect()
        }
        _ => vec![value],
    };
    let mut groups = Vec::new();
    for list in lists {
        let group = fields::words(list, key_span, "joins", given.problems);
        if group.len() == 1 {
            given.problems.push(
                Problem::error(
                    "joins",
                    &group[0].span,
                    format!("`{}` is joined to nothing", group[0].text),
                )
                .help("write the terminals that are joined as a list: `[[B, IG], [B, ST]]`"),
            );
        }
        groups.push(group);
    }
    groups
}

fn terminal(given: &mut Given<'_, '_>, names: &[Word], said: &Word) -> Option<usize> {
    let found = names.iter().position(|name| slug(&name.text) == slug(&said.text));
    if found.is_none() {
        given.problems.push(
            Problem::error(
                "unknown-terminal",
                &said.span,
                format!("{} has no terminal `{}`", given.fields.what, said.text),
            )
            .help(did_you_mean(&said.text, names.iter().map(|name| name.text.as_str()))),
        );
    }
    found
}
