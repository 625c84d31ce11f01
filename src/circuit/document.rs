//! YAML into a located tree. The only file that knows YAML.
//!
//! Every scalar keeps its text as written (`0x15`, `on`, `4k7` stay what they are), every node its
//! place; both entries of a repeated key come through. Depth, aliases and size are bounded.

use std::fmt;

use serde::de::{Deserialize, Deserializer, MapAccess, SeqAccess, Visitor};
use serde_yaml::{DuplicateKeyPolicy, Location, MergeKeyPolicy, NonFiniteFloatPolicy, Spanned};

use super::unread::{before_parsing, in_our_words};
use crate::problem::{Problem, Span};

/// A value with its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Located {
    /// The value.
    pub node: Node,
    /// Where it stands. Of lists and maps only the start can be relied on.
    pub span: Span,
}

/// A YAML value.
#[derive(Debug, Clone, PartialEq)]
pub enum Node {
    /// Nothing, `~` or `null`.
    Nothing,
    /// Any scalar, its text as written, without quotes.
    Scalar(String),
    /// A sequence.
    List(Vec<Located>),
    /// A mapping in the order of the file, repeated keys included.
    Map(Vec<Entry>),
}

/// One entry of a map.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// The key's text.
    pub key: String,
    /// Where the key stands.
    pub key_span: Span,
    /// What it says.
    pub value: Located,
}

impl Node {
    /// What it is, in words for a message.
    pub fn what(&self) -> &'static str {
        match self {
            Node::Nothing => "empty",
            Node::Scalar(_) => "a single value",
            Node::List(_) => "a list",
            Node::Map(_) => "a group of `key: value` lines",
        }
    }
}

/// Reads `text`; the tree is there only when there are no problems.
pub fn read(text: &str) -> Result<Located, Vec<Problem>> {
    let early = before_parsing(text);
    if !early.is_empty() {
        return Err(early);
    }
    let mut budget = serde_yaml::Budget::default();
    budget.max_depth = 16;
    budget.max_aliases = 64;
    budget.max_nodes = 100_000;
    let mut options = serde_yaml::Options::default();
    options.duplicate_keys = DuplicateKeyPolicy::PassThrough;
    options.merge_keys = MergeKeyPolicy::AsOrdinary;
    options.non_finite_float_policy = NonFiniteFloatPolicy::PassThrough;
    options.with_snippet = false;
    options.budget = Some(budget);
    match serde_yaml::from_str_with_options::<Spanned<Raw>>(text, options) {
        Ok(raw) => {
            let mut problems = Vec::new();
            let tree = located(raw, text, &mut problems);
            if problems.is_empty() { Ok(tree) } else { Err(problems) }
        }
        Err(error) => Err(vec![from_yaml_error(&error, text)]),
    }
}

fn from_yaml_error(error: &serde_yaml::Error, text: &str) -> Problem {
    let error = error.without_snippet();
    let span = match error.location() {
        Some(location) => span_of(location, text),
        None => Span::of(text, 0..0),
    };
    let said = error.to_string();
    let said = said.lines().next().unwrap_or_default();
    let said = said.split(" at line ").next().unwrap_or(said).trim_end_matches('.');
    let (message, help) = in_our_words(&said.to_lowercase(), &span, text);
    let message =
        message.map_or_else(|| format!("this cannot be read as YAML: {said}"), str::to_owned);
    Problem::error("yaml", &span, message).help(help)
}

fn span_of(location: Location, text: &str) -> Span {
    let bytes = match (location.span().byte_offset(), location.span().byte_len()) {
        (Some(start), length) => {
            let start = start as usize;
            start..start.saturating_add(length.unwrap_or(0) as usize)
        }
        _ => byte_of(location, text),
    };
    // Line and column are the parser's own: counting them anew for each node would be quadratic.
    let (start, end) = (whole_char(text, bytes.start), whole_char(text, bytes.end));
    Span {
        file: 0,
        bytes: start..end.max(start),
        line: location.line() as usize,
        column: location.column() as usize,
    }
}

fn whole_char(text: &str, at: usize) -> usize {
    let at = at.min(text.len());
    (0..=at).rev().find(|at| text.is_char_boundary(*at)).unwrap_or(0)
}

/// Byte range of a location that has only line and column.
fn byte_of(location: Location, text: &str) -> std::ops::Range<usize> {
    let line_start: usize = text
        .split_inclusive('\n')
        .take(location.line().saturating_sub(1) as usize)
        .map(str::len)
        .sum();
    let column = location.column().saturating_sub(1) as usize;
    let start =
        text[line_start..].char_indices().nth(column).map_or(text.len(), |(at, _)| line_start + at);
    start..start
}

/// A value as the parser gives it: numbers and words that mean something in YAML have lost their text.
enum Raw {
    Nothing,
    Text(String),
    Typed,
    List(Vec<Spanned<Raw>>),
    Map(Vec<(Spanned<Raw>, Spanned<Raw>)>),
}

impl<'de> Deserialize<'de> for Raw {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(RawVisitor)
    }
}

struct RawVisitor;

impl<'de> Visitor<'de> for RawVisitor {
    type Value = Raw;

    fn expecting(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str("a value, a list or a group of `key: value` lines")
    }

    fn visit_unit<E>(self) -> Result<Raw, E> {
        Ok(Raw::Nothing)
    }

    fn visit_none<E>(self) -> Result<Raw, E> {
        Ok(Raw::Nothing)
    }

