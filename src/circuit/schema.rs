//! The circuit file as a JSON Schema, made from the catalogue, so that editors complete and check.
//!
//! It is of draft 7, which editors of YAML understand best. What needs more than one place of a file to be
//! judged (names, terminals, positions) is left to `check`.

mod several;

use serde_json::{Map, Value, json};

use super::catalogue::wiring::{
    CONNECTOR_KEYS, CONNECTOR_TYPES, LENGTH, PIN_OHMS, SIZE, TEMPERATURE, WIRE_KEYS,
};
use super::catalogue::{COMMON_KEYS, ENTRIES, Entry, Key};
use super::fields::Range;
use super::read::settings::CONTROL_KEYS;
use super::read::tree::KEYS;
use super::read::works::WORK_KEYS;
use crate::quantity::{Unit, show};

/// First entry of the schema; by it a file is known to be ours.
pub const COMMENT: &str = "made by halfsplit";

/// The whole schema.
pub fn schema() -> Value {
    let mut definitions = Map::new();
    for entry in ENTRIES {
        definitions.insert(definition_name("kind", entry), kind(entry));
        definitions.insert(definition_name("make", entry), several::make(entry));
    }
    let kinds: Vec<&str> = ENTRIES.iter().map(|entry| entry.word).collect();
    let any = json!({ "anyOf": [{ "enum": kinds }, { "type": "string" }] });
    definitions.insert("part".into(), part(&json!({ "enum": kinds })));
    definitions.insert("part-of-any-kind".into(), part(&any));
    definitions
        .insert("quantity".into(), json!({ "type": ["string", "number"], "pattern": "^[^,]*$" }));
    definitions.insert("words".into(), json!({ "type": ["string", "number", "boolean"] }));
    definitions.insert("lines".into(), one_or_many(&json!({ "$ref": "#/definitions/words" })));
    json!({
        "$comment": COMMENT,
        "$schema": "http://json-schema.org/draft-07/schema#",
        "title": "Circuit file of halfsplit",
        "type": "object",
        "additionalProperties": false,
        "required": ["format"],
        "allOf": several::whole_or_piece(),
        "properties": top(),
        "definitions": definitions,
    })
}

/// A single thing or a list of it.
fn one_or_many(one: &Value) -> Value {
    json!({ "anyOf": [one, { "type": "array", "items": one }] })
}

fn words(about: &str) -> Value {
    json!({ "allOf": [{ "$ref": "#/definitions/words" }], "description": about })
}

fn lines(about: &str) -> Value {
    json!({ "allOf": [{ "$ref": "#/definitions/lines" }], "description": about })
}

/// A number with its unit.
fn quantity(range: Range, about: &str) -> Value {
    let limits = format!("{} to {}", show(range.least, range.unit), show(range.most, range.unit));
    quantity_like(range.unit, &format!("{about}; {limits}"))
}

fn quantity_like(unit: Unit, about: &str) -> Value {
    json!({
        "allOf": [{ "$ref": "#/definitions/quantity" }],
        "description": format!("{about}. Written like {}", unit.example()),
    })
}

/// A group whose entries have names of the writer's own.
fn named(about: &str, entry: &Value) -> Value {
    json!({ "type": "object", "description": about, "additionalProperties": entry })
}

/// A group with these keys.
fn group(keys: Vec<(&str, Value)>, required: &[&str]) -> Value {
    let properties: Map<String, Value> =
        keys.into_iter().map(|(key, value)| (key.to_owned(), value)).collect();
    json!({ "type": "object", "additionalProperties": false, "properties": properties, "required": required })
}

/// The sections of a file.
fn top() -> Value {
    let section = |key: &str| match key {
        "format" => json!({ "const": 1, "description": "edition of this format" }),
        "name" => words("what the circuit is"),
        "machine" => words("the machine it belongs to"),
        "system" => quantity_like(Unit::Volts, "nominal volts, up to 60 V"),
        "notes" => lines("words for the learner"),
        "controls" => {
            named("what a person operates, or the machine itself moves", &control(&["positions"]))
        }
        "places" => named(
            "where things are reached, and the time to open and close it once",
            &minutes("to open and close it"),
        ),
        "include" | "base" | "change" | "kinds" => several::section(key),
        // Which kinds a part can be of depends on the rest of the file.
        "parts" => json!({ "type": "object", "description": "what the circuit is made of" }),
        "connectors" => named("what can be parted", &connector(&["at"])),
        "wires" => {
            let wire = wire(&["from", "to"]);
            json!({ "type": "array", "description": "from PART.TERMINAL to PART.TERMINAL", "items": wire })
        }
        _ => named(
            "what happens when all is well; the first is the usual complaint",
            &work(&["see"]),
        ),
    };
    Value::Object(KEYS.iter().map(|key| ((*key).to_owned(), section(key))).collect())
}

fn minutes(about: &str) -> Value {
    quantity_like(Unit::Minutes, about)
}

