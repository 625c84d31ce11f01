//! What can fail on each kind of part, by the words under which a file gives it a weight of its own.
//!
//! The fault modes themselves, with their weights and what they change, are not known here: a test
//! (`tests/it/reuse`) holds this list to them.

/// The faults of a kind, by its word.
pub fn of(kind: &str) -> &'static [&'static str] {
    match kind {
        "battery" => &["low", "flat", "cell", "dead", "surface"],
        "charging source" => &["dead", "weak", "over", "rectifier-shorted", "rectifier-open"],
        "fuse" | "fusible link" => &["blown", "high"],
        "breaker" => &["tripped", "high"],
        "switch" | "pressure switch" | "thermo switch" | "reed switch" | "inhibitor switch"
        | "neutral switch" | "clutch switch" => {
            &["open", "high", "stuck-on", "body-high", "intermittent"]
        }
        "relay" => &[
            "coil-open",
            "coil-turns",
            "jammed",
            "contact-open",
            "contact-high",
            "contact-welded",
            "diode-shorted",
        ],
        "solenoid" => &[
            "pull-open",
            "pull-turns",
            "coil-open",
            "coil-turns",
            "jammed",
            "sluggish",
            "contact-open",
            "contact-high",
            "contact-welded",
            "body-high",
        ],
        "flasher" => &["open", "steady"],
        "starter motor" => &["open", "high", "turns", "free", "jammed", "body-high"],
        "motor" => &["open", "high", "turns", "jammed", "body-high"],
        "lamp" | "strap" => &["open", "high", "body-high"],
        "horn" => &["open", "mute", "body-high"],
        "heater" | "load" => &["open", "shorted", "body-high"],
        "coil" => &["open", "turns"],
        "gauge" => &["open", "stuck"],
        "sender" => &["open", "stuck-low", "stuck-high", "shorted", "body-high"],
        "resistor" => &["open", "risen", "shorted"],
        "led" | "diode" | "zener" => &["open", "shorted"],
        "box" => &["dead", "open", "on", "deaf"],
        "ground point" => &["open", "high", "intermittent"],
        _ => &[],
    }
}

/// A fault mode's id without the numbers in it: `1-high-100` is `high`, `contact-2-open` is `contact-open`.
/// Of a control unit, whose faults begin with the name of an input or output, the last word.
pub fn plain(mode: &str, of_box: bool) -> String {
    let is_number = |piece: &&str| piece.trim_end_matches('k').parse::<f64>().is_ok();
    let words: Vec<&str> = mode.split('-').filter(|piece| !is_number(piece)).collect();
    match words.last() {
        Some(last) if of_box => (*last).to_owned(),
        _ => words.join("-"),
    }
}

/// `word` names this fault, or what it begins with: `contact` is all that can be wrong with contacts.
pub fn names(word: &str, fault: &str) -> bool {
    fault == word || fault.strip_prefix(word).is_some_and(|rest| rest.starts_with('-'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_no_part_of_a_fault() {
        assert_eq!(plain("1-high-1k", false), "high");
        assert_eq!(plain("contact-2-high-0.03", false), "contact-high");
        assert_eq!(plain("stuck-on", false), "stuck-on");
        assert_eq!(plain("pump-open", true), "open");
        assert!(names("contact", "contact-open") && names("open", "open"));
        assert!(!names("contact", "contacts") && !names("coil-open", "coil"));
    }
}