    fn visit_some<D: Deserializer<'de>>(self, deserializer: D) -> Result<Raw, D::Error> {
        Raw::deserialize(deserializer)
    }

    fn visit_bool<E>(self, _: bool) -> Result<Raw, E> {
        Ok(Raw::Typed)
    }

    fn visit_i64<E>(self, _: i64) -> Result<Raw, E> {
        Ok(Raw::Typed)
    }

    fn visit_u64<E>(self, _: u64) -> Result<Raw, E> {
        Ok(Raw::Typed)
    }

    fn visit_i128<E>(self, _: i128) -> Result<Raw, E> {
        Ok(Raw::Typed)
    }

    fn visit_u128<E>(self, _: u128) -> Result<Raw, E> {
        Ok(Raw::Typed)
    }

    fn visit_f64<E>(self, _: f64) -> Result<Raw, E> {
        Ok(Raw::Typed)
    }

    fn visit_str<E>(self, text: &str) -> Result<Raw, E> {
        Ok(Raw::Text(text.to_owned()))
    }

    fn visit_bytes<E>(self, _: &[u8]) -> Result<Raw, E> {
        Ok(Raw::Typed)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Raw, A::Error> {
        let mut list = Vec::new();
        while let Some(item) = items.next_element()? {
            list.push(item);
        }
        Ok(Raw::List(list))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut entries: A) -> Result<Raw, A::Error> {
        let mut map = Vec::new();
        while let Some(entry) = entries.next_entry()? {
            map.push(entry);
        }
        Ok(Raw::Map(map))
    }
}

fn located(raw: Spanned<Raw>, text: &str, problems: &mut Vec<Problem>) -> Located {
    let span = span_of(raw.referenced, text);
    let node = match raw.value {
        Raw::Nothing => Node::Nothing,
        Raw::Text(words) => Node::Scalar(words),
        Raw::Typed => Node::Scalar(text[span_of(raw.defined, text).bytes].trim().to_owned()),
        Raw::List(items) => {
            Node::List(items.into_iter().map(|item| located(item, text, problems)).collect())
        }
        Raw::Map(entries) => Node::Map(
            entries
                .into_iter()
                .filter_map(|(key, value)| entry(key, value, text, problems))
                .collect(),
        ),
    };
    Located { node, span }
}

fn entry(
    key: Spanned<Raw>,
    value: Spanned<Raw>,
    text: &str,
    problems: &mut Vec<Problem>,
) -> Option<Entry> {
    let key = located(key, text, problems);
    let value = located(value, text, problems);
    match key.node {
        Node::Scalar(words) => Some(Entry { key: words, key_span: key.span, value }),
        other => {
            problems.push(
                Problem::error(
                    "key",
                    &key.span,
                    format!("a key has to be a word or two, this is {}", other.what()),
                )
                .help("write `key: value`; a text with brackets or `?` in front needs quotes"),
            );
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scalar<'a>(tree: &'a Located, path: &[&str]) -> &'a Located {
        path.iter().fold(tree, |at, key| match &at.node {
            Node::Map(entries) => &entries.iter().find(|e| e.key == *key).unwrap().value,
            _ => panic!("{key}: no map here"),
        })
    }

    #[track_caller]
    fn check(text: &str, path: &[&str], expected: &str, line: usize, column: usize) {
        let tree = read(text).unwrap();
        let found = scalar(&tree, path);
        assert_eq!(found.node, Node::Scalar(expected.to_owned()));
        assert_eq!((found.span.line, found.span.column), (line, column));
    }

    #[test]
    fn text_stays_as_written() {
        check("a: 0x15\n", &["a"], "0x15", 1, 4);
        check("é: { b: off, c: 1_000 }\n", &["é", "c"], "1_000", 1, 17);
        check("a: yes", &["a"], "yes", 1, 4);
        check("a: true", &["a"], "true", 1, 4);
        check("a: 12", &["a"], "12", 1, 4);
        check("85: x", &["85"], "x", 1, 5);
        check("on: x", &["on"], "x", 1, 5);
        check("a: .nan", &["a"], ".nan", 1, 4);
        check("a: 1e999", &["a"], "1e999", 1, 4);
        check("a: 'it''s'", &["a"], "it's", 1, 4);
        check("a: +\nb: -x", &["a"], "+", 1, 4);
        check("a: &x 007\nb: *x", &["b"], "007", 2, 4);
    }

    #[test]
    fn both_entries_of_a_repeated_key_come_through() {
        let tree = read("a: 1\na: 2\n").unwrap();
        let Node::Map(entries) = tree.node else { panic!() };
        assert_eq!(entries.len(), 2);
        assert_eq!(entries[1].key_span.line, 2);
    }

    #[test]
    fn what_cannot_be_read_is_a_problem_and_never_a_panic() {
        let deep = "[".repeat(5000);
        let bomb = (1..10).fold("a0: &a0 [x, x]\n".to_owned(), |text, n| {
            let again = vec![format!("*a{}", n - 1); 9].join(", ");
            text + &format!("a{n}: &a{n} [{again}]\n")
        });
        for text in [
            "",
            "# only\n",
            "a: b: c",
            "a: [1",
            "\ta: 1",
            "a: 1\n---\nb: 2",
            "? [a]\n: b",
            &deep,
            &bomb,
            "a\0b",
            "%",
            "a: *b",
        ] {
            let problems = read(text).unwrap_err();
            assert!(problems.iter().all(|p| p.help.is_some()), "{text}: {problems:?}");
        }
    }
}
