//! The schema of what files share: own kinds of parts, pieces, what differs from a base.

use serde_json::{Map, Value, json};

use super::{
    common_key, connector, control, definition_name, lines, minutes, named, own_key, wire, words,
    work,
};
use crate::circuit::catalogue::{ENTRIES, Entry, faults};
use crate::circuit::read::kinds::{LIKE, kind_keys};
use crate::circuit::reuse::CHANGE_KEYS;

/// What has to be there, and which kinds of part there can be, depends on whether other files have a share in
/// this one.
pub fn whole_or_piece() -> Value {
    let has = |key: &str| json!({ "required": [key] });
    let piece = json!({ "not": { "anyOf": [has("name"), has("system"), has("works")] } });
    let parts = |definition: &str| {
        let one = json!({ "$ref": format!("#/definitions/{definition}") });
        json!({ "properties": { "parts": named("what the circuit is made of", &one) } })
    };
    json!([
        {
            "if": { "anyOf": [has("kinds"), has("include"), has("base"), piece] },
            "then": parts("part-of-any-kind"),
            "else": parts("part"),
        },
        {
            "if": { "anyOf": [has("base"), piece] },
            "then": {},
            "else": { "required": ["name", "system"] },
        },
        {
            "if": { "anyOf": [has("base"), has("include"), piece] },
            "then": {},
            "else": { "required": ["places", "parts", "works"] },
        },
    ])
}

/// The sections by which files share.
pub fn section(key: &str) -> Value {
    match key {
        "include" => lines("files that this one takes in: own kinds of parts, pieces of circuits"),
        "base" => words("the circuit this one differs from: a file or a built-in circuit"),
        "change" => change(),
        _ => named("own kinds of parts, each like one of the catalogue's", &own_kind()),
    }
}

/// Own kinds of one kind: its keys but `kind` and `at`.
pub fn make(entry: &Entry) -> Value {
    let own = entry.keys.iter().map(|key| (key.name.to_owned(), own_key(key)));
    let common = kind_keys().filter(|key| *key != LIKE);
    let common = common.map(|key| (key.to_owned(), of_kind(entry, key)));
    let mut properties: Map<String, Value> = common.chain(own).collect();
    properties.insert(LIKE.into(), json!({ "const": entry.word, "description": entry.about }));
    json!({
        "type": "object",
        "description": entry.about,
        "additionalProperties": false,
        "properties": properties,
        "required": [LIKE],
    })
}

/// A key that every part has, for parts of this kind.
pub fn of_kind(entry: &Entry, key: &str) -> Value {
    if key != "faults" {
        return common_key(key);
    }
    let weight = json!({ "type": ["string", "number"], "description": "beside what is usual; 1" });
    let mut properties = Map::new();
    for fault in faults::of(entry.word) {
        let ends = fault.match_indices('-').map(|(at, _)| at).chain([fault.len()]);
        properties.extend(ends.map(|end| (fault[..end].to_owned(), weight.clone())));
    }
    json!({
        "type": "object",
        "description": "how often a fault is met beside what is usual of the kind",
        "additionalProperties": false,
        "properties": properties,
    })
}

fn own_kind() -> Value {
    let kinds: Vec<&str> = ENTRIES.iter().map(|entry| entry.word).collect();
    let case = |entry: &&Entry| {
        json!({
            "if": { "properties": { LIKE: { "const": entry.word } } },
            "then": { "$ref": format!("#/definitions/{}", definition_name("make", entry)) },
        })
    };
    let cases: Vec<Value> = ENTRIES.iter().map(case).collect();
    json!({
        "type": "object",
        "required": [LIKE],
        "properties": { LIKE: { "enum": kinds } },
        "allOf": cases,
    })
}

/// What differs: of each thing some keys, or `absent`.
fn change() -> Value {
    let entry = |key: &str| match key {
        "controls" => control(&[]),
        "places" => minutes("to open and close it"),
        "connectors" => connector(&[]),
        "wires" => wire(&[]),
        "works" => work(&[]),
        // Their keys depend on the kind, which the base says.
        _ => json!({ "type": "object" }),
    };
    let absent = json!({ "const": "absent" });
    let sections = CHANGE_KEYS.iter().map(|key| {
        let one = json!({ "anyOf": [absent, entry(key)] });
        ((*key).to_owned(), named("what differs here, or `absent`", &one))
    });
    json!({
        "type": "object",
        "description": "what differs from `base`",
        "additionalProperties": false,
        "properties": sections.collect::<Map<String, Value>>(),
    })
}
