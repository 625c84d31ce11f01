//! Circuit files: what sound ones become, what broken ones are told, that any text returns.

use std::collections::{BTreeMap, HashSet};
use std::fmt::Write;

use halfsplit::circuit::catalogue::wiring::{self, copper_ohms};
use halfsplit::circuit::read::read_text;
use halfsplit::circuit::read::tree::KEYS;
use halfsplit::circuit::reuse::CHANGE_KEYS;
use halfsplit::circuit::{Circuit, Kind, builtin, catalogue, colour};
use halfsplit::problem::{Picture, Severity, Source, json, one_line, picture, sanitise};
use halfsplit::quantity::{self, Unit};
use proptest::prelude::*;
use serde::Deserialize;

fn load(name: &str) -> Circuit {
    let (circuit, problems) = read_text(name, builtin::text(name).unwrap());
    assert_eq!(problems, [], "{name}");
    circuit.unwrap()
}

/// Parts with their links, one a line.
fn listing(circuit: &Circuit) -> String {
    let mut text = String::new();
    for id in circuit.part_ids() {
        let part = circuit.part(id);
        writeln!(text, "{} | {} | {}", part.id, part.name, circuit.place(part.place).name).unwrap();
        if let Kind::Wire { colour, area_mm2, length_metres, heavy } = &part.kind {
            writeln!(text, "  {colour} {area_mm2} mm2 {length_metres} m heavy={heavy}").unwrap();
        }
        for link in circuit.links_of(id) {
            let (first, second) = circuit.ends(*link);
            let (first, second) = (&circuit.terminal(first).id, &circuit.terminal(second).id);
            let link = circuit.link(*link);
            writeln!(text, "  {} -> {} {}: {:?}", first, second, link.role, link.element).unwrap();
        }
    }
    text
}

#[test]
fn the_start_button_circuit_becomes_a_graph() {
    insta::assert_snapshot!(listing(&load("start-button")));
}

/// Everything the format has, in one circuit that need not make sense on a machine.
#[test]
fn every_kind_becomes_terminals_and_links() {
    let text = std::fs::read_to_string("tests/data/every-kind.yaml").unwrap();
    let (circuit, problems) = read_text("every-kind.yaml", &text);
    assert_eq!(problems, []);
    insta::assert_snapshot!(listing(&circuit.unwrap()));
}

#[test]
fn broken() {
    insta::glob!("../data/broken", "*.yaml", |path| {
        let text = std::fs::read_to_string(path).unwrap();
        let name = path.file_name().unwrap().to_str().unwrap();
        let (circuit, problems) = read_text(name, &text);
        let source = Source { name, text: &text };
        assert!(!problems.is_empty());
        let errors = problems.iter().any(|problem| problem.severity == Severity::Error);
        assert_eq!(circuit.is_none(), errors);
        let mut told = String::new();
        for problem in &problems {
            assert!(problem.help.is_some(), "no way out: {}", one_line(problem, &[source]));
            writeln!(told, "{}\n", picture(problem, &[source], Picture::default())).unwrap();
        }
        insta::with_settings!({
            omit_expression => true,
            prepend_module_to_snapshot => false,
            snapshot_path => "snapshots/broken",
        }, { insta::assert_snapshot!(told) });
    });
}

#[test]
fn ids_are_unique_stable_and_need_no_quoting() {
    for name in builtin::names() {
        let (circuit, again) = (load(name), load(name));
        let ids: Vec<&str> = circuit.parts.iter().map(|part| part.id.as_str()).collect();
        assert_eq!(ids, again.parts.iter().map(|part| part.id.as_str()).collect::<Vec<_>>());
        let mut met = HashSet::new();
        let mut names = HashSet::new();
        let plain = |id: &str, also: &str| {
            id.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || also.contains(c))
        };
        for part in &circuit.parts {
            assert!(plain(&part.id, "-") && met.insert(&part.id), "{name}: {}", part.id);
            assert!(names.insert(&part.name), "{name}: {}", part.name);
        }
        for id in circuit.terminal_ids() {
            let terminal = circuit.terminal(id);
            assert!(
                plain(&terminal.id, "-.") && met.insert(&terminal.id),
                "{name}: {}",
                terminal.id
            );
            assert_eq!(circuit.find_terminal(&terminal.id), Some(id));
        }
    }
}

