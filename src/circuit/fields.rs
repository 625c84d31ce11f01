//! The entries of one `key: value` group, taken out by name; what is wrong with them is noted down.

use indexmap::IndexMap;

use super::Control;
use super::document::{Entry, Located, Node};
use super::names::{either, nearest, slug};
use crate::problem::{Problem, Span, sanitise};
use crate::quantity::{self, QuantityError, Unit};

/// When so many problems have been noted, reading stops: the rest would be of no more help.
pub const MOST_PROBLEMS: usize = 200;

/// So many names are listed when none is near to what was written: enough for all kinds of part.
const MOST_KNOWN: usize = 32;

/// A word or a few, with its place; sanitised.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Word {
    /// The text, trimmed.
    pub text: String,
    /// Where it stands.
    pub span: Span,
}

impl Word {
    /// An entry's key where it is a name of the writer's own.
    pub fn of_key(entry: &Entry) -> Word {
        Word { text: sanitise(entry.key.trim()), span: entry.key_span.clone() }
    }
}

/// A number with its unit, and the range in which it makes sense.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// Its unit.
    pub unit: Unit,
    /// The least that makes sense.
    pub least: f64,
    /// The most that makes sense.
    pub most: f64,
}

/// Shorthand for a [`Range`].
pub const fn range(unit: Unit, least: f64, most: f64) -> Range {
    Range { unit, least, most }
}

/// A group of entries, repeated and unknown keys already told apart.
#[derive(Debug, Clone)]
pub struct Fields<'t> {
    /// What the group describes, for messages: "part `solenoid`".
    pub what: String,
    /// Where the name of the thing stands.
    pub span: Span,
    entries: Vec<&'t Entry>,
    /// Keys that are not known here.
    unknown: Vec<&'t str>,
}

impl<'t> Fields<'t> {
    /// The entries of `value`, which has to be a group. Keys not in `allowed` and repeated keys
    /// become problems.
    pub fn open(
        value: &'t Located,
        what: String,
        span: &Span,
        allowed: &[&str],
        problems: &mut Vec<Problem>,
    ) -> Option<Fields<'t>> {
        let entries = group(value, &what, "{ key: value, ... }", problems)?;
        let mut fields =
            Fields { what, span: span.clone(), entries: Vec::new(), unknown: Vec::new() };
        let mut before: Option<&Entry> = None;
        for entry in entries {
            let known = allowed.contains(&entry.key.as_str());
            if let Some(first) = fields.get(&entry.key) {
                problems.push(repeated(entry, first, &fields.what));
            } else if known {
                fields.entries.push(entry);
            } else if let Some(number) = before.and_then(|before| comma_between(before, entry)) {
                fields.entries.pop();
                problems.push(number);
            } else {
                fields.unknown.push(&entry.key);
                problems.push(unknown_key(entry, &fields.what, allowed));
            }
            before = Some(entry);
        }
        Some(fields)
    }

    /// No key was met that is not known here.
    pub fn nothing_unknown(&self) -> bool {
        self.unknown.is_empty()
    }

    /// The entry of this key.
    pub fn get(&self, key: &str) -> Option<&'t Entry> {
        self.entries.iter().copied().find(|entry| entry.key == key)
    }

    /// The entry of a key that has to be there.
    pub fn required(
        &self,
        key: &str,
        help: &str,
        problems: &mut Vec<Problem>,
    ) -> Option<&'t Entry> {
        let entry = self.get(key);
        // A key that was misspelt has been told already.
        let misspelt = self.unknown.iter().any(|word| nearest(word, [key]).is_some());
        if entry.is_none() && !misspelt {
            problems.push(
                Problem::error("missing-key", &self.span, format!("{} has no `{key}`", self.what))
                    .help(help),
            );
        }
        entry
    }

    /// The words of this key, if it is there.
    pub fn word(&self, key: &str, problems: &mut Vec<Problem>) -> Option<Word> {
        self.get(key).and_then(|entry| word(&entry.value, &entry.key_span, key, problems))
    }

    /// The words of this key: one, or a list.
    pub fn words(&self, key: &str, problems: &mut Vec<Problem>) -> Vec<Word> {
        self.get(key)
            .map_or_else(Vec::new, |entry| words(&entry.value, &entry.key_span, key, problems))
    }

    /// The number of this key, if it is there and within its range.
    pub fn number(&self, key: &str, range: Range, problems: &mut Vec<Problem>) -> Option<f64> {
        let text = self.word(key, problems)?;
        number(&text, key, range, problems)
    }

    /// `yes` or `no`, if it is there.
    pub fn flag(&self, key: &str, problems: &mut Vec<Problem>) -> Option<bool> {
        let said = self.word(key, problems)?;
        match said.text.to_lowercase().as_str() {
            "yes" | "true" => Some(true),
            "no" | "false" => Some(false),
            _ => {
                problems.push(
                    Problem::error(
                        "not-yes-or-no",
                        &said.span,
                        format!("`{key}` is `{}`", said.text),
                    )
                    .help(format!("write `{key}: yes` or `{key}: no`")),
                );
                None
            }
        }
    }

    /// One of some words; anything else is a problem.
    pub fn choice(
        &self,
        key: &str,
        choices: &[&'static str],
        problems: &mut Vec<Problem>,
    ) -> Option<&'static str> {
        let said = self.word(key, problems)?;
        let chosen = choices.iter().find(|choice| choice.eq_ignore_ascii_case(&said.text));
        if chosen.is_none() {
            problems.push(
                Problem::error(
                    "unknown-choice",
                    &said.span,
                    format!("`{key}` cannot be `{}`", said.text),
                )
                .help(did_you_mean(&said.text, choices.iter().copied())),
            );
        }
        chosen.copied()
    }
}

