//! Any text as a circuit file: read, examined, drawn.
#![no_main]

mod shared;

use halfsplit::circuit::{protect, read};
use halfsplit::report::draw::{Marks, svg, text};
use halfsplit::suspect::Lineup;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    let (found, mut problems) = read::read_located("fuzz.yaml", text);
    if let Some((circuit, origins)) = &found {
        protect::fuses(circuit, origins, &mut problems);
        protect::doubles(circuit, origins, &mut problems);
        protect::reach(circuit, origins, &mut problems);
        let lineup = Lineup::of(circuit);
        assert!(lineup.suspects.iter().all(|one| one.weight.is_finite()));
        let look = text::Look { width: 80, ascii: false };
        shared::clean(&text::write(circuit, &Marks::default(), look));
        shared::clean(&svg::write(circuit, &Marks::default()));
    }
    read::in_order(&mut problems);
    problems.truncate(20);
    shared::problems(&problems, text);
});