#[test]
fn wires_between_the_same_parts_are_told_apart() {
    let text = builtin::text("horn-relay").unwrap();
    let double = "\n  - { from: horn relay.87, to: C5.loom side, colour: VT }\
                  \n  - { from: supply splice, to: horn relay.86 }\
                  \n  - { from: supply splice, to: horn relay.30 }\nworks:";
    let (circuit, problems) = read_text("x", &text.replace("\nworks:", double));
    assert_eq!(problems, []);
    let circuit = circuit.unwrap();
    let ids: HashSet<&str> = circuit.parts.iter().map(|part| part.id.as_str()).collect();
    assert_eq!(ids.len(), circuit.parts.len());
    assert!(ids.contains("horn-relay-87--c5-loom-side--2"), "{ids:?}");
    assert!(ids.contains("supply-splice-joint--horn-relay-86"), "{ids:?}");
    let names: HashSet<&str> = circuit.parts.iter().map(|part| part.name.as_str()).collect();
    assert_eq!(names.len(), circuit.parts.len());
}

#[test]
fn names_as_written_find_their_terminals() {
    let circuit = load("start-interlock");
    for (written, id) in [
        ("battery.+", "battery.plus"),
        ("C1.run loom side", "c1.run-loom-side"),
        ("Start Relay.coil in", "start-relay.coil-in"),
        ("neutral switch.body", "neutral-switch.body"),
    ] {
        let found = circuit.find_terminal(written).unwrap();
        assert_eq!(circuit.terminal(found).id, id);
    }
    assert_eq!(circuit.find_terminal("battery.*"), None);
    assert_eq!(circuit.terminal(circuit.positive()).id, "battery.plus");
    assert_eq!(circuit.terminal(circuit.negative()).id, "battery.minus");
}

#[test]
fn problems_print_as_lines_and_json() {
    let text = "format: 1\nname: \"a \\e[31mb\"\nsystem: 12 W\n";
    let (circuit, problems) = read_text("dir/x\u{1b}.yaml", text);
    assert!(circuit.is_none());
    let source = Source { name: "dir/x\u{1b}.yaml", text };
    let system = problems.iter().find(|problem| problem.id == "not-a-quantity").unwrap();
    assert_eq!(
        one_line(system, &[source]),
        "dir/x.yaml:3:9: error: `system`: `W` measures power, but voltage is wanted; \
         write it like `12 V`"
    );
    let value = json(system, &[source]);
    let keys: Vec<&str> = value.as_object().unwrap().keys().map(String::as_str).collect();
    assert_eq!(keys, ["column", "file", "help", "id", "line", "message", "notes", "severity"]);
    assert_eq!((value["line"].as_u64(), value["column"].as_u64()), (Some(3), Some(9)));
}

#[test]
fn a_large_file_reads_quickly_and_a_hopeless_one_stops() {
    let mut text = builtin::text("horn-relay").unwrap().replace("\nworks:", "\n#works:");
    let mut parts = String::new();
    let mut wires = String::new();
    for n in 0..2000 {
        writeln!(parts, "  lamp {n}: {{ kind: lamp, at: under seat }}").unwrap();
        writeln!(wires, "  - {{ from: supply splice, to: lamp {n}.+, colour: RD }}").unwrap();
        writeln!(wires, "  - {{ from: lamp {n}.-, to: frame ground, colour: BK }}").unwrap();
    }
    text = text.replace("parts:\n", &format!("parts:\n{parts}"));
    text = text.replace("wires:\n", &format!("wires:\n{wires}"));
    let works =
        "works: { sounds: { when: { key: on, horn button: pressed }, see: horn sounds } }\n";
    let text = text.split("#works:").next().unwrap().to_owned() + works;
    let (circuit, problems) = read_text("large", &text);
    assert_eq!(problems, []);
    assert!(circuit.unwrap().parts.len() > 6000);
    let (_, problems) = read_text("hopeless", &text.replace(".+", ".x"));
    assert_eq!(problems.len(), 201);
    assert_eq!(problems[200].id, "too-many");
}

