//! The section `kinds`: a shop's or a maker's own kinds of part, each like one of the catalogue's.

use std::collections::HashSet;

use indexmap::IndexMap;

use super::draft::{good_name, shown};
use crate::circuit::catalogue::{self, COMMON_KEYS};
use crate::circuit::document::{Entry, Located, Node};
use crate::circuit::fields::{self, Fields, did_you_mean};
use crate::circuit::names::slug;
use crate::circuit::refuse;
use crate::problem::{Problem, Span};

/// The key that says which kind of the catalogue it is.
pub const LIKE: &str = "like";

/// Keys of a part that its kind cannot have: they are what the kind stands in for.
const OF_PARTS_ONLY: &[&str] = &["kind", "at"];

/// Keys that every own kind may have.
pub fn kind_keys() -> impl Iterator<Item = &'static str> {
    let common = COMMON_KEYS.iter().copied().filter(|key| !OF_PARTS_ONLY.contains(key));
    std::iter::once(LIKE).chain(common)
}

/// An own kind of part.
pub struct OwnKind<'t> {
    name: String,
    span: Span,
    /// What it is like; `None` where its entry has problems that leave nothing to build.
    like: Option<&'static catalogue::Entry>,
    keys: Vec<&'t Entry>,
}

/// All of them.
#[derive(Default)]
pub struct Kinds<'t> {
    /// By their ids, in the order of the file.
    known: IndexMap<String, OwnKind<'t>>,
    used: HashSet<String>,
}

/// What the word behind `kind:` stands for.
pub enum Meant<'k, 't> {
    /// A kind of the catalogue.
    Usual(&'static catalogue::Entry),
    /// One of the file's own.
    Own(&'static catalogue::Entry, &'k OwnKind<'t>),
    /// One of the file's own, with problems that have been told.
    Broken,
}

/// All own kinds, in the order of the file.
pub fn kinds<'t>(top: &Fields<'t>, problems: &mut Vec<Problem>) -> Kinds<'t> {
    let mut kinds = Kinds::default();
    let Some(section) = top.get("kinds") else { return kinds };
    let example = "shop relay: { like: relay, coil: 85 ohm }";
    for entry in fields::named(&section.value, "`kinds`", example, problems) {
        let Some(id) = good_name(&entry.key, &entry.key_span, problems) else { continue };
        let name = shown(entry);
        if let Some(first) = kinds.known.get(&id) {
            problems.push(
                Problem::error(
                    "given-twice",
                    &entry.key_span,
                    format!("the kind `{name}` is given twice"),
                )
                .note(&first.span, "the first is here")
                .help("give one of them another name; capitals and blanks make no difference"),
            );
            continue;
        }
        let (like, keys) = match like(entry, &name, problems) {
            Some((like, keys)) => (Some(like), keys),
            None => (None, Vec::new()),
        };
        kinds.known.insert(id, OwnKind { name, span: entry.key_span.clone(), like, keys });
    }
    kinds
}

/// The kind of the catalogue that an own kind is like, and its keys.
fn like<'t>(
    entry: &'t Entry,
    name: &str,
    problems: &mut Vec<Problem>,
) -> Option<(&'static catalogue::Entry, Vec<&'t Entry>)> {
    if let Some(problem) = refuse::declined(name, &entry.key_span) {
        problems.push(problem);
        return None;
    }
    if catalogue::entry(name).is_some() {
        let message = format!("`{name}` is a kind of the catalogue");
        problems.push(
            Problem::error("given-twice", &entry.key_span, message)
                .help(format!("give it a name of its own, such as `shop {name}`")),
        );
        return None;
    }
    let what = format!("kind `{name}`");
    let known = catalogue::ENTRIES.iter().map(|entry| entry.word);
    let group = fields::group(&entry.value, &what, "{ like: relay, coil: 85 ohm }", problems)?;
    let Some(said) = group.iter().find(|entry| entry.key == LIKE) else {
        if let Some(kind) = group.iter().find(|entry| entry.key == "kind") {
            let message = format!("{what} says `kind`, as a part does");
            problems
                .push(Problem::error("missing-key", &kind.key_span, message).help(format!(
                    "write `{LIKE}:` and the kind of the catalogue that it is like"
                )));
            return None;
        }
        problems.push(
            Problem::error("missing-key", &entry.key_span, format!("{what} has no `{LIKE}`")).help(
                format!("add `{LIKE}:` with a kind of the catalogue; {}", did_you_mean("", known)),
            ),
        );
        return None;
    };
    let word = fields::word(&said.value, &said.key_span, LIKE, problems)?;
    let Some(like) = catalogue::entry(&word.text) else {
        let message = format!("there is no kind of part `{}` in the catalogue", word.text);
        problems.push(
            Problem::error("unknown-kind", &word.span, message)
                .help(did_you_mean(&word.text, known)),
        );
        return None;
    };
    let keys: Vec<&str> = kind_keys().chain(like.keys.iter().map(|key| key.name)).collect();
    let what = format!("{} `{name}`", like.word);
    let fields = Fields::open(&entry.value, what, &entry.key_span, &keys, problems)?;
    let own = keys.iter().filter(|key| **key != LIKE).filter_map(|key| fields.get(key));
    Some((like, own.collect()))
}

impl<'t> Kinds<'t> {
    /// `word` stands for some kind.
    pub fn has(&self, word: &str) -> bool {
        catalogue::entry(word).is_some() || self.known.contains_key(&slug(word))
    }

    /// What `word` stands for.
    pub fn find(&mut self, word: &str) -> Option<Meant<'_, 't>> {
        if let Some(usual) = catalogue::entry(word) {
            return Some(Meant::Usual(usual));
        }
        let id = slug(word);
        let own = self.known.get(&id)?;
        self.used.insert(id);
        Some(own.like.map_or(Meant::Broken, |like| Meant::Own(like, own)))
    }

    /// Their names.
    pub fn names(&self) -> impl Iterator<Item = &str> + Clone {
        self.known.values().map(|one| one.name.as_str())
    }

    /// Tells those of the file that was asked for which no part is of; included ones are for others, too.
    pub fn unused(&self, problems: &mut Vec<Problem>) {
        let unused =
            |(id, one): &(&String, &OwnKind<'_>)| one.span.file == 0 && !self.used.contains(*id);
        for (_, one) in self.known.iter().filter(unused) {
            problems.push(
                Problem::warning("unused-kind", &one.span, format!("no part is a `{}`", one.name))
                    .help(format!("write `kind: {}` with a part, or take it out", one.name)),
            );
        }
    }
}

impl OwnKind<'_> {
    /// A part's entry with the kind's keys where it has none of its own.
    pub fn filled(&self, value: &Located) -> Located {
        let Node::Map(own) = &value.node else { return value.clone() };
        let mut entries = own.clone();
        let new = |key: &&&Entry| !own.iter().any(|entry| entry.key == key.key);
        entries.extend(self.keys.iter().filter(new).map(|entry| (*entry).clone()));
        Located { node: Node::Map(entries), span: value.span.clone() }
    }
}
