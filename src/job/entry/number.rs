//! A number as a person types it: `11.8`, `11,8 V`, `180m`, `4k7`, `-0.2 v`; and as a meter shows it.

use crate::quantity::{self, Unit};
use crate::tester::expectations::Column;
use crate::tester::scale::Scale;

/// Why a typed reading is not a number in the unit asked for.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NumberError {
    /// Nothing but blanks.
    #[error("no number there yet")]
    Empty,
    /// The meter shows overload.
    #[error("`OL` is no number: take the outcome that says so, or the end of the range")]
    Overload,
    /// It does not read as a number.
    #[error("`{text}` does not read as a number; write it like `{example}`")]
    Unreadable {
        /// As typed.
        text: String,
        /// How it could look.
        example: &'static str,
    },
    /// A number, but of another quantity.
    #[error("`{text}` is in {typed}, and this step asks for {wanted}")]
    OtherUnit {
        /// As typed.
        text: String,
        /// The unit typed.
        typed: &'static str,
        /// The unit of the step.
        wanted: &'static str,
    },
}

/// Figures that anybody types at the most; behind them a prefix leaves crumbs.
const MOST_FIGURES: usize = 9;

/// What `OL` on an ohm range is taken for: an open line.
const OPEN_OHMS: f64 = 99.0e6;

/// Spellings of units, lower case.
const UNITS: [(&str, &str); 12] = [
    ("v", "V"),
    ("volt", "V"),
    ("volts", "V"),
    ("a", "A"),
    ("amp", "A"),
    ("amps", "A"),
    ("ohm", "ohm"),
    ("ohms", "ohm"),
    ("o", "ohm"),
    ("r", "ohm"),
    ("Ω", "ohm"),
    ("ω", "ohm"),
];

/// Reads a number in `unit` (`V`, `ohm` or `A`); prefixes u, m, k and M are applied.
///
/// # Errors
/// Words for the person when it is no number or one of another quantity.
pub fn read(text: &str, unit: &'static str) -> Result<f64, NumberError> {
    let typed = text.trim();
    if typed.is_empty() {
        return Err(NumberError::Empty);
    }
    if matches!(typed.to_lowercase().as_str(), "ol" | "o.l" | "o.l." | "0l" | "inf") {
        return if unit == "ohm" { Ok(OPEN_OHMS) } else { Err(NumberError::Overload) };
    }
    let unreadable = || NumberError::Unreadable { text: typed.to_owned(), example: example(unit) };
    let split = typed.find(|c: char| !is_digit_part(c)).unwrap_or(typed.len());
    let (digits, tail) = typed.split_at(split);
    let (scale, rest) = prefix(tail.trim_start());
    // `4k7`: the prefix stands for the decimal point.
    if rest.starts_with(|c: char| c.is_ascii_digit()) {
        let joined = format!("{}.{}", plain_digits(digits), rest);
        let whole = digits.chars().all(|c| c.is_ascii_digit());
        let value = joined.parse::<f64>().ok().filter(|v| whole && v.is_finite());
        return value.map(|value| value * scale).ok_or_else(unreadable);
    }
    let value: f64 = plain_digits(digits).parse().map_err(|_| unreadable())?;
    if !value.is_finite() {
        return Err(unreadable());
    }
    match rest.trim() {
        "" => Ok(value * scale),
        name => match UNITS.iter().find(|(spelling, _)| *spelling == name.to_lowercase()) {
            Some((_, found)) if *found == unit => Ok(value * scale),
            Some((_, found)) => {
                Err(NumberError::OtherUnit { text: typed.to_owned(), typed: found, wanted: unit })
            }
            None => Err(unreadable()),
        },
    }
}

/// True for a key that can begin a number, exact or vague.
pub fn begins(c: char) -> bool {
    is_digit_part(c) || matches!(c, '~' | '<' | '>')
}

/// True for a key that can stand within a typed reading.
pub fn continues(c: char) -> bool {
    begins(c) || " umkMvVaAoOhHrRlLpPsStTµΩ?=".contains(c)
}

/// A number as a meter would show it: three figures that matter, with the unit.
pub fn shown(value: f64, unit: &str) -> String {
    quantity::show(value, measured_in(unit))
}