#[derive(Deserialize)]
struct Sizes<T> {
    sizes: Vec<T>,
}

#[derive(Deserialize)]
struct Gauge {
    awg: String,
    circular_mils: f64,
    ohms_per_1000_ft: f64,
    diameter_inches: f64,
}

#[test]
fn gauges_agree_with_the_published_table() {
    let text = std::fs::read_to_string("tests/data/wire/awg.yaml").unwrap();
    let table: Sizes<Gauge> = serde_yaml::from_str(&text).unwrap();
    for Gauge { awg, circular_mils, ohms_per_1000_ft, diameter_inches } in table.sizes {
        let area_mm2 = quantity::parse(&format!("{awg} AWG"), Unit::Area).unwrap();
        let close = |value: f64, published: f64, share: f64| {
            assert!((value / published - 1.0).abs() < share, "{awg}: {value} against {published}");
        };
        // A circular mil is pi/4 of a thousandth of an inch squared: 5.067075e-4 mm2.
        close(area_mm2 / 5.067_075e-4, circular_mils, 1e-3);
        let diameter = (area_mm2 * 4.0 / std::f64::consts::PI).sqrt() / 25.4;
        close(diameter, diameter_inches, 1e-3);
        // The heaviest sizes are printed to two digits.
        let share = if awg.ends_with("/0") { 6e-3 } else { 2e-3 };
        close(copper_ohms(304.8, area_mm2, 20.0), ohms_per_1000_ft, share);
    }
}

#[derive(Deserialize)]
struct Metric {
    mm2: f64,
    ohms_per_km: f64,
}

#[test]
fn metric_sizes_lie_below_the_limits_of_iec_60228() {
    let text = std::fs::read_to_string("tests/data/wire/iec60228.yaml").unwrap();
    let table: Sizes<Metric> = serde_yaml::from_str(&text).unwrap();
    for Metric { mm2, ohms_per_km } in table.sizes {
        let share = ohms_per_km / copper_ohms(1000.0, mm2, 20.0);
        assert!((1.10..1.16).contains(&share), "{mm2} mm2: limit over ours {share}");
    }
}

#[test]
fn colour_codes_are_those_of_iec_60757() {
    #[derive(Deserialize)]
    struct Table {
        codes: BTreeMap<String, String>,
    }
    let text = std::fs::read_to_string("tests/data/wire/colours.yaml").unwrap();
    let table: Table = serde_yaml::from_str(&text).unwrap();
    let ours: BTreeMap<String, String> =
        colour::CODES.iter().map(|(code, name)| ((*code).to_owned(), (*name).to_owned())).collect();
    assert_eq!(ours, table.codes);
}

/// Reading returns; a circuit comes with no error; every problem can be shown and points into the text.
fn check_any(text: &str) -> Result<(), TestCaseError> {
    let (circuit, problems) = read_text("any.yaml", text);
    let errors = problems.iter().filter(|problem| problem.severity == Severity::Error).count();
    prop_assert_eq!(circuit.is_some(), errors == 0);
    let source = Source { name: "any.yaml", text };
    for problem in &problems {
        prop_assert!(problem.span.bytes.end <= text.len());
        prop_assert!(problem.span.line >= 1 && problem.span.column >= 1);
        prop_assert!(problem.help.is_some());
        let shown = picture(problem, &[source], Picture::default()) + &one_line(problem, &[source]);
        prop_assert!(!shown.chars().any(|c| c.is_control() && c != '\n'), "{shown:?}");
    }
    Ok(())
}

