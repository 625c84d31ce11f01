//! Any text as a score file: every sound line is summed up, in every format.
#![no_main]

mod shared;

use halfsplit::cli::scores::parse;
use halfsplit::report::class::{csv, html, json, sum_up, text};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|file: &str| {
    let (records, _broken) = parse(file);
    if records.is_empty() {
        return;
    }
    let class = sum_up(&records);
    for report in [text::write(&class), csv::write(&class), csv::drills(&records)] {
        shared::clean(&report);
    }
    shared::clean(&html::write(&class));
    drop(json::write(&class));
});