/// The entries of a group like `example`; nothing and other nodes become problems.
pub fn group<'t>(
    value: &'t Located,
    what: &str,
    example: &str,
    problems: &mut Vec<Problem>,
) -> Option<&'t [Entry]> {
    match &value.node {
        Node::Map(entries) => Some(entries),
        other => {
            problems.push(
                Problem::error("not-a-group", &value.span, format!("{what} is {}", other.what()))
                    .help(format!("write it like `{example}`")),
            );
            None
        }
    }
}

/// Entries of a group that name things, each like `example`: repeated names become problems, the first one stays.
pub fn named<'t>(
    value: &'t Located,
    what: &str,
    example: &str,
    problems: &mut Vec<Problem>,
) -> Vec<&'t Entry> {
    let mut kept: IndexMap<&str, &Entry> = IndexMap::new();
    for entry in group(value, what, example, problems).unwrap_or_default() {
        if problems.len() > MOST_PROBLEMS {
            break;
        }
        match kept.get(entry.key.as_str()) {
            Some(first) => problems.push(repeated(entry, first, what)),
            None => drop(kept.insert(&entry.key, entry)),
        }
    }
    kept.into_values().collect()
}

/// The position of this name of a control, counted from 0; one that is not there becomes a problem.
pub fn position(control: &Control, said: &Word, problems: &mut Vec<Problem>) -> Option<usize> {
    let wanted = slug(&said.text);
    let found = control.positions.iter().position(|name| slug(name) == wanted);
    if found.is_none() {
        problems.push(
            Problem::error(
                "unknown-position",
                &said.span,
                format!("`{}` has no position `{}`", control.name, said.text),
            )
            .help(did_you_mean(&said.text, control.positions.iter().map(String::as_str))),
        );
    }
    found
}

/// A scalar as words.
pub fn word(
    value: &Located,
    key_span: &Span,
    what: &str,
    problems: &mut Vec<Problem>,
) -> Option<Word> {
    match &value.node {
        Node::Scalar(text) if !text.trim().is_empty() => {
            Some(Word { text: sanitise(text.trim()), span: value.span.clone() })
        }
        Node::Nothing | Node::Scalar(_) => {
            problems.push(
                Problem::error("no-value", key_span, format!("`{what}` has no value"))
                    .help("write a value behind the colon, or take the line out"),
            );
            None
        }
        other => {
            problems.push(
                Problem::error(
                    "not-a-value",
                    &value.span,
                    format!("`{what}` is {}, a single value belongs here", other.what()),
                )
                .help("write one value behind the colon; a text with `: ` in it needs quotes"),
            );
            None
        }
    }
}

/// One scalar or a list of them.
pub fn words(
    value: &Located,
    key_span: &Span,
    what: &str,
    problems: &mut Vec<Problem>,
) -> Vec<Word> {
    match &value.node {
        Node::List(items) => {
            items.iter().filter_map(|item| word(item, &item.span, what, problems)).collect()
        }
        _ => word(value, key_span, what, problems).into_iter().collect(),
    }
}