/// A number that somebody typed, with all its figures, in the same scale as [`shown`] has it.
pub fn as_typed(value: f64, unit: &str) -> String {
    quantity::show_digits(value, measured_in(unit), MOST_FIGURES)
}

fn measured_in(unit: &str) -> Unit {
    match unit {
        "V" => Unit::Volts,
        "A" => Unit::Amps,
        "ohm" => Unit::Ohms,
        _ => Unit::Plain,
    }
}

fn example(unit: &str) -> &'static str {
    match unit {
        "ohm" => "4k7",
        "A" => "1.5",
        _ => "11.8",
    }
}

fn is_digit_part(c: char) -> bool {
    c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+')
}

fn plain_digits(digits: &str) -> String {
    digits.replace(',', ".")
}

fn prefix(tail: &str) -> (f64, &str) {
    let mut chars = tail.chars();
    let scale = match chars.next() {
        Some('u' | 'µ' | 'μ') => 1e-6,
        Some('m') => 1e-3,
        Some('k' | 'K') => 1e3,
        Some('M') => 1e6,
        _ => return (1.0, tail),
    };
    (scale, chars.as_str())
}

/// Least and most number that can be read: one and a half times the system's volts either way, any ohms.
pub fn range(column: &Column) -> (f64, f64) {
    match column.test.scale {
        Scale::Volts { system } | Scale::Pointer { system } => {
            let most = 1.5 * f64::from(system);
            (-most, most)
        }
        Scale::Millivolts => (-60.0, 60.0),
        Scale::Amps | Scale::Drain => (-1000.0, 1000.0),
        _ => (0.0, 1.0e9),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, unit: &'static str, expected: Option<f64>) {
        match (read(text, unit), expected) {
            (Ok(value), Some(wanted)) => {
                assert!((value - wanted).abs() <= 1e-9 * wanted.abs(), "{text}: {value}");
            }
            (Err(_), None) => {}
            (found, wanted) => panic!("{text}: {found:?}, expected {wanted:?}"),
        }
    }

    #[test]
    fn people_write_numbers_in_many_ways() {
        check("11.8", "V", Some(11.8));
        check("11,8 V", "V", Some(11.8));
        check("180m", "V", Some(0.18));
        check("180 mV", "V", Some(0.18));
        check("-0.2v", "V", Some(-0.2));
        check("4k7", "ohm", Some(4700.0));
        check("2.2 Mohm", "ohm", Some(2.2e6));
        check("3 Ω", "ohm", Some(3.0));
        check(".5 A", "A", Some(0.5));
    }

    #[test]
    fn what_is_no_number_is_said_so() {
        for text in ["", "  ", "volts", "1.2.3", "12 ohm", "1e5", "OL", "--3", "4.1k7", "."] {
            check(text, "V", None);
        }
        let error = read("12 ohm", "V").unwrap_err().to_string();
        assert_eq!(error, "`12 ohm` is in ohm, and this step asks for V");
    }

    #[test]
    fn numbers_are_shown_as_a_meter_would() {
        assert_eq!(shown(11.84, "V"), "11.8 V");
        assert_eq!(shown(12.0, "V"), "12 V");
        assert_eq!(shown(0.018, "V"), "18 mV");
        assert_eq!(shown(4700.0, "ohm"), "4.7 kohm");
        assert_eq!(shown(-0.2, "V"), "-0.2 V");
        assert_eq!(shown(1500.0, "V"), "1500 V");
    }

    #[test]
    fn a_typed_number_keeps_its_figures_and_has_the_scale_of_a_meter() {
        assert_eq!(as_typed(11.84, "V"), "11.84 V");
        assert_eq!(as_typed(0.01, "V"), "10 mV");
        assert_eq!(as_typed(0.07, "V"), "70 mV");
        assert_eq!(as_typed(0.0123, "A"), "12.3 mA");
        assert_eq!(as_typed(4700.0, "ohm"), "4.7 kohm");
        assert_eq!(as_typed(OPEN_OHMS, "ohm"), "99 Mohm");
        assert_eq!(as_typed(-0.2, "V"), "-0.2 V");
    }
}
