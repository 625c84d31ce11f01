//! The JSON Schema of circuit files: it knows every key of the catalogue, takes every good file and
//! refuses what the reader refuses.

use halfsplit::circuit::catalogue::{COMMON_KEYS, ENTRIES};
use halfsplit::circuit::schema::schema;
use halfsplit::circuit::start::{Answers, skeleton};
use halfsplit::circuit::{builtin, catalogue::wiring};
use serde_json::Value;

/// Where a value does not fit; the pieces of draft 7 which our schema uses, and no others.
fn misfits(root: &Value, schema: &Value, value: &Value, place: &str, found: &mut Vec<String>) {
    let before = found.len();
    for (word, rule) in schema.as_object().unwrap() {
        match word.as_str() {
            "$comment" | "$schema" | "title" | "description" | "definitions" | "then" => {}
            "$ref" => {
                let path = rule.as_str().unwrap().strip_prefix('#').unwrap();
                misfits(root, root.pointer(path).unwrap(), value, place, found);
            }
            "type" => {
                let list = rule.as_array().cloned().unwrap_or_else(|| vec![rule.clone()]);
                if !list.iter().any(|name| is_a(value, name.as_str().unwrap())) {
                    found.push(format!("{place}: {value} is no {rule}"));
                }
            }
            "const" if value != rule => found.push(format!("{place}: {value} is not {rule}")),
            "enum" if !rule.as_array().unwrap().contains(value) => {
                found.push(format!("{place}: {value}"))
            }
            "const" | "enum" => {}
            "pattern" => {
                assert_eq!(rule, "^[^,]*$");
                if value.as_str().is_some_and(|text| text.contains(',')) {
                    found.push(format!("{place}: {value} has a comma"));
                }
            }
            "minItems" | "maxItems" => {
                let (count, limit) =
                    (value.as_array().map_or(0, Vec::len) as u64, rule.as_u64().unwrap());
                let short = word == "minItems" && count < limit;
                if value.is_array() && (short || word == "maxItems" && count > limit) {
                    found.push(format!("{place}: {count} items"));
                }
            }
            "items" => {
                for (at, item) in value.as_array().into_iter().flatten().enumerate() {
                    misfits(root, rule, item, &format!("{place}/{at}"), found);
                }
            }
            "required" => {
                let missing = rule
                    .as_array()
                    .unwrap()
                    .iter()
                    .filter(|key| value.get(key.as_str().unwrap()).is_none());
                found.extend(
                    missing.filter(|_| value.is_object()).map(|key| format!("{place}: no {key}")),
                );
            }
            "properties" => {
                for (key, rule) in rule.as_object().unwrap() {
                    if let Some(inner) = value.get(key) {
                        misfits(root, rule, inner, &format!("{place}/{key}"), found);
                    }
                }
            }
            "additionalProperties" => {
                for (key, inner) in value.as_object().into_iter().flatten() {
                    if schema.pointer(&format!("/properties/{key}")).is_some() {
                        continue;
                    }
                    if rule == &Value::Bool(false) {
                        found.push(format!("{place}: no key {key}"));
                    } else {
                        misfits(root, rule, inner, &format!("{place}/{key}"), found);
                    }
                }
            }
            "allOf" => rule
                .as_array()
                .unwrap()
                .iter()
                .for_each(|one| misfits(root, one, value, place, found)),
            "anyOf" => {
                let fits = |one: &Value| {
                    let mut inner = Vec::new();
                    misfits(root, one, value, place, &mut inner);
                    inner.is_empty()
                };
                if !rule.as_array().unwrap().iter().any(fits) {
                    found.push(format!("{place}: {value} fits none"));
                }
            }
            "if" => {
                let mut inner = Vec::new();
                misfits(root, rule, value, place, &mut inner);
                if inner.is_empty() {
                    misfits(root, &schema["then"], value, place, found);
                }
            }
            other => panic!("a word this test does not know: {other}"),
        }
    }
    found[before..].sort();
}

fn is_a(value: &Value, name: &str) -> bool {
    match name {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "number" => value.is_number(),
        "boolean" => value.is_boolean(),
        _ => false,
    }
}

fn found(text: &str) -> Vec<String> {
    let value: Value = serde_yaml::from_str(text).unwrap();
    let root = schema();
    let mut found = Vec::new();
    misfits(&root, &root, &value, "", &mut found);
    found
}

#[test]
fn good_files_fit() {
    let every = std::fs::read_to_string("tests/data/every-kind.yaml").unwrap();
    assert_eq!(found(&every), [""; 0]);
    for name in builtin::names() {
        assert_eq!(found(builtin::text(name).unwrap()), [""; 0], "{name}");
    }
    let answers = Answers { name: "A".into(), machine: "B".into(), system: "24 V".into() };
    assert_eq!(found(&skeleton(&answers)), [""; 0]);
}

#[test]
fn what_the_reader_refuses_does_not_fit() {
    let good = builtin::text("start-button").unwrap();
    for (right, wrong) in [
        ("kind: solenoid", "kind: solonoid"),
        ("colour: BN", "color: BN"),
        ("coil: 3.6 ohm", "coil: 3,6 ohm"),
        ("kind: fuse, rating", "kind: fuse, coil"),
        ("control: key, closed", "closed"),
        ("format: 1", "format: 2"),
        ("\nwires:", "\nwire:"),
        ("type: bullet", "type: bulet"),
        ("positions: [off, on]", "positions: [on]"),
    ] {
        assert!(good.contains(right));
        assert!(!found(&good.replacen(right, wrong, 1)).is_empty(), "{wrong}");
    }
}

#[test]
fn every_key_of_the_catalogue_is_in_it() {
    let schema = schema();
    for entry in ENTRIES {
        let pointer = format!("/definitions/kind-{}/properties", entry.word.replace(' ', "-"));
        let keys = schema.pointer(&pointer).unwrap();
        for key in COMMON_KEYS.iter().copied().chain(entry.keys.iter().map(|key| key.name)) {
            assert!(keys.get(key).is_some(), "{}: {key}", entry.word);
        }
    }
    for key in wiring::WIRE_KEYS {
        assert!(
            schema.pointer(&format!("/properties/wires/items/properties/{key}")).is_some(),
            "{key}"
        );
    }
}