/// A built-in circuit with some pieces taken out, doubled, or replaced.
fn damaged() -> impl Strategy<Value = String> {
    let pieces = prop_oneof![
        Just(String::new()),
        Just("- ".to_owned()),
        Just(": ".to_owned()),
        Just("{".to_owned()),
        Just("}, ".to_owned()),
        Just("[".to_owned()),
        Just("\n".to_owned()),
        Just("&a ".to_owned()),
        Just("*a ".to_owned()),
        Just("battery".to_owned()),
        Just("-1".to_owned()),
        Just("\u{202e}é\u{1f527}".to_owned()),
        any::<String>(),
    ];
    let edits = prop::collection::vec((any::<prop::sample::Index>(), 0_usize..40, pieces), 0..6);
    (prop::sample::select(builtin::names()), edits).prop_map(|(name, edits)| {
        let mut text: Vec<char> = builtin::text(name).unwrap().chars().collect();
        for (at, length, piece) in edits {
            let start = at.index(text.len() + 1);
            let end = (start + length).min(text.len());
            text.splice(start..end, piece.chars());
        }
        text.into_iter().collect()
    })
}

fn unit() -> impl Strategy<Value = Unit> {
    prop::sample::select(vec![
        Unit::Volts,
        Unit::Ohms,
        Unit::Amps,
        Unit::Watts,
        Unit::Area,
        Unit::Metres,
        Unit::Minutes,
        Unit::Plain,
    ])
}

proptest! {
    #[test]
    fn any_text_returns(text in any::<String>()) {
        check_any(&text)?;
    }

    #[test]
    fn any_yaml_like_text_returns(text in "([a-z]{0,3}|: |- |\n|  |[{},\\[\\]&*!|>'\"#?%\t~]|[0-9.]|\u{e9}){0,60}") {
        check_any(&text)?;
    }

    #[test]
    fn a_damaged_circuit_returns(text in damaged()) {
        check_any(&text)?;
    }

    #[test]
    fn what_is_shown_is_read_back(digits in -9.99..9.99_f64, power in -6..8_i32, unit in unit()) {
        let value = digits * 10_f64.powi(power);
        let shown = quantity::show_digits(value, unit, 6);
        let read = quantity::parse(&shown, unit).unwrap();
        prop_assert!((read - value).abs() <= 1e-5 * value.abs(), "{value} shown as {shown}, read as {read}");
        let short = quantity::show(value, unit);
        let read = quantity::parse(&short, unit).unwrap();
        prop_assert!((read - value).abs() <= 6e-3 * value.abs(), "{value} shown as {short}, read as {read}");
    }

    #[test]
    fn any_text_as_a_quantity_returns(text in any::<String>(), unit in unit()) {
        if let Ok(value) = quantity::parse(&text, unit) {
            prop_assert!(value.is_finite());
        }
    }

    #[test]
    fn sanitised_text_stays_so(text in any::<String>()) {
        let clean = sanitise(&text);
        prop_assert!(!clean.chars().any(char::is_control));
        prop_assert_eq!(&sanitise(&clean), &clean);
    }
}

#[test]
fn the_page_on_the_format_is_true() {
    let page = std::fs::read_to_string("circuits/README.md").unwrap();
    let example = page.split("```yaml\n").nth(1).unwrap().split("```").next().unwrap();
    let (circuit, problems) = read_text("page", example);
    assert_eq!(problems, []);
    assert!(circuit.is_some());
    let named = |word: &str| {
        page.contains(&format!("`{word}`")) || page.contains(&format!("`{word}:")) || {
            example.contains(&format!("{word}:"))
        }
    };
    for entry in catalogue::ENTRIES {
        assert!(page.contains(&format!("| `{}` |", entry.word)), "{}", entry.word);
        for key in entry.keys {
            assert!(named(key.name), "{}: {}", entry.word, key.name);
        }
    }
    for entry in catalogue::ENTRIES {
        assert!(
            catalogue::faults::of(entry.word).iter().all(|fault| named(fault)),
            "{}",
            entry.word
        );
    }
    let others =
        [catalogue::COMMON_KEYS, wiring::WIRE_KEYS, wiring::CONNECTOR_KEYS, KEYS, CHANGE_KEYS];
    for key in others.into_iter().flatten() {
        assert!(named(key), "{key}");
    }
    assert!(colour::CODES.iter().all(|(code, _)| page.contains(code)));
    assert!(wiring::CONNECTOR_TYPES.iter().all(|(word, ..)| named(word)));
}