/// Words as a number within a range.
pub fn number(text: &Word, what: &str, range: Range, problems: &mut Vec<Problem>) -> Option<f64> {
    match quantity::parse(&text.text, range.unit) {
        Ok(value) if value >= range.least && value <= range.most => Some(value),
        Ok(_) => {
            let (least, most) =
                (quantity::show(range.least, range.unit), quantity::show(range.most, range.unit));
            problems.push(
                Problem::error(
                    "out-of-range",
                    &text.span,
                    format!("`{what}` cannot be `{}`", text.text),
                )
                .help(if range.unit == Unit::Plain {
                    format!("it lies between {least} and {most}")
                } else {
                    format!("it lies between {least} and {most}; is the unit right?")
                }),
            );
            None
        }
        Err(error) => {
            problems.push(
                Problem::error("not-a-quantity", &text.span, format!("`{what}`: {error}"))
                    .help(quantity_help(&error, range.unit)),
            );
            None
        }
    }
}

fn quantity_help(error: &QuantityError, unit: Unit) -> String {
    match error {
        QuantityError::DecimalComma { instead, .. } => format!("write `{instead}`"),
        QuantityError::UnknownUnit { nearest: Some(nearest), .. } => {
            format!("did you mean `{nearest}`? Write it like {}", unit.example())
        }
        _ => format!("write it like {}", unit.example()),
    }
}

/// "did you mean `x`?" or the list of what can be.
pub fn did_you_mean<'a>(
    written: &str,
    candidates: impl IntoIterator<Item = &'a str> + Clone,
) -> String {
    if let Some(near) = nearest(written, candidates.clone()) {
        return format!("did you mean `{near}`?");
    }
    match few(candidates, either) {
        known if known.is_empty() => "there is none in this file yet".to_owned(),
        known => format!("known here: {known}"),
    }
}

/// Words as `list` puts them into a sentence, the first of them where there are very many.
pub fn few<'a>(
    words: impl IntoIterator<Item = &'a str>,
    list: impl Fn(Vec<&'a str>) -> String,
) -> String {
    let mut few: Vec<&str> = words.into_iter().take(MOST_KNOWN + 1).collect();
    if few.len() <= MOST_KNOWN {
        return list(few);
    }
    few.truncate(MOST_KNOWN);
    format!("{} and others", list(few))
}

fn repeated(again: &Entry, first: &Entry, what: &str) -> Problem {
    Problem::error(
        "given-twice",
        &again.key_span,
        format!("`{}` is given twice in {what}", sanitise(&again.key)),
    )
    .note(&first.key_span, "the first is here")
    .help("keep one of them, or give the other a name of its own")
}

/// Within braces a comma ends a value: `{ length: 1,3 m }` is a length of 1 and a key `3 m`.
fn comma_between(before: &Entry, entry: &Entry) -> Option<Problem> {
    let Node::Scalar(whole) = &before.value.node else { return None };
    let whole = whole.trim();
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    let starts = entry.key.starts_with(|letter: char| letter.is_ascii_digit());
    if !digits(whole) || !starts || entry.value.node != Node::Nothing {
        return None;
    }
    let (key, rest) = (sanitise(&before.key), sanitise(&entry.key));
    let message =
        format!("`{key}`: `{whole},{rest}` has a comma; numbers are written with a point");
    Some(
        Problem::error("not-a-quantity", &before.value.span, message)
            .help(format!("write `{whole}.{rest}`")),
    )
}

fn unknown_key(entry: &Entry, what: &str, allowed: &[&str]) -> Problem {
    let key = sanitise(&entry.key);
    let message = format!("{what} has no key `{key}`");
    let problem = Problem::error("unknown-key", &entry.key_span, message);
    let bare = entry.value.node == Node::Nothing;
    if let Some((word, _)) = key.split_once(':').filter(|(word, _)| bare && allowed.contains(word))
    {
        return problem.help(format!("a blank belongs behind the colon: `{word}: ...`"));
    }
    if bare && nearest(&key, allowed.iter().copied()).is_none() {
        return problem
            .help("is it the end of a text with a comma in it? Such a text needs quotes");
    }
    problem.help(did_you_mean(&key, allowed.iter().copied()))
}

/// Minutes a person can need for something.
pub const MINUTES: Range = range(Unit::Minutes, 0.0, 2880.0);
