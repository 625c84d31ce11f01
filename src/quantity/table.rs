//! The one table of units: how they are written, what they measure, their factor to our unit.

use super::Unit;

/// Spellings of one unit, what it measures, and its factor to the unit we keep. The first spelling is
/// the one we show.
const UNITS: &[(&[&str], Unit, f64)] = &[
    (&["V", "volt", "volts"], Unit::Volts, 1.0),
    (&["mV", "millivolt", "millivolts"], Unit::Volts, 1e-3),
    (&["kV"], Unit::Volts, 1e3),
    (&["ohm", "ohms", "\u{3a9}", "\u{2126}", "R"], Unit::Ohms, 1.0),
    (&["mohm", "mohms", "milliohm", "milliohms", "m\u{3a9}", "m\u{2126}"], Unit::Ohms, 1e-3),
    (&["kohm", "kohms", "kilohm", "kilohms", "k\u{3a9}", "k\u{2126}", "k"], Unit::Ohms, 1e3),
    (&["Mohm", "Mohms", "megohm", "megohms", "M\u{3a9}", "M\u{2126}", "M"], Unit::Ohms, 1e6),
    (&["A", "amp", "amps", "ampere", "amperes"], Unit::Amps, 1.0),
    (&["mA", "milliamp", "milliamps"], Unit::Amps, 1e-3),
    (&["W", "watt", "watts"], Unit::Watts, 1.0),
    (&["mW"], Unit::Watts, 1e-3),
    (&["kW"], Unit::Watts, 1e3),
    (&["mm2", "mm\u{b2}", "mm^2", "sq mm", "sqmm"], Unit::Area, 1.0),
    (&["m", "metre", "metres", "meter", "meters"], Unit::Metres, 1.0),
    (&["cm"], Unit::Metres, 0.01),
    (&["mm"], Unit::Metres, 0.001),
    (&["ft", "foot", "feet"], Unit::Metres, 0.3048),
    (&["in", "inch", "inches"], Unit::Metres, 0.0254),
    (&["min", "mins", "minute", "minutes"], Unit::Minutes, 1.0),
    (&["s", "sec", "secs", "second", "seconds"], Unit::Minutes, 1.0 / 60.0),
    (&["h", "hr", "hour", "hours"], Unit::Minutes, 60.0),
    (&["%", "percent", "per cent"], Unit::Percent, 1.0),
    (&["C", "\u{b0}C", "celsius"], Unit::Celsius, 1.0),
];

/// What a written unit turned out to be.
pub(super) enum Found {
    /// A unit of the wanted quantity: multiply by this.
    Factor(f64),
    /// A unit of another quantity.
    Other(Unit),
    /// None of ours; `nearest` is a unit of the wanted quantity that looks like it.
    Unknown {
        /// As we would write it.
        nearest: Option<&'static str>,
    },
}

/// Looks a written unit up, exactly first (`mV` is not `MV`), then without regard to case where
/// that leaves one meaning.
pub(super) fn find(written: &str, wanted: Unit) -> Found {
    if let Some((_, unit, factor)) = UNITS.iter().find(|(names, ..)| names.contains(&written)) {
        return if *unit == wanted { Found::Factor(*factor) } else { Found::Other(*unit) };
    }
    let lower = written.to_lowercase();
    let alike: Vec<_> = UNITS
        .iter()
        .filter(|(names, ..)| names.iter().any(|n| n.to_lowercase() == lower))
        .collect();
    let mut of_wanted = alike.iter().filter(|(_, unit, _)| *unit == wanted);
    match (of_wanted.next(), of_wanted.next()) {
        (Some((_, _, factor)), None) => return Found::Factor(*factor),
        (Some(_), Some(_)) => {}
        (None, _) => {
            if let [(_, unit, _)] = alike[..] {
                return Found::Other(*unit);
            }
        }
    }
    Found::Unknown { nearest: nearest(&lower, wanted) }
}

fn nearest(lower: &str, wanted: Unit) -> Option<&'static str> {
    UNITS
        .iter()
        .filter(|(_, unit, _)| *unit == wanted)
        .flat_map(|(names, ..)| names.iter().map(move |name| (*name, names[0])))
        .map(|(name, shown)| (strsim::damerau_levenshtein(&name.to_lowercase(), lower), shown))
        .filter(|(distance, shown)| *distance < shown.chars().count().max(2))
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, shown)| shown)
}
