//! Any text as a shop's history: what it teaches is numbers a plan can be made with.
#![no_main]

mod shared;

use halfsplit::history::ledger::{Ledger, split};
use halfsplit::history::teach::{lesson, slips};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    let (whole, torn) = split(text);
    assert_eq!(whole.len() + torn.len(), text.len());
    let ledger = match Ledger::parse(text) {
        Ok(ledger) => ledger,
        Err(error) => return drop(error.to_string()),
    };
    let learned = lesson(&ledger, shared::STUDY.circuit()).learned;
    let numbers = learned.times_likelier.values();
    let numbers = numbers.chain(learned.place_minutes.values()).chain(learned.fix_minutes.values());
    for number in numbers {
        assert!(number.is_finite() && *number >= 0.0, "{number}");
    }
    for (family, share) in slips(&ledger) {
        assert!((0.0..=1.0).contains(&share), "{family}: {share}");
    }
});
