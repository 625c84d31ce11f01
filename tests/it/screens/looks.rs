//! Every screen of a job in every look: the sizes that the other files do not hold, without colour, in ASCII.

use super::{ASCII, NO_COLOR, Screen, canned, rows, snapshot, words_only};
use halfsplit::job::standing::Standing;

/// Each screen: its name, the standing below, the keys that open it.
fn screens() -> Vec<(&'static str, Standing, &'static str)> {
    let steps = [
        ("test", canned::testing(), ""),
        ("volts", canned::measuring(), ""),
        ("ranges", canned::in_ranges(), ""),
        ("typed", canned::measuring(), "12.4"),
        ("fix", canned::fixing(), ""),
        ("cured", canned::cured(), ""),
        ("stuck", canned::stuck(), ""),
    ];
    let over_a_test = [
        ("sheet_skip", "s"),
        ("sheet_tests", "t"),
        ("sheet_why", "w"),
        ("sheet_note", "nloose"),
        ("sheet_help", "?"),
        ("sheet_leaving", "q"),
    ];
    let over_a_repair = [("sheet_back", "h"), ("sheet_whole", "v"), ("sheet_machine", "m")];
    let over_a_test = over_a_test.map(|(name, keys)| (name, canned::testing(), keys));
    let over_a_repair = over_a_repair.map(|(name, keys)| (name, canned::fixing(), keys));
    steps.into_iter().chain(over_a_test).chain(over_a_repair).collect()
}

#[test]
fn every_screen_in_every_look() {
    for (name, standing, keys) in screens() {
        let at = |size| {
            let mut screen = Screen::new(vec![standing.clone()], size);
            screen.types(keys);
            screen
        };
        words_only(&format!("look_{name}_100x30"), &at((100, 30)));
        snapshot(&format!("look_{name}_no_color"), &at((80, 24)), NO_COLOR);
        let ascii = rows(&at((80, 24)).picture(ASCII)).join("\n");
        assert!(ascii.is_ascii(), "{name}: {ascii}");
        super::hold(&format!("look_{name}_ascii"), &ascii);
        if name == "typed" {
            words_only("typed_80x24", &at((80, 24)));
            words_only("typed_60x20", &at((60, 20)));
        }
    }
}
