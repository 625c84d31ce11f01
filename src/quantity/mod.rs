//! Quantities as people write them: `12 V`, `0.75 mm2`, `4k7`, `5 min`.
//!
//! [`parse`] turns text into a number in the one unit the program uses for that quantity, [`show()`]
//! turns such a number back into text that [`parse`] reads. `table` holds the units.

mod show;
mod table;

pub use show::{show, show_digits};

/// What a number measures, and with it the unit the program keeps it in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Unit {
    /// Volts.
    Volts,
    /// Ohms.
    Ohms,
    /// Amperes.
    Amps,
    /// Watts.
    Watts,
    /// Copper cross-section in mm2; American gauges are turned into it.
    Area,
    /// Metres.
    Metres,
    /// Minutes of a person's work.
    Minutes,
    /// Hundredths of a whole.
    Percent,
    /// Degrees Celsius.
    Celsius,
    /// A number without a unit.
    Plain,
}

/// Why a text is not the quantity that was wanted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum QuantityError {
    /// Nothing was written.
    #[error("there is no value")]
    Empty,
    /// There is no number at the start, or one that cannot be.
    #[error("`{text}` is not a number")]
    NotANumber {
        /// What was written.
        text: String,
    },
    /// A comma where the decimal point belongs.
    #[error("`{text}` has a comma; numbers are written with a point")]
    DecimalComma {
        /// What was written.
        text: String,
        /// The same with a point.
        instead: String,
    },
    /// The unit is not known.
    #[error("`{unit}` is not a unit known here")]
    UnknownUnit {
        /// What stands behind the number.
        unit: String,
        /// The nearest unit of the wanted quantity.
        nearest: Option<&'static str>,
    },
    /// The unit belongs to another quantity.
    #[error("`{unit}` measures {measures}, but {wanted} is wanted")]
    WrongQuantity {
        /// What stands behind the number.
        unit: String,
        /// What that unit measures.
        measures: &'static str,
        /// What was wanted.
        wanted: &'static str,
    },
    /// A bare number where several units are usual.
    #[error("`{text}` has no unit")]
    NeedsUnit {
        /// What was written.
        text: String,
    },
}

impl Unit {
    /// The quantity in words: `resistance`.
    pub fn measures(self) -> &'static str {
        match self {
            Unit::Volts => "voltage",
            Unit::Ohms => "resistance",
            Unit::Amps => "current",
            Unit::Watts => "power",
            Unit::Area => "wire size",
            Unit::Metres => "length",
            Unit::Minutes => "time",
            Unit::Percent => "a share",
            Unit::Celsius => "a temperature",
            Unit::Plain => "a plain number",
        }
    }

    /// How such a value is written, for messages: `3.6 ohm` or `12 mohm`.
    pub fn example(self) -> &'static str {
        match self {
            Unit::Volts => "`12 V`",
            Unit::Ohms => "`3.6 ohm`, `12 mohm` or `4k7`",
            Unit::Amps => "`10 A` or `20 mA`",
            Unit::Watts => "`21 W`",
            Unit::Area => "`0.75 mm2` or `18 AWG`",
            Unit::Metres => "`1.1 m` or `3 ft`",
            Unit::Minutes => "`5 min` or `30 s`",
            Unit::Percent => "`80 %`",
            Unit::Celsius => "`80 C`",
            Unit::Plain => "`3` or `0.5`",
        }
    }
}

/// Reads `text` as a quantity, in the unit that `unit` stands for.
///
/// A bare number is taken in that unit, save for wire sizes and lengths, where people mean mm2 or
/// gauge, metres or feet. The result is finite; its range is the caller's to judge.
///
/// # Errors
/// See [`QuantityError`]; nothing is guessed.
pub fn parse(text: &str, unit: Unit) -> Result<f64, QuantityError> {
    let text = text.trim();
    if text.is_empty() {
        return Err(QuantityError::Empty);
    }
    if unit == Unit::Area
        && let Some(area_mm2) = american_gauge(text)
    {
        return Ok(area_mm2);
    }
    if unit == Unit::Ohms
        && let Some(ohms) = letter_as_point(text)
    {
        return Ok(ohms);
    }
    let (number, rest) = split_number(text)?;
    finite(number * factor(rest.trim(), text, unit)?, text)
}

/// The factor that brings a number with `written` behind it into `unit`.
fn factor(written: &str, text: &str, unit: Unit) -> Result<f64, QuantityError> {
    if written.is_empty() {
        return match unit {
            Unit::Area | Unit::Metres => Err(QuantityError::NeedsUnit { text: text.to_owned() }),
            _ => Ok(1.0),
        };
    }
    match table::find(written, unit) {
        table::Found::Factor(factor) => Ok(factor),
        table::Found::Other(other) => Err(QuantityError::WrongQuantity {
            unit: written.to_owned(),
            measures: other.measures(),
            wanted: unit.measures(),
        }),
        table::Found::Unknown { nearest } => {
            Err(QuantityError::UnknownUnit { unit: written.to_owned(), nearest })
        }
    }
}

/// Splits the leading number from what follows it.
fn split_number(text: &str) -> Result<(f64, &str), QuantityError> {
    let not_a_number = || QuantityError::NotANumber { text: text.to_owned() };
    let bytes = text.as_bytes();
    let mut end = usize::from(matches!(bytes.first(), Some(b'+' | b'-')));
    end = digits_from(bytes, end);
    if bytes.get(end) == Some(&b'.') {
        end = digits_from(bytes, end + 1);
    } else if bytes.get(end) == Some(&b',') && bytes.get(end + 1).is_some_and(u8::is_ascii_digit) {
        let instead = format!("{}.{}", &text[..end], &text[end + 1..]);
        return Err(QuantityError::DecimalComma { text: text.to_owned(), instead });
    }
    if matches!(bytes.get(end), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
        let exponent_end = digits_from(bytes, end + 1 + sign);
        if exponent_end > end + 1 + sign {
            end = exponent_end;
        }
    }
    // Only ASCII was stepped over, so `end` lies between two characters.
    let number: f64 = text[..end].parse().map_err(|_| not_a_number())?;
    Ok((finite(number, text)?, &text[end..]))
}

