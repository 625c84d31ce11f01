//! The contract of the command line: JSON keys, ids, exit codes.

use std::process::{Command, Output};

use serde_json::Value;

fn run(words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_halfsplit")).args(words).output().unwrap()
}

fn json(words: &[&str]) -> Value {
    let output = run(words);
    assert!(output.status.success(), "{words:?}: {}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

/// A lamp on a switch: small enough for the debug build.
const LAMP: &str = "tests/data/screens/lamp.yaml";

#[test]
fn check_says_what_is_wrong_and_where() {
    let output = run(&["check", "--json", "tests/data/broken/unknown-terminal.yaml"]);
    assert_eq!(output.status.code(), Some(1));
    let value: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(value["ok"], false);
    let problem = &value["problems"][0];
    for key in ["severity", "file", "line", "column", "message", "help"] {
        assert!(problem.get(key).is_some(), "{key} is missing in {problem}");
    }
}

#[test]
fn expect_and_next_agree_on_ids_and_on_belief() {
    let expect = json(&["expect", LAMP, "--json"]);
    let suspects = expect["suspects"].as_array().unwrap();
    let tests = expect["tests"].as_array().unwrap();
    let next = json(&["next", LAMP, "--json"]);
    let proposed = next["test"]["id"].as_str().unwrap();
    let at = tests.iter().position(|test| test["id"] == proposed).expect("`expect` lists it");
    assert_eq!(suspects[0]["id"], "sound");
    let outcomes = expect["readings"][at][0]["outcomes"].as_object().unwrap();
    let outcome = outcomes.keys().next().unwrap();
    let reading = format!("{proposed}={outcome}");
    let after = json(&["next", LAMP, "--json", "--reading", &reading]);
    let weight = |suspect: usize| {
        suspects[suspect]["prior"].as_f64().unwrap()
            * expect["readings"][at][suspect]["outcomes"][outcome].as_f64().unwrap()
    };
    let total: f64 = (0..suspects.len()).map(weight).sum();
    for (number, suspect) in suspects.iter().enumerate() {
        let found = after["suspects"].as_array().unwrap();
        let found = found.iter().find(|one| one["id"] == suspect["id"]).unwrap();
        let difference = found["probability"].as_f64().unwrap() - weight(number) / total;
        assert!(difference.abs() < 1e-9, "{}: {difference:e}", suspect["id"]);
    }
}

#[test]
fn outcomes_sum_to_one_under_each_suspect() {
    let expect = json(&["expect", LAMP, "--json"]);
    for row in expect["readings"].as_array().unwrap().iter().flat_map(|row| row.as_array().unwrap())
    {
        let sum: f64 =
            row["outcomes"].as_object().unwrap().values().map(|one| one.as_f64().unwrap()).sum();
        assert!((sum - 1.0).abs() < 1e-9, "{row}");
    }
}

#[test]
fn a_cured_fix_is_a_verdict_and_an_uncured_one_moves_on() {
    let suspects = json(&["expect", LAMP, "--json"])["suspects"].clone();
    let fix = suspects[1]["fix"].as_str().unwrap().to_owned();
    let cured = json(&["next", LAMP, "--json", "--reading", &format!("{fix}=cured")]);
    assert_eq!(cured["verdict"]["cured"], true);
    let other = json(&["next", LAMP, "--json", "--reading", &format!("{fix}=not-cured")]);
    assert_ne!(other["fix"]["id"], fix.as_str());
    assert!(other.get("verdict").is_none() || other["verdict"]["cured"] == false);
}

#[test]
fn bad_usage_ends_with_two_and_says_what_is_there() {
    let unknown = run(&["next", "start-buton"]);
    assert_eq!(unknown.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&unknown.stderr).contains("start-button"));
    let reading = run(&["next", LAMP, "--reading", "nonsense"]);
    assert_eq!(reading.status.code(), Some(2));
    assert_eq!(run(&["nonsense"]).status.code(), Some(2));
    assert_eq!(run(&["--help"]).status.code(), Some(0));
}

#[test]
fn trial_compares_ways_of_working() {
    let trial = json(&["trial", LAMP, "--json"]);
    assert_eq!(trial["cured_share"], 1.0);
    for key in ["mean_minutes", "mean_tests", "worst_minutes", "worst_tests"] {
        assert!(trial[key].as_f64().unwrap() > 0.0, "{key}");
    }
    for way in ["end_to_end", "half_split_by_count", "likeliest_first"] {
        assert!(trial["other_ways"][way]["mean_minutes"].as_f64().unwrap() > 0.0);
    }
    for one in trial["per_suspect"].as_array().unwrap() {
        assert_eq!(one["cured"], true, "{one}");
    }
    let minutes = |key: &str| trial[key].as_f64();
    let (bound, mean) = (minutes("bound_minutes").unwrap(), minutes("mean_minutes").unwrap());
    assert!(0.5 * mean < bound && bound <= mean + 1e-9, "{bound} {mean}");
    let optimum = minutes("optimum_minutes").expect("few enough suspects");
    assert!(bound <= optimum + 1e-9 && optimum <= mean + 1e-9, "{bound} {optimum} {mean}");
}

#[test]
fn what_no_fault_can_cause_is_neither_played_nor_drilled() {
    let lamp = std::fs::read_to_string(LAMP).unwrap();
    // A lamp with both ends on ground is dark whatever is wrong.
    let spare = "  spare lamp: { kind: lamp, watts: 21 W, at: bench }\n";
    let ends = "  - { from: spare lamp.+, to: frame ground, colour: BK, size: 1 mm2, length: 1 m }\n  \
                - { from: spare lamp.-, to: frame ground, colour: BK, size: 1 mm2, length: 1 m }\n";
    let lamp = lamp.replace("  frame ground:", &format!("{spare}  frame ground:"));
    let lamp = lamp.replace("wires:\n", &format!("wires:\n{ends}"));
    let lamp = lamp.replace("see: work lamp lit", "see: spare lamp dark");
    let path = std::env::temp_dir().join(format!("halfsplit-{}-dark.yaml", std::process::id()));
    std::fs::write(&path, lamp).unwrap();
    let file = path.to_str().unwrap();
    for words in [&["trial", file][..], &["drill", file, "--seed", "1", "--plain"]] {
        let output = run(words);
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(1), "{said}");
        assert!(said.contains("no fault of this circuit"), "{said}");
    }
    std::fs::remove_file(&path).unwrap();
}

