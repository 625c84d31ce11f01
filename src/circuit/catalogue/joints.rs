//! Splices, ground points, ground straps.

use super::{Blueprint, Entry, GROUND, Given, number};
use crate::circuit::fields::range;
use crate::circuit::{Element, Kind};
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

/// A bare braid that carries the ground of engine or body.
pub const STRAP: Entry = Entry {
    word: "strap",
    about: "ground strap; terminals `1` and `2`, the second `body` when it is bolted to the frame",
    keys: &[number("ohms", range(Unit::Ohms, 0.0, 1.0), "with its two joints; 1 mohm"), GROUND],
    build: strap,
};

fn splice(_: &mut Given<'_, '_>) -> Option<Blueprint> {
    Some(Blueprint::new(Kind::Splice, ["joint"]))
}

fn ground_point(given: &mut Given<'_, '_>) -> Option<Blueprint> {
    let ohms = given.number("ohms", GROUND_OHMS);
    Some(Blueprint::new(Kind::GroundPoint, ["point"]).to_chassis("ground joint", 0, ohms))
}

fn strap(given: &mut Given<'_, '_>) -> Option<Blueprint> {
    // 0.3 m of 25 mm2 braid has a fifth of a milliohm; its joints make up the rest (from memory).
    let ohms = given.number("ohms", GROUND_OHMS);
    let body = given.body_ground(false);
    let element = Element::Resistance { ohms };
    Some(
        Blueprint::new(Kind::Strap, ["1", "2"])
            .link("strap", 0, 1, element)
            .grounded_by_body(1, body),
    )
}
