//! The JSON Schema of circuit files: it knows every key of the catalogue, takes every good file and
//! refuses what the reader refuses.

use halfsplit::circuit::catalogue::{COMMON_KEYS, ENTRIES};
use halfsplit::circuit::schema::schema;
use halfsplit::circuit::start::{Answers, skeleton};
use halfsplit::circuit::{builtin, catalogue::wiring};
use serde_json::Value;

/// Whether a value keeps a rule that looks at nothing but the value itself; `None` for other rules.
fn keeps(word: &str, rule: &Value, value: &Value) -> Option<bool> {
    let count = value.as_array().map_or(0, Vec::len) as u64;
    Some(match word {
        "type" => {
            let names = rule.as_array().cloned().unwrap_or_else(|| vec![rule.clone()]);
            names.iter().any(|name| is_a(value, name.as_str().unwrap()))
        }
        "const" => value == rule,
        "enum" => rule.as_array().unwrap().contains(value),
        "pattern" => {
            assert_eq!(rule, "^[^,]*$");
            !value.as_str().is_some_and(|text| text.contains(','))
        }
        "minItems" => !value.is_array() || count >= rule.as_u64().unwrap(),
        "maxItems" => !value.is_array() || count <= rule.as_u64().unwrap(),
        "required" => {
            let keys = rule.as_array().unwrap();
            !value.is_object() || keys.iter().all(|key| value.get(key.as_str().unwrap()).is_some())
        }
        "$comment" | "$schema" | "title" | "description" | "definitions" | "then" | "else" => true,
        _ => return None,
    })
}

/// Where a value does not fit; the pieces of draft 7 which our schema uses, and no others.
fn misfits(root: &Value, schema: &Value, value: &Value, place: &str) -> Vec<String> {
    let inner = |rule: &Value, value: &Value, key: &str| {
        misfits(root, rule, value, &format!("{place}/{key}"))
    };
    let mut found = Vec::new();
    for (word, rule) in schema.as_object().unwrap() {
        if let Some(kept) = keeps(word, rule, value) {
            found.extend((!kept).then(|| format!("{place}: {word} {rule}, but {value}")));
            continue;
        }
        let list = || rule.as_array().into_iter().flatten();
        found.extend(match word.as_str() {
            "$ref" => {
                let path = rule.as_str().unwrap().strip_prefix('#').unwrap();
                misfits(root, root.pointer(path).unwrap(), value, place)
            }
            "items" => {
                let items = value.as_array().into_iter().flatten();
                items.flat_map(|item| inner(rule, item, "item")).collect()
            }
            "properties" => {
                let rules = rule.as_object().unwrap().iter();
                let there = rules.filter_map(|(key, rule)| Some((key, rule, value.get(key)?)));
                there.flat_map(|(key, rule, value)| inner(rule, value, key)).collect()
            }
            "additionalProperties" => {
                let known = |key: &str| schema["properties"].get(key).is_some();
                let others = value.as_object().into_iter().flatten().filter(|(key, _)| !known(key));
                if rule.is_boolean() {
                    others.map(|(key, _)| format!("{place}: no key {key}")).collect()
                } else {
                    others.flat_map(|(key, value)| inner(rule, value, key)).collect()
                }
            }
            "allOf" => list().flat_map(|one| misfits(root, one, value, place)).collect(),
            "anyOf" if list().any(|one| misfits(root, one, value, place).is_empty()) => Vec::new(),
            "anyOf" => vec![format!("{place}: {value} fits none")],
            "if" if misfits(root, rule, value, place).is_empty() => {
                misfits(root, &schema["then"], value, place)
            }
            "if" => schema.get("else").map_or(Vec::new(), |rule| misfits(root, rule, value, place)),
            "not" if misfits(root, rule, value, place).is_empty() => {
                vec![format!("{place}: {value} fits")]
            }
            "not" => Vec::new(),
            other => panic!("a word this test does not know: {other}"),
        });
    }
    found
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
    misfits(&root, &root, &value, "")
}

#[test]
fn good_files_fit() {
    let every = std::fs::read_to_string("tests/data/every-kind.yaml").unwrap();
    assert_eq!(found(&every), [""; 0]);
    for name in builtin::names() {
        assert_eq!(found(builtin::text(name).unwrap()), [""; 0], "{name}");
    }
    for path in ["shared/kinds", "shared/supply", "horn", "work-lamp", "horn-cart-3"] {
        let text = std::fs::read_to_string(format!("examples/shop/{path}.yaml")).unwrap();
        assert_eq!(found(&text), [""; 0], "{path}");
    }
    let answers = Answers { name: "A".into(), machine: "B".into(), system: "24 V".into() };
    assert_eq!(found(&skeleton(&answers)), [""; 0]);
}

/// With any of these put in the other's place, a file that fits does not.
#[track_caller]
fn none_fits(good: &str, wrongs: &[(&str, &str)]) {
    for (right, wrong) in wrongs {
        assert!(good.contains(right));
        assert!(!found(&good.replacen(right, wrong, 1)).is_empty(), "{wrong}");
    }
}

#[test]
fn what_the_reader_refuses_does_not_fit() {
    let good = builtin::text("start-button").unwrap();
    let wrongs = [
        ("kind: solenoid", "kind: solonoid"),
        ("colour: BN", "color: BN"),
        ("coil: 3.6 ohm", "coil: 3,6 ohm"),
        ("kind: fuse, rating", "kind: fuse, coil"),
        ("control: key, closed", "closed"),
        ("format: 1", "format: 2"),
        ("\nwires:", "\nwire:"),
        ("type: bullet", "type: bulet"),
        ("positions: [off, on]", "positions: [on]"),
        ("name: Start", "nam: Start"),
        ("\nplaces:", "\nincldue:"),
        ("kind: solenoid", "faults: { coil: 2, spring: 3 }\n    kind: solenoid"),
    ];
    none_fits(good, &wrongs);
}

#[test]
fn what_is_refused_of_an_overlay_does_not_fit() {
    let good = std::fs::read_to_string("examples/shop/horn-cart-3.yaml").unwrap();
    let wrongs = [
        ("C1: absent", "C1: gone"),
        ("change:", "chnage:"),
        ("colour: GN", "color: GN"),
        ("  places:", "  place:"),
        ("kind: horn, at: nose", "kind: horn"),
    ];
    none_fits(&good, &wrongs);
    let good = std::fs::read_to_string("examples/shop/shared/kinds.yaml").unwrap();
    let wrongs = [
        ("like: relay", "like: relais"),
        ("like: relay", "kind: relay"),
        ("coil: 85 ohm", "watts: 85 W"),
        ("contact-welded: 4", "contact-wielded: 4"),
        ("coil: 0.5 }", "coils: 0.5 }"),
    ];
    none_fits(&good, &wrongs);
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
