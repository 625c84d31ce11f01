//! The section `parts`.

use super::draft::{Draft, Named, shown};
use super::kinds::{Kinds, Meant, OwnKind};
use super::make::{TROUBLE, faults, stamp};
use crate::circuit::catalogue::{self, COMMON_KEYS, Given};
use crate::circuit::document::{Entry, Node};
use crate::circuit::fields::MINUTES;
use crate::circuit::fields::{self, Fields, MOST_PROBLEMS, did_you_mean};
use crate::circuit::names::nearest;
use crate::circuit::{Kind, Part, PlaceId, refuse};
use crate::problem::{Problem, sanitise};

/// All parts, in the order of the file.
pub fn parts(
    top: &Fields<'_>,
    kinds: &mut Kinds<'_>,
    draft: &mut Draft,
    problems: &mut Vec<Problem>,
) {
    let help = "add `parts:` with the battery, switches, fuses and what they feed";
    let Some(section) = top.required("parts", help, problems) else { return };
    for entry in
        fields::named(&section.value, "`parts`", "horn: { kind: horn, at: handlebar }", problems)
    {
        if problems.len() > MOST_PROBLEMS {
            return;
        }
        let Some(id) = draft.claim(&entry.key, &entry.key_span, problems) else { continue };
        part(entry, &id, (kinds, draft), problems);
    }
}

/// Adds one part, or leaves its name as that of a broken one.
fn part(
    entry: &Entry,
    id: &str,
    (kinds, draft): (&mut Kinds<'_>, &mut Draft),
    problems: &mut Vec<Problem>,
) -> Option<()> {
    let (kind, own) = kind(entry, kinds, problems)?;
    let filled = own.map(|own| own.filled(&entry.value));
    let value = filled.as_ref().unwrap_or(&entry.value);
    let keys: Vec<&str> =
        COMMON_KEYS.iter().copied().chain(kind.keys.iter().map(|key| key.name)).collect();
    let what = format!("{} `{}`", kind.word, shown(entry));
    let fields = Fields::open(value, what, &entry.key_span, &keys, problems)?;
    let before = problems.len();
    let place = at(&fields, draft, problems);
    let mut given = Given {
        fields: &fields,
        entry: kind,
        system_volts: draft.circuit.system_volts,
        controls: &draft.circuit.controls,
        broken_controls: &draft.broken_controls,
        used_controls: &mut draft.origins.used_controls,
        problems,
    };
    let plan = (kind.build)(&mut given).map(|plan| stamp(plan, kind, &fields, problems));
    let mut part = common(&fields, id.to_owned(), Kind::Splice, problems);
    let sealed = fields.flag("sealed", problems).unwrap_or(false);
    let reach = fields.number("reach", MINUTES, problems);
    part.faults = faults(&fields, kind, problems);
    let plan = plan.filter(|_| problems.len() == before)?;
    part.name = shown(entry);
    part.kind = plan.kind.clone();
    part.place = place?;
    let reach = reach.unwrap_or(if plan.terminals_inside { part.open_up_minutes } else { 0.0 });
    let part_id = draft.add(part, &plan, reach, sealed, &entry.key_span);
    draft.settle(id, Named::Part(part_id));
    Some(())
}

/// The catalogue's entry for the part's kind, and the file's own kind if it is one.
fn kind<'k, 't>(
    entry: &Entry,
    kinds: &'k mut Kinds<'t>,
    problems: &mut Vec<Problem>,
) -> Option<(&'static catalogue::Entry, Option<&'k OwnKind<'t>>)> {
    let what = format!("part `{}`", shown(entry));
    let known = catalogue::ENTRIES.iter().map(|entry| entry.word);
    let group = fields::group(&entry.value, &what, "{ kind: horn, at: handlebar }", problems)?;
    let Some(said) = group.iter().find(|entry| entry.key == "kind") else {
        if let Some(glued) = group.iter().find(|entry| entry.key.starts_with("kind:")) {
            let message = format!("`{}` needs a blank behind the colon", sanitise(&glued.key));
            let (_, word) = glued.key.split_once(':').unwrap_or_default();
            let help = format!("write `kind: {}`", sanitise(word));
            problems.push(Problem::error("missing-blank", &glued.key_span, message).help(help));
            return None;
        }
        problems.push(
            Problem::error("missing-key", &entry.key_span, format!("{what} has no `kind`"))
                .help(format!("add `kind:`; {}", did_you_mean("", known))),
        );
        return None;
    };
    let word = fields::word(&said.value, &said.key_span, "kind", problems)?;
    if let Some(problem) = refuse::declined(&word.text, &word.span) {
        problems.push(problem);
        return None;
    }
    if !kinds.has(&word.text) {
        let own = nearest(&word.text, kinds.names());
        // `key switch`, `start relay`: what is before the kind belongs to the name.
        let last = word.text.rsplit(char::is_whitespace).next().unwrap_or_default();
        if let (None, Some(meant)) = (own, catalogue::entry(last)) {
            let message = format!("there is no kind of part `{}`", word.text);
            let help =
                format!("did you mean `{}`? The rest belongs to the part's name", meant.word);
            problems.push(Problem::error("unknown-kind", &word.span, message).help(help));
            return None;
        }
        problems.push(
            Problem::error(
                "unknown-kind",
                &word.span,
                format!("there is no kind of part `{}`", word.text),
            )
            .help(did_you_mean(&word.text, kinds.names().chain(known))),
        );
    }
    match kinds.find(&word.text)? {
        Meant::Usual(usual) => Some((usual, None)),
        Meant::Own(usual, own) => Some((usual, Some(own))),
        Meant::Broken => None,
    }
}

/// The place where something is reached; it has to be given.
pub fn at(fields: &Fields<'_>, draft: &mut Draft, problems: &mut Vec<Problem>) -> Option<PlaceId> {
    let help = match draft.circuit.places.first() {
        Some(place) => format!("add `at:` with one of the places, such as `at: {}`", place.name),
        None => {
            "add `at:` with the place where it is reached, and the place under `places`".to_owned()
        }
    };
    fields.required("at", &help, problems)?;
    let said = fields.word("at", problems)?;
    draft.place(&said, problems)
}

/// A part with the keys that all have; name, place, terminals and links are still to come.
pub fn common(fields: &Fields<'_>, id: String, kind: Kind, problems: &mut Vec<Problem>) -> Part {
    Part {
        id,
        name: String::new(),
        kind,
        place: PlaceId(0),
        open_up_minutes: fields.number("open_up", MINUTES, problems).unwrap_or(0.0),
        trouble: fields.number("trouble", TROUBLE, problems).unwrap_or(1.0),
        fix_minutes: fields.number("fix", MINUTES, problems),
        fix_note: fields.word("fix_note", problems).map(|word| word.text),
        faults: Vec::new(),
        note: fields.get("note").and_then(|entry| match &entry.value.node {
            Node::Nothing => None,
            _ => fields.word("note", problems).map(|word| word.text),
        }),
        bundle: None,
        terminals: Vec::new(),
        links: Vec::new(),
    }
}
