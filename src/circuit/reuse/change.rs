//! What differs on one's own machine, put into the tree of the circuit it differs from.

use std::collections::HashMap;

use crate::circuit::catalogue::COMMON_KEYS;
use crate::circuit::document::{Entry, Located, Node};
use crate::circuit::fields::{self, Fields, MOST_PROBLEMS, did_you_mean};
use crate::circuit::names::{nearest, slug};
use crate::circuit::read::tree::WireName;
use crate::problem::{Problem, Span, sanitise};

/// Sections of which something can differ, with the word for one thing in each.
const CHANGED: &[(&str, &str)] = &[
    ("kinds", "kind"),
    ("controls", "control"),
    ("places", "place"),
    ("parts", "part"),
    ("connectors", "connector"),
    (WIRES, "wire"),
    ("works", "work"),
];

/// The section whose things need no names: they go by those of the circuit.
const WIRES: &str = "wires";

/// The same without the words.
pub const CHANGE_KEYS: &[&str] = &{
    let mut keys = [""; CHANGED.len()];
    let mut at = 0;
    while at < keys.len() {
        keys[at] = CHANGED[at].0;
        at += 1;
    }
    keys
};

/// What stands for a thing that the machine has not.
const ABSENT: &str = "absent";

/// Something that is said to be absent.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Gone {
    /// Its section.
    pub section: &'static str,
    /// Its key there; of a wire its number in the list.
    pub key: String,
    /// Where it is said.
    pub span: Span,
}

/// Puts what `change` says into `base`, whose wires have these names; what is absent is still in it.
pub fn apply(
    change: &Entry,
    base: &mut Located,
    wires: &[WireName],
    problems: &mut Vec<Problem>,
) -> Vec<Gone> {
    let mut gone = Vec::new();
    let what = "`change`".to_owned();
    let opened = Fields::open(&change.value, what, &change.key_span, CHANGE_KEYS, problems);
    let Some(fields) = opened else { return gone };
    let known = Known::of(base, wires);
    for (section, word) in CHANGED {
        let Some(said) = fields.get(section) else { continue };
        let what = format!("`{section}` under `change`");
        for entry in fields::named(&said.value, &what, "NAME: { key: value }", problems) {
            if problems.len() > MOST_PROBLEMS {
                return gone;
            }
            let Some(at) = known.find(section, entry) else {
                problems.push(known.missing(section, word, entry));
                continue;
            };
            if is_absent(&entry.value) {
                let key = known.key(section, at);
                gone.push(Gone { section, key, span: entry.value.span.clone() });
            } else if let Some(target) = target(base, section, at) {
                one(section, entry, target, problems);
            }
        }
    }
    gone
}

fn is_absent(value: &Located) -> bool {
    matches!(&value.node, Node::Scalar(text) if text.trim().eq_ignore_ascii_case(ABSENT))
}

/// Names in the base, by section, each at its position.
struct Known<'w> {
    sections: HashMap<&'static str, Vec<String>>,
    wires: &'w [WireName],
    /// The position of each name, as a short one; of a wire those of its id and of its name on the screen.
    places: HashMap<(&'static str, String), usize>,
}

impl Known<'_> {
    fn of<'w>(base: &Located, wires: &'w [WireName]) -> Known<'w> {
        let names = |section: &str| match section_of(base, section).map(|entry| &entry.value.node) {
            Some(Node::Map(entries)) => entries.iter().map(|entry| entry.key.clone()).collect(),
            _ => Vec::new(),
        };
        let sections: HashMap<&'static str, Vec<String>> =
            CHANGED.iter().map(|(section, _)| (*section, names(section))).collect();
        let mut places = HashMap::new();
        for (section, names) in &sections {
            for (at, name) in names.iter().enumerate() {
                places.entry((*section, slug(&sanitise(name)))).or_insert(at);
            }
        }
        for (at, wire) in wires.iter().enumerate() {
            for name in [wire.id.clone(), slug(&wire.name)] {
                places.entry((WIRES, name)).or_insert(at);
            }
        }
        Known { sections, wires, places }
    }

    fn names(&self, section: &str) -> &[String] {
        self.sections.get(section).map_or(&[], Vec::as_slice)
    }

    /// Its position in the section.
    fn find(&self, section: &'static str, entry: &Entry) -> Option<usize> {
        let place = |name: String| self.places.get(&(section, name)).copied();
        let by_name = place(slug(&sanitise(&entry.key)));
        if section != WIRES {
            return by_name;
        }
        // Whichever comes first in the file.
        let by_id = place(entry.key.trim().to_owned());
        by_id.into_iter().chain(by_name).min()
    }

    fn key(&self, section: &str, at: usize) -> String {
        if section == WIRES { at.to_string() } else { self.names(section)[at].clone() }
    }

    fn missing(&self, section: &'static str, word: &str, entry: &Entry) -> Problem {
        let key = sanitise(&entry.key);
        let message = format!("the base has no {word} `{key}`");
        let problem = Problem::error("not-in-base", &entry.key_span, message);
        let elsewhere = CHANGED.iter().find(|(other, _)| self.find(other, entry).is_some());
        if let Some((other, word)) = elsewhere {
            return problem.help(format!("it is a {word}: say so under `{other}`"));
        }
        let names: Vec<String> = if section == WIRES {
            self.wires.iter().map(|wire| wire.id.clone()).collect()
        } else {
            self.names(section).iter().map(|name| sanitise(name)).collect()
        };
        let near = did_you_mean(&key, names.iter().map(String::as_str));
        problem.help(if near.starts_with("did") {
            near
        } else {
            format!("what your machine has besides goes under `{section}` of this file; {near}")
        })
    }
}

