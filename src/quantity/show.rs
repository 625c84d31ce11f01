//! Numbers back into text.

use super::Unit;

/// `value` with its unit, to three significant digits: `11.8 V`, `12 mohm`, `0.75 mm2`, `30 s`.
///
/// [`super::parse`] reads the text back, to the same digits.
pub fn show(value: f64, unit: Unit) -> String {
    show_digits(value, unit, 3)
}

/// The same with as many significant digits as wanted; digits before the point are never dropped.
pub fn show_digits(value: f64, unit: Unit, digits: usize) -> String {
    if !value.is_finite() {
        return "beyond measure".to_owned();
    }
    let (factor, name) = scale(value.abs(), unit);
    let number = trimmed(value / factor, digits);
    if name.is_empty() { number } else { format!("{number} {name}") }
}

/// The unit in which a size is read best, and its factor.
fn scale(size: f64, unit: Unit) -> (f64, &'static str) {
    let small = size > 0.0 && size < 0.1;
    match unit {
        Unit::Volts if small => (1e-3, "mV"),
        Unit::Volts => (1.0, "V"),
        Unit::Ohms if small => (1e-3, "mohm"),
        Unit::Ohms if size >= 1e6 => (1e6, "Mohm"),
        Unit::Ohms if size >= 1e3 => (1e3, "kohm"),
        Unit::Ohms => (1.0, "ohm"),
        Unit::Amps if small => (1e-3, "mA"),
        Unit::Amps => (1.0, "A"),
        Unit::Watts if small => (1e-3, "mW"),
        Unit::Watts if size >= 1e3 => (1e3, "kW"),
        Unit::Watts => (1.0, "W"),
        Unit::Area => (1.0, "mm2"),
        Unit::Metres if small => (0.01, "cm"),
        Unit::Metres => (1.0, "m"),
        Unit::Minutes if size > 0.0 && size < 1.0 => (1.0 / 60.0, "s"),
        Unit::Minutes => (1.0, "min"),
        Unit::Percent => (1.0, "%"),
        Unit::Celsius => (1.0, "C"),
        Unit::Plain => (1.0, ""),
    }
}

/// `number` to so many significant digits, without trailing zeros and without a minus on zero.
fn trimmed(number: f64, digits: usize) -> String {
    if number == 0.0 {
        return "0".to_owned();
    }
    let before_point = libm::floor(libm::log10(number.abs())) as i32 + 1;
    let decimals =
        i32::try_from(digits).unwrap_or(17).saturating_sub(before_point).clamp(0, 17) as usize;
    let text = format!("{number:.decimals$}");
    let text =
        if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(value: f64, unit: Unit, expected: &str) {
        assert_eq!(show(value, unit), expected);
    }

    #[test]
    fn numbers_are_shown_as_people_say_them() {
        check(12.0, Unit::Volts, "12 V");
        check(11.834, Unit::Volts, "11.8 V");
        check(0.2, Unit::Volts, "0.2 V");
        check(0.0421, Unit::Volts, "42.1 mV");
        check(-0.0421, Unit::Volts, "-42.1 mV");
        check(0.0, Unit::Volts, "0 V");
        check(0.012, Unit::Ohms, "12 mohm");
        check(4700.0, Unit::Ohms, "4.7 kohm");
        check(0.75, Unit::Area, "0.75 mm2");
        check(0.5, Unit::Minutes, "30 s");
        check(12.5, Unit::Minutes, "12.5 min");
        check(1234.0, Unit::Metres, "1234 m");
        check(80.0, Unit::Percent, "80 %");
        check(-18.0, Unit::Celsius, "-18 C");
        check(6.0, Unit::Plain, "6");
        check(f64::INFINITY, Unit::Ohms, "beyond measure");
    }
}
