//! Splices and ground points.

use super::{Blueprint, Entry, Sheet, number};
use crate::circuit::Kind;
use crate::circuit::fields::range;
use crate::quantity::Unit;

/// A clean bolted joint to the frame: from memory. A cranking drop of 0.1 V at 100 A is the usual
/// limit for one joint (common practice, no source).
pub const GROUND_OHMS: f64 = 0.001;

/// Several wires joined.
pub const SPLICE: Entry = Entry {
    word: "splice",
    about: "several wires joined; terminal `joint`, which need not be named",
    keys: &[],
    build: splice,
};

/// Where wires are bolted to the frame.
pub const GROUND_POINT: Entry = Entry {
    word: "ground point",
    about: "wires bolted to the frame; terminal `point`, which need not be named",
    keys: &[number("ohms", range(Unit::Ohms, 0.0, 10.0), "of a clean joint; 1 mohm")],
    build: ground_point,
};

fn splice(_: &mut Sheet<'_, '_>) -> Option<Blueprint> {
    Some(Blueprint::new(Kind::Splice, ["joint"]))
}

fn ground_point(sheet: &mut Sheet<'_, '_>) -> Option<Blueprint> {
    let ohms = sheet.number("ohms", GROUND_OHMS);
    Some(Blueprint::new(Kind::GroundPoint, ["point"]).to_chassis("ground joint", 0, ohms))
}
