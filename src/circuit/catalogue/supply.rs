//! Batteries and fuses.

use super::{Blueprint, Entry, Sheet, number};
use crate::circuit::fields::range;
use crate::circuit::{Element, Kind};
use crate::quantity::Unit;

/// A lead-acid battery.
pub const BATTERY: Entry = Entry {
    word: "battery",
    about: "terminals `+` and `-`",
    keys: &[
        number(
            "volts",
            range(Unit::Volts, 0.5, 1000.0),
            "volts with nothing on; 12.6 V for a 12 V system",
        ),
        number("ohms", range(Unit::Ohms, 1e-4, 10.0), "internal resistance; 10 mohm for 12 V"),
    ],
    build: battery,
};

/// A fuse or fusible link.
pub const FUSE: Entry = Entry {
    word: "fuse",
    about: "terminals `in` and `out`",
    keys: &[
        number("rating", range(Unit::Amps, 0.1, 500.0), "printed rating; 15 A"),
        number("ohms", range(Unit::Ohms, 1e-5, 10.0), "when whole; 0.1 V at its rating"),
    ],
    build: fuse,
};

fn battery(sheet: &mut Sheet<'_, '_>) -> Option<Blueprint> {
    // 12.6 V full: US Army TM 5-3805-262-20, par. 5-9. Other systems in proportion (same cells).
    let volts = sheet.number("volts", 12.6 * sheet.twelves());
    // 10 mohm: the textbook's good 12 V battery (OpenStax College Physics, terminal voltage).
    let ohms = sheet.number("ohms", 0.010 * sheet.twelves());
    Some(Blueprint::new(Kind::Battery, ["+", "-"]).link(
        "cells",
        0,
        1,
        Element::Emf { volts, ohms },
    ))
}

fn fuse(sheet: &mut Sheet<'_, '_>) -> Option<Blueprint> {
    // 15 A: common practice for a main fuse, no source.
    let rated_amps = sheet.number("rating", 15.0);
    // Blade fuses drop 84 to 128 mV at their rating from 5 A up (maker's table, from memory).
    let ohms = sheet.number("ohms", 0.1 / rated_amps);
    Some(Blueprint::new(Kind::Fuse, ["in", "out"]).link(
        "element",
        0,
        1,
        Element::Fuse { ohms, rated_amps },
    ))
}