fn section_of<'t>(base: &'t Located, section: &str) -> Option<&'t Entry> {
    match &base.node {
        Node::Map(entries) => entries.iter().find(|entry| entry.key == section),
        _ => None,
    }
}

/// What the base says of one thing.
fn target<'t>(base: &'t mut Located, section: &str, at: usize) -> Option<&'t mut Located> {
    let Node::Map(entries) = &mut base.node else { return None };
    let section = entries.iter_mut().find(|entry| entry.key == section)?;
    match &mut section.value.node {
        Node::Map(entries) => entries.get_mut(at).map(|entry| &mut entry.value),
        Node::List(items) => items.get_mut(at),
        _ => None,
    }
}

/// Puts one thing's differences in.
fn one(section: &str, entry: &Entry, old: &mut Located, problems: &mut Vec<Problem>) {
    let name = sanitise(&entry.key);
    if section == "controls" {
        positions_as_a_group(old, &entry.value);
    }
    match (&entry.value.node, &mut old.node) {
        (Node::Map(said), Node::Map(keys)) => {
            if said.is_empty() {
                problems.push(no_difference(&entry.key_span, &name, "says nothing"));
            }
            if section == "parts" {
                other_kind(said, keys);
            }
            for new in said {
                key(new, keys, &name, problems);
            }
        }
        (Node::Nothing, _) => {
            problems.push(
                Problem::error("no-value", &entry.key_span, format!("`{name}` has no value"))
                    .help("write what differs, such as `{ colour: YE }`, or `absent`"),
            );
        }
        (Node::Map(_), _) | (_, Node::Map(_)) if section != "controls" => {
            let message = format!("`{name}` is {} in the base", old.node.what());
            let help = match &entry.value.node {
                Node::Scalar(said) if nearest(said, [ABSENT]).is_some() => "did you mean `absent`?",
                _ => "write what differs in the same shape",
            };
            problems.push(Problem::error("not-a-group", &entry.value.span, message).help(help));
        }
        _ => {
            if same(&entry.value, old) {
                problems.push(no_difference(&entry.value.span, &name, "is the same in the base"));
            }
            *old = entry.value.clone();
        }
    }
}

/// A bare list of positions, to which keys are added.
fn positions_as_a_group(old: &mut Located, said: &Located) {
    if let (Node::List(_), Node::Map(_)) = (&old.node, &said.node) {
        let span = old.span.clone();
        let positions = std::mem::replace(old, Located { node: Node::Nothing, span: span.clone() });
        let entry = Entry { key: "positions".to_owned(), key_span: span, value: positions };
        old.node = Node::Map(vec![entry]);
    }
}

/// A part of another kind keeps only the keys that all kinds have.
fn other_kind(said: &[Entry], keys: &mut Vec<Entry>) {
    let kind = |entries: &[Entry]| {
        let found = entries.iter().find(|entry| entry.key == "kind");
        found.map(|entry| entry.value.node.clone())
    };
    if let (Some(new), Some(old)) = (kind(said), kind(keys))
        && new != old
    {
        keys.retain(|entry| COMMON_KEYS.contains(&entry.key.as_str()));
    }
}

/// One key of a thing.
fn key(new: &Entry, keys: &mut Vec<Entry>, name: &str, problems: &mut Vec<Problem>) {
    let word = format!("{}` of `{name}", sanitise(&new.key));
    let at = keys.iter().position(|old| old.key == new.key);
    match at {
        None if is_absent(&new.value) => {
            problems.push(no_difference(&new.key_span, &word, "is not in the base either"));
        }
        None => keys.push(new.clone()),
        Some(at) if is_absent(&new.value) => drop(keys.remove(at)),
        Some(at) => {
            if same(&new.value, &keys[at].value) {
                problems.push(no_difference(&new.key_span, &word, "is the same in the base"));
            }
            keys[at] = new.clone();
        }
    }
}

/// The same but for blanks and capitals.
fn same(one: &Located, other: &Located) -> bool {
    match (&one.node, &other.node) {
        (Node::Scalar(one), Node::Scalar(other)) => {
            let plain = |text: &str| text.split_whitespace().collect::<String>().to_lowercase();
            plain(one) == plain(other)
        }
        (Node::List(one), Node::List(other)) => {
            one.len() == other.len() && one.iter().zip(other).all(|(one, other)| same(one, other))
        }
        (Node::Map(one), Node::Map(other)) => {
            one.len() == other.len()
                && one.iter().all(|one| {
                    other.iter().any(|other| one.key == other.key && same(&one.value, &other.value))
                })
        }
        (Node::Nothing, Node::Nothing) => true,
        _ => false,
    }
}

fn no_difference(span: &Span, name: &str, why: &str) -> Problem {
    Problem::warning("no-difference", span, format!("`{name}` {why}: this changes nothing"))
        .help("take it out, or write how it is on your machine")
}
