//! What every target holds: no text that a person is shown moves a cursor, hides or turns.
#![allow(dead_code, reason = "each target takes what it needs of it")]

use std::sync::{Arc, LazyLock};

use halfsplit::circuit::read::read_text;
use halfsplit::job::study::Study;
use halfsplit::problem::{Picture, Problem, Source, json, one_line, picture, sanitise};
use halfsplit::tester::Instrument;

/// The smallest circuit worth a job.
pub const LAMP: &str = include_str!("../../data/screens/lamp.yaml");

/// It, reckoned through once.
pub static STUDY: LazyLock<Arc<Study>> = LazyLock::new(|| {
    let circuit = read_text("lamp", LAMP).0.expect("it is sound");
    let kit = [Instrument::Lamp, Instrument::Meter];
    Arc::new(Study::new(&Arc::new(circuit), &kit, 0).expect("it can be reckoned"))
});

/// Each line is as `sanitise` would leave it.
#[track_caller]
pub fn clean(text: &str) {
    for line in text.split('\n') {
        assert_eq!(sanitise(line), line, "what is shown has something hidden in it");
    }
}

/// Each problem can be shown in each way, with a place inside the text.
pub fn problems(found: &[Problem], text: &str) {
    let source = Source { name: "fuzz\u{1b}.yaml", text };
    for problem in found {
        assert!(problem.span.bytes.end <= text.len() && problem.help.is_some(), "{problem:?}");
        clean(&picture(problem, &[source], Picture::default()));
        clean(&one_line(problem, &[source]));
        clean(&json(problem, &[source]).to_string());
    }
}