#[test]
fn trial_plays_a_printed_sequence_beside_the_planner() {
    let sheet = "tests/data/sequences/lamp/sheet.yaml";
    let trial = json(&["trial", LAMP, "--sequence", sheet, "--json"]);
    assert_eq!(trial["planned"]["cured_share"], 1.0);
    let share = trial["sequence"]["cured_share"].as_f64().unwrap();
    assert!(share > 0.1 && share < 0.9, "{share}");
    let both = &trial["on_what_the_sequence_finds"];
    for key in ["sequence_minutes", "sequence_tests", "planned_minutes", "planned_tests"] {
        assert!(both[key].as_f64().unwrap() > 0.0, "{key}");
    }
    let absent = run(&["trial", LAMP, "--sequence", "nowhere.yaml"]);
    assert_eq!(absent.status.code(), Some(2));
    let other = run(&["trial", LAMP, "--sequence", "tests/data/sequences/roller-383.yaml"]);
    assert_eq!(other.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&other.stderr).contains("this sheet is for this circuit"));
}

#[test]
fn amperes_are_typed_with_their_unit_or_bare() {
    let after = |reading: &str| {
        let typed = format!("clamp/battery--toggle-switch/toggle.on={reading}");
        json(&["next", LAMP, "--json", "--reading", &typed])["suspects"].clone()
    };
    assert_eq!(after("1.7 A"), after("1.7"));
    assert_ne!(after("1.7 A"), after("20 mA"));
}
