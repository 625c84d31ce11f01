//! Drills: the played machine beside what `expect` says, the score, what is kept, and the program itself.

mod hands;
mod machine;
mod program;
mod repairs;
mod review;
mod score;

use std::sync::Arc;

use halfsplit::circuit::{Circuit, builtin, read};
use halfsplit::job::study::Study;
use halfsplit::tester::Instrument;

/// A lamp on a switch: small enough for the debug build.
pub const LAMP: &str = "tests/data/screens/lamp.yaml";

pub fn circuit(name: &str) -> Arc<Circuit> {
    let text =
        builtin::text(name).map_or_else(|| std::fs::read_to_string(name).unwrap(), str::to_owned);
    Arc::new(read::read_text(name, &text).0.unwrap())
}

pub fn study(name: &str) -> Study {
    Study::new(&circuit(name), &[Instrument::Lamp, Instrument::Meter], 0).unwrap()
}
