//! Any text as what a person types for a reading.
#![no_main]

use halfsplit::job::event::Answer;
use halfsplit::job::entry::typed::{Asked, Bounds};
use halfsplit::quantity::{self, Unit};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|typed: &str| {
    let units = [
        ("V", -18.0, 18.0, false),
        ("V", -60.0, 60.0, true),
        ("ohm", 0.0, 1.0e9, false),
        ("A", -1000.0, 1000.0, true),
    ];
    for (unit, least, most, either_sign) in units {
        let bounds = Bounds { unit, least, most, system_volts: 12.0, either_sign };
        let asked = Asked { number: Some(bounds), ids: vec!["under-1V", "over-1V"] };
        match asked.read(typed) {
            Ok(Answer::Number(value)) => assert!((least..=most).contains(&value), "{value}"),
            Ok(Answer::Between { least: low, most: high }) => {
                let within = |end: f64| (least..=most).contains(&end);
                assert!(low.is_none_or(within) && high.is_none_or(within), "{low:?} {high:?}");
                assert!(low.is_some() || high.is_some());
            }
            Ok(Answer::Named(id)) => assert!(asked.ids.contains(&id.as_str())),
            Ok(Answer::AnyOf { any_of }) => assert!(any_of.len() > 1),
            Err(error) => drop(error.to_string()),
        }
    }
    let words = Asked { number: None, ids: vec!["dark", "dim", "lit"] };
    match words.read(typed) {
        Ok(Answer::Named(id)) => assert!(words.ids.contains(&id.as_str())),
        Ok(Answer::AnyOf { any_of }) => assert!(any_of.len() > 1),
        Ok(other) => panic!("{other:?} where words are asked for"),
        Err(error) => drop(error.to_string()),
    }
    let units = [Unit::Volts, Unit::Ohms, Unit::Area, Unit::Metres, Unit::Minutes, Unit::Plain];
    for unit in units {
        if let Ok(value) = quantity::parse(typed, unit) {
            assert!(value.is_finite());
        }
    }
});