fn digits_from(bytes: &[u8], start: usize) -> usize {
    start + bytes.iter().skip(start).take_while(|byte| byte.is_ascii_digit()).count()
}

fn finite(number: f64, text: &str) -> Result<f64, QuantityError> {
    if number.is_finite() {
        Ok(number)
    } else {
        Err(QuantityError::NotANumber { text: text.to_owned() })
    }
}

/// `18 AWG`, `AWG 18`, `2/0 AWG` as mm2.
///
/// Diameter of gauge n in inches: 0.005 * 92^((36 - n)/39), `m/0` being n = 1 - m (ASTM B258, from
/// memory; it reproduces the published diameters, see `tests/data/wire/`).
fn american_gauge(text: &str) -> Option<f64> {
    let lower = text.to_ascii_lowercase();
    let number = ["awg", "gauge", "ga"]
        .iter()
        .find_map(|word| lower.strip_suffix(word).or_else(|| lower.strip_prefix(word)))?
        .trim();
    let gauge = match number.strip_suffix("/0") {
        Some(noughts) => 1.0 - f64::from(noughts.trim().parse::<u8>().ok()?),
        None => f64::from(number.parse::<u8>().ok()?),
    };
    if !(-3.0..=40.0).contains(&gauge) {
        return None;
    }
    let diameter_mm = 0.127 * libm::pow(92.0, (36.0 - gauge) / 39.0);
    Some(std::f64::consts::PI / 4.0 * diameter_mm * diameter_mm)
}

/// `4k7`, `3R6`, `1M2` as ohms: the letter stands where the point would be (IEC 60062).
fn letter_as_point(text: &str) -> Option<f64> {
    let at = text.find(['R', 'k', 'K', 'M'])?;
    let (whole, rest) = text.split_at(at);
    let (letter, part) = rest.split_at(1);
    let is_digits =
        |s: &str| !s.is_empty() && s.len() < 10 && s.bytes().all(|b| b.is_ascii_digit());
    if !is_digits(whole) || !is_digits(part) {
        return None;
    }
    let factor = match letter {
        "R" => 1.0,
        "M" => 1e6,
        _ => 1e3,
    };
    format!("{whole}.{part}").parse::<f64>().ok().map(|number| number * factor)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, unit: Unit, expected: f64) {
        let value = parse(text, unit).unwrap();
        assert!(
            (value - expected).abs() <= 1e-9 * expected.abs(),
            "{text}: {value}, not {expected}"
        );
    }

    #[track_caller]
    fn check_error(text: &str, unit: Unit, expected: &str) {
        assert_eq!(parse(text, unit).unwrap_err().to_string(), expected);
    }

    #[test]
    fn what_a_mechanic_writes_is_read() {
        check("12 V", Unit::Volts, 12.0);
        check("12v", Unit::Volts, 12.0);
        check("250 mV", Unit::Volts, 0.25);
        check("3.6 ohm", Unit::Ohms, 3.6);
        check("12 mohm", Unit::Ohms, 0.012);
        check("2 Mohm", Unit::Ohms, 2e6);
        check("4k7", Unit::Ohms, 4700.0);
        check("3R6", Unit::Ohms, 3.6);
        check("10k", Unit::Ohms, 10_000.0);
        check("10 A", Unit::Amps, 10.0);
        check("21 W", Unit::Watts, 21.0);
        check("0.75 mm2", Unit::Area, 0.75);
        check("1.5 mm²", Unit::Area, 1.5);
        check("1.1 m", Unit::Metres, 1.1);
        check("3 ft", Unit::Metres, 0.9144);
        check("5 min", Unit::Minutes, 5.0);
        check("30 s", Unit::Minutes, 0.5);
        check("1.5 h", Unit::Minutes, 90.0);
        check("80 %", Unit::Percent, 80.0);
        check("-18 C", Unit::Celsius, -18.0);
        check("6", Unit::Plain, 6.0);
        check("-3 V", Unit::Volts, -3.0);
        check(".5 A", Unit::Amps, 0.5);
    }

    #[test]
    fn gauges_have_their_area() {
        // Circular mils of the published table times 5.067075e-4 mm2 (pi/4 thousandths of an inch squared).
        for (text, circular_mils) in
            [("18 AWG", 1624.3), ("AWG 12", 6529.0), ("2/0 AWG", 133_080.0)]
        {
            let area = parse(text, Unit::Area).unwrap();
            assert!((area / (circular_mils * 5.067_075e-4) - 1.0).abs() < 3e-4, "{text}: {area}");
        }
    }

    #[test]
    fn what_is_not_a_quantity_says_why() {
        check_error("", Unit::Volts, "there is no value");
        check_error("twelve V", Unit::Volts, "`twelve V` is not a number");
        check_error("1e999 V", Unit::Volts, "`1e999 V` is not a number");
        check_error("12 W", Unit::Volts, "`W` measures power, but voltage is wanted");
        check_error("0.75", Unit::Area, "`0.75` has no unit");
        check_error("3 ohn", Unit::Ohms, "`ohn` is not a unit known here");
        check_error("1,5 m", Unit::Metres, "`1,5 m` has a comma; numbers are written with a point");
        check_error("5 V", Unit::Plain, "`V` measures voltage, but a plain number is wanted");
    }
}
