//! Answers as people type them, exact and vague; the cases are lines of `tests/data/typed`.

use std::fs;
use std::path::Path;

use halfsplit::job::entry::typed::{Asked, Bounds};
use halfsplit::job::event::Answer;

fn cases(file: &str) -> Vec<[String; 3]> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/typed").join(file);
    let text = fs::read_to_string(path).unwrap();
    let cases: Vec<[String; 3]> = text
        .lines()
        .filter(|line| !line.starts_with('#') && !line.is_empty())
        .map(|line| {
            let parts: Vec<String> = line.split('|').map(|part| part.trim().to_owned()).collect();
            parts.try_into().unwrap()
        })
        .collect();
    assert!(cases.len() > 20);
    cases
}

fn near(found: Option<f64>, wanted: &str) -> bool {
    match (found, wanted.trim()) {
        (None, "") => true,
        (Some(found), wanted) => wanted
            .parse::<f64>()
            .is_ok_and(|wanted| (found - wanted).abs() < 1e-9 * wanted.abs().max(1.0)),
        _ => false,
    }
}

#[test]
fn numbers_may_be_vague() {
    for [unit, typed, wanted] in cases("numbers.txt") {
        let number = match unit.as_str() {
            "V" => ("V", -18.0, 18.0, false),
            // Across a fuse, as the meter's range has it.
            "mV" | "mV at 48 V" => ("V", -60.0, 60.0, true),
            "ohm" => ("ohm", 0.0, 1.0e9, false),
            _ => ("A", -1000.0, 1000.0, true),
        };
        let (unit_of, least, most, either_sign) = number;
        let system_volts = if unit.ends_with("48 V") { 48.0 } else { 12.0 };
        let number = Bounds { unit: unit_of, least, most, system_volts, either_sign };
        let asked = Asked { number: Some(number), ids: vec!["under-1V", "over-1V"] };
        let found = asked.read(&typed);
        let fits = match (&found, wanted.strip_prefix('!')) {
            (Err(error), Some(word)) => error.to_string().contains(word.trim()),
            (Ok(Answer::Number(value)), None) => near(Some(*value), &wanted),
            (Ok(Answer::Between { least, most }), None) => wanted
                .split_once("..")
                .is_some_and(|(low, high)| near(*least, low) && near(*most, high)),
            _ => false,
        };
        assert!(fits, "`{typed}` as {unit}: {found:?}, expected {wanted}");
    }
}

#[test]
fn words_may_stand_for_several_outcomes() {
    for [outcomes, typed, wanted] in cases("words.txt") {
        let asked = Asked { number: None, ids: outcomes.split_whitespace().collect() };
        let found = match asked.read(&typed) {
            Ok(Answer::Named(id)) => id,
            Ok(Answer::AnyOf { any_of }) => any_of.join(" "),
            Ok(other) => panic!("{other:?}"),
            Err(_) => "!".to_owned(),
        };
        assert_eq!(found, wanted, "`{typed}` of {outcomes}");
    }
}
