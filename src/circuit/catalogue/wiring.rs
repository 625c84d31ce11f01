//! Wires and connector pins: resistance, defaults, ranges.

use crate::circuit::fields::{Range, range};
use crate::quantity::Unit;

/// Keys of a wire.
pub const WIRE_KEYS: &[&str] = &[
    "name",
    "from",
    "to",
    "colour",
    "size",
    "length",
    "temperature",
    "at",
    "heavy",
    "bundle",
    "open_up",
    "trouble",
    "fix",
    "note",
];

/// Keys of a connector.
pub const CONNECTOR_KEYS: &[&str] =
    &["at", "type", "halves", "pins", "ohms", "part", "reach", "open_up", "trouble", "fix", "note"];

/// Sizes of copper that machines have.
pub const SIZE: Range = range(Unit::Area, 0.05, 300.0);

/// Lengths that machines have.
pub const LENGTH: Range = range(Unit::Metres, 0.005, 200.0);

/// Temperatures that wires have, beside an exhaust or in the frost.
pub const TEMPERATURE: Range = range(Unit::Celsius, -60.0, 200.0);

/// Contact resistance of one pin.
pub const PIN_OHMS: Range = range(Unit::Ohms, 0.0, 10.0);

/// Size when the file has none: usual for control circuits (common practice, no source).
pub const DEFAULT_AREA_MM2: f64 = 0.75;

/// Length when the file has none (common practice, no source).
pub const DEFAULT_LENGTH_METRES: f64 = 1.0;

/// Temperature when the file has none: that of the published tables.
pub const DEFAULT_CELSIUS: f64 = 20.0;

/// From this size up a wire is taken for a heavy cable unless the file says otherwise.
pub const HEAVY_FROM_MM2: f64 = 6.0;

/// Types of connector with the resistance of a clean pin and the minutes to part it (common
/// practice, no source).
pub const CONNECTOR_TYPES: &[(&str, f64, f64)] = &[
    ("bullet", 0.003, 0.3),
    ("blade", 0.003, 0.3),
    ("block", 0.003, 0.3),
    ("round", 0.003, 0.5),
    ("sealed", 0.003, 0.5),
    ("ring", 0.001, 2.0),
];

/// Type when the file has none.
pub const DEFAULT_CONNECTOR_TYPE: &str = "block";

/// Resistance of a copper wire at `celsius`, in ohms.
///
/// Annealed copper conducts 58e6 S/m at 20 C (IEC 1913, NBS Circular 31) and has 0.00393 more of its
/// resistance for each kelvin above (the same standard, as quoted in a power engineering handbook). Stranded
/// wire of the same nominal size may have 11 to 16 % more by IEC 60228, class 5; `tests/data/wire/` holds the
/// tables.
pub fn copper_ohms(length_metres: f64, area_mm2: f64, celsius: f64) -> f64 {
    length_metres / (58.0 * area_mm2) * (1.0 + 0.00393 * (celsius - 20.0))
}
