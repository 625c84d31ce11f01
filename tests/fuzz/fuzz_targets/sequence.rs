//! Any text as a printed order of checks for a small circuit: read, and played against every suspect.
#![no_main]

mod shared;

use halfsplit::trial::sequence::outcomes;
use halfsplit::trial::sequence::read::read_text;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    match read_text(&shared::STUDY, text) {
        Ok(sequence) => {
            for outcome in outcomes(&shared::STUDY, &sequence) {
                assert!(outcome.play.minutes.is_finite());
            }
        }
        Err(mut problems) => {
            problems.truncate(20);
            shared::problems(&problems, text);
        }
    }
});
