//! How often readings are simply wrong, by the kind of scale: as is usual, or as a shop has found out.

use std::collections::BTreeMap;

use super::scale::Scale;

/// Shares of wrong readings by scale family; what is not in it is as [`usual`].
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Slips(pub BTreeMap<&'static str, f64>);

/// All families, in the order in which they are told.
pub const FAMILIES: [&str; 8] =
    ["senses", "lamp", "led", "volts", "pointer", "millivolts", "amps", "ohms"];

/// The family of a scale: scales that are read with the same eyes and the same tester.
pub fn family(scale: Scale) -> &'static str {
    match scale {
        Scale::Glow => "lamp",
        Scale::Led => "led",
        Scale::Volts { .. } => "volts",
        Scale::Pointer { .. } => "pointer",
        Scale::Millivolts => "millivolts",
        Scale::Amps | Scale::Drain => "amps",
        Scale::Ohms => "ohms",
        Scale::Turning
        | Scale::Cranking
        | Scale::Sound
        | Scale::Click
        | Scale::Works
        | Scale::Needle
        | Scale::Steadiness
        | Scale::Beat => "senses",
    }
}

impl Slips {
    /// Share of readings on this scale that are wrong.
    pub fn of(&self, scale: Scale) -> f64 {
        let family = family(scale);
        self.0.get(family).copied().unwrap_or_else(|| usual(family))
    }
}

/// The share of wrong readings in a family where nothing else is known: the wrong point touched, a probe that
/// made no contact, a slip of the eye or pen. Eyes and ears err less than a probe.
///
/// Human-reliability tables give .003 to .01 a look (NUREG/CR-1278, from memory); a probe's contact is taken for
/// .02 (common practice, no source).
pub fn usual(family: &str) -> f64 {
    if family == "senses" { 0.01 } else { 0.02 }
}
