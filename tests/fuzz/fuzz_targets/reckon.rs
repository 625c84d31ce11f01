//! A circuit file that can be read: what is reckoned of it, and the first step.
#![no_main]

mod shared;

use std::sync::Arc;

use halfsplit::circuit::read::read_located;
use halfsplit::job::findings::findings;
use halfsplit::job::state::Job;
use halfsplit::job::study::Study;
use halfsplit::plan::{Budget, Progress};
use halfsplit::tester::Instrument;
use libfuzzer_sys::fuzz_target;

/// Larger ones take too long to be tried often.
const MOST_PARTS: usize = 40;

fuzz_target!(|text: &str| {
    let Some((circuit, origins)) = read_located("fuzz.yaml", text).0 else { return };
    if circuit.parts.len() > MOST_PARTS {
        return;
    }
    shared::problems(&findings(&circuit, &origins), text);
    let kit = [Instrument::Lamp, Instrument::Meter, Instrument::Clamp, Instrument::Bulb];
    let Ok(study) = Study::new(&Arc::new(circuit), &kit, 0) else { return };
    let standing = Job::new(Arc::new(study)).standing(&Budget { nodes: 5 }, &Progress::default());
    let total: f64 = standing.suspects.iter().map(|one| one.probability).sum();
    assert!((0.0..=1.000_001).contains(&total), "shares sum to {total}");
    assert!(standing.minutes_left.is_finite());
});