fn control(required: &[&str]) -> Value {
    let key = |key: &str| match key {
        "positions" => {
            json!({ "type": "array", "minItems": 2, "items": { "$ref": "#/definitions/words" } })
        }
        "rest" => words("position when nobody touches it; the first"),
        "springs_back" => words("position it springs back to when let go"),
        "minutes" => minutes("to change its position"),
        _ => words("`hand`, or `machine` when the machine itself moves it"),
    };
    let whole = group(CONTROL_KEYS.iter().map(|name| (*name, key(name))).collect(), required);
    json!({ "anyOf": [key("positions"), whole] })
}

fn wire(required: &[&str]) -> Value {
    let key = |key: &str| match key {
        "from" | "to" => words("`PART.TERMINAL`, `CONNECTOR.HALF`, or a splice or ground point"),
        "colour" => words("by IEC 60757, `BU/WH`"),
        "size" => quantity(SIZE, "cross-section or gauge; 0.75 mm2"),
        "length" => quantity(LENGTH, "1 m when left out"),
        "temperature" => quantity(TEMPERATURE, "of the wire; 20 C"),
        "heavy" => words("`yes` for battery and starter cables"),
        "bundle" => words("the bundle it runs in, where it can chafe through to its neighbours"),
        key => common_key(key),
    };
    group(WIRE_KEYS.iter().map(|name| (*name, key(name))).collect(), required)
}

fn connector(required: &[&str]) -> Value {
    let keys = CONNECTOR_KEYS.iter().map(|key| (*key, connector_key(key)));
    group(keys.collect(), required)
}

fn connector_key(key: &str) -> Value {
    match key {
        "type" => {
            json!({ "enum": CONNECTOR_TYPES.iter().map(|(name, ..)| *name).collect::<Vec<_>>() })
        }
        "halves" => {
            json!({ "type": "array", "items": { "$ref": "#/definitions/words" }, "minItems": 2, "maxItems": 2 })
        }
        "pins" => lines("names of its pins; one without a name"),
        "ohms" => quantity(PIN_OHMS, "of one clean pin"),
        "part" => minutes("to part it, and as long to join it again"),
        key => common_key(key),
    }
}

fn work(required: &[&str]) -> Value {
    let key = |key: &str| match key {
        "when" => named(
            "control positions; controls not named stand at rest",
            &json!({ "$ref": "#/definitions/words" }),
        ),
        "see" => lines("what is seen or heard: `horn sounds`, `lamp dark`"),
        _ => words("`yes` when something turns or moves with force"),
    };
    group(WORK_KEYS.iter().map(|name| (*name, key(name))).collect(), required)
}

/// Keys that parts, wires and connectors share.
fn common_key(key: &str) -> Value {
    match key {
        "at" => words("its place"),
        "open_up" => minutes("to get inside it or take it off, on top of the place"),
        "reach" => minutes("to reach its terminals, on top of the place"),
        "sealed" => words("`yes` when no probe can touch its terminals"),
        "trouble" => {
            json!({ "type": ["string", "number"], "description": "how often it fails beside others of its kind; 1" })
        }
        "fix" => minutes("to repair or replace it"),
        "fix_note" => words("said with that repair"),
        "stamped" => named(
            "what is stamped on its terminals, by the names they have in the catalogue",
            &json!({ "$ref": "#/definitions/words" }),
        ),
        "note" => words("words for the learner"),
        _ => words("its name"),
    }
}

fn definition_name(of: &str, entry: &Entry) -> String {
    format!("{of}-{}", entry.word.replace(' ', "-"))
}

/// Any part of these kinds: the keys it may have depend on its kind.
fn part(kinds: &Value) -> Value {
    let cases: Vec<Value> = ENTRIES
        .iter()
        .map(|entry| {
            json!({
                "if": { "properties": { "kind": { "const": entry.word } } },
                "then": { "$ref": format!("#/definitions/{}", definition_name("kind", entry)) },
            })
        })
        .collect();
    json!({
        "type": "object",
        "required": ["kind", "at"],
        "properties": { "kind": kinds },
        "allOf": cases,
    })
}

fn kind(entry: &Entry) -> Value {
    let mut properties: Map<String, Value> =
        COMMON_KEYS.iter().map(|key| ((*key).to_owned(), several::of_kind(entry, key))).collect();
    properties.insert("kind".into(), json!({ "const": entry.word, "description": entry.about }));
    let mut required = vec!["kind", "at"];
    for key in entry.keys {
        properties.insert(key.name.to_owned(), own_key(key));
        if key.about.contains("has to be given") && !key.about.contains("this or") {
            required.push(key.name);
        }
    }
    json!({
        "type": "object",
        "description": entry.about,
        "additionalProperties": false,
        "properties": properties,
        "required": required,
    })
}

fn own_key(key: &Key) -> Value {
    match (key.range, key.name) {
        (Some(range), _) if range.unit == Unit::Plain => {
            json!({ "type": ["string", "number"], "description": key.about })
        }
        (Some(range), _) => quantity(range, key.about),
        (None, "ground") => json!({ "enum": ["body", "wire"], "description": key.about }),
        (None, "across_coil") => json!({ "enum": ["diode", "resistor"], "description": key.about }),
        (None, _) => json!({ "description": key.about }),
    }
}
