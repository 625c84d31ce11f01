//! Any text as the settings file: what cannot be is told and left out.
#![no_main]

use std::path::Path;

use halfsplit::cli::settings::read;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    let settings = read(text, Path::new("/shop"));
    if settings.warnings.is_empty() {
        // What is said without a warning is understood the same when read again.
        assert_eq!(read(text, Path::new("/shop")), settings);
    }
});
