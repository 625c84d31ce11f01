//! What the circuit is there for: motors, lamps, horns; and resistors and diodes.

use super::{Blueprint, Entry, GROUND, Given, number};
use crate::circuit::fields::range;
use crate::circuit::{Element, Kind};
use crate::problem::Problem;
use crate::quantity::Unit;

/// A starter motor; grounded through its body unless told otherwise.
pub const STARTER_MOTOR: Entry = Entry {
    word: "starter motor",
    about: "terminals `+` and, with `ground: wire`, `-`",
    keys: &[
        number("stall", range(Unit::Ohms, 1e-3, 5.0), "resistance standing still; 50 mohm"),
        number("running", range(Unit::Amps, 1.0, 2000.0), "current while cranking; 100 A"),
        GROUND,
    ],
    build: starter_motor,
};

/// Any other direct-current motor.
pub const MOTOR: Entry = Entry {
    word: "motor",
    about: "terminals `+` and `-`",
    keys: &[
        number("stall", range(Unit::Ohms, 1e-3, 1e4), "resistance standing still; 1 ohm"),
        number("running", range(Unit::Amps, 1e-3, 500.0), "current with its usual load; 3 A"),
        GROUND,
    ],
    build: motor,
};

/// A filament lamp.
pub const LAMP: Entry = Entry {
    word: "lamp",
    about: "filament lamp; terminals `+` and `-`",
    keys: &[
        number("watts", range(Unit::Watts, 0.05, 500.0), "rated power; 5 W"),
        number("volts", range(Unit::Volts, 1.0, 60.0), "rated volts; those of the system"),
        GROUND,
    ],
    build: lamp,
};

/// A light-emitting diode with its series resistor.
pub const LED: Entry = Entry {
    word: "led",
    about: "with its series resistor; terminals `+` and `-`",
    keys: &[
        number("forward", range(Unit::Volts, 0.5, 30.0), "volts across the junction; 2 V"),
        number("series", range(Unit::Ohms, 1.0, 1e6), "its resistor; what gives 20 mA"),
        GROUND,
    ],
    build: led,
};

/// A horn.
pub const HORN: Entry = Entry {
    word: "horn",
    about: "terminals `+` and `-`",
    keys: &[number("ohms", range(Unit::Ohms, 0.1, 1000.0), "while sounding; 4 ohm"), GROUND],
    build: horn,
};

/// A heater: seat, grip, glow plug, screen.
pub const HEATER: Entry = Entry {
    word: "heater",
    about: "terminals `+` and `-`",
    keys: &[WATTS, OHMS, GROUND],
    build: heater,
};

/// The primary winding of an ignition coil, its breaker closed.
pub const COIL: Entry = Entry {
    word: "coil",
    about: "primary of an ignition coil; terminals `15` and `1`",
    keys: &[number("ohms", range(Unit::Ohms, 0.1, 100.0), "its primary winding; 3 ohm")],
    build: coil,
};

/// Anything that works when it is fed.
pub const LOAD: Entry = Entry {
    word: "load",
    about: "anything that works when it is fed; terminals `+` and `-`",
    keys: &[WATTS, OHMS, GROUND],
    build: load,
};

const WATTS: super::Key = number(
    "watts",
    range(Unit::Watts, 0.001, 5000.0),
    "what it takes at the system's volts; this or `ohms` has to be given",
);

const OHMS: super::Key = number("ohms", range(Unit::Ohms, 1e-3, 1e9), "the same in ohms");

/// A resistor.
pub const RESISTOR: Entry = Entry {
    word: "resistor",
    about: "terminals `1` and `2`",
    keys: &[number("ohms", range(Unit::Ohms, 1e-3, 1e9), "its value; has to be given")],
    build: resistor,
};

/// A diode.
pub const DIODE: Entry = Entry {
    word: "diode",
    about: "terminals `anode` and `cathode`; current passes from the first to the second",
    keys: &[number("forward", range(Unit::Volts, 0.1, 30.0), "volts across it at 1 A; 0.7 V")],
    build: diode,
};

/// A Zener diode.
pub const ZENER: Entry = Entry {
    word: "zener",
    about: "terminals `anode` and `cathode`; holds its volts from the second to the first",
    keys: &[
        number("volts", range(Unit::Volts, 1.0, 60.0), "what it holds; has to be given"),
        number("forward", range(Unit::Volts, 0.1, 3.0), "volts the other way at 1 A; 0.7 V"),
    ],
    build: zener,
};

/// Amperes at which a diode's forward volts are taken (common practice, no source).
pub(super) const DIODE_AMPS: f64 = 1.0;

/// Silicon: about 0.7 V (T. R. Kuphaldt, Lessons In Electric Circuits, volume III, chapter 3).
pub(super) const DIODE_VOLTS: f64 = 0.7;

/// Amperes at which a Zener's volts are taken (common practice, no source).
const ZENER_AMPS: f64 = 0.1;

fn starter_motor(given: &mut Given<'_, '_>) -> Option<Blueprint> {
    // 0.05 ohm: the textbook's 12 V starter (OpenStax College Physics, terminal voltage).
    let stall_ohms = given.number("stall", 0.050 * given.twelves());
    // 100 A cranking: about half of its stall current; from memory.
    let running_amps = given.number("running", 100.0);
    let body = given.body_ground(true);
    let element = Element::Motor { stall_ohms, running_amps, rated_volts: given.system_volts };
    Some(
        Blueprint::new(Kind::StarterMotor, ["+", "-"])
            .link("winding", 0, 1, element)
            .grounded_by_body(1, body),
    )
}

fn motor(given: &mut Given<'_, '_>) -> Option<Blueprint> {
    // A small fan or pump motor: common practice, no source.
    let stall_ohms = given.number("stall", given.twelves());
    let running_amps = given.number("running", 3.0);
    let body = given.body_ground(false);
    let element = Element::Motor { stall_ohms, running_amps, rated_volts: given.system_volts };
    Some(
        Blueprint::new(Kind::Motor, ["+", "-"])
            .link("winding", 0, 1, element)
            .grounded_by_body(1, body),
    )
}

fn lamp(given: &mut Given<'_, '_>) -> Option<Blueprint> {
    // 5 W: a usual small lamp (UN Regulation 37, category R5W, from memory).
    let watts = given.number("watts", 5.0);
    let volts = given.number("volts", given.system_volts);
    let body = given.body_ground(false);
    Some(
        Blueprint::new(Kind::Lamp, ["+", "-"])
            .link("filament", 0, 1, Element::Lamp { volts, watts })
            .grounded_by_body(1, body)
            .inside(),
    )
}

fn led(given: &mut Given<'_, '_>) -> Option<Blueprint> {
    // Red 1.5 to 2.4 V, 20 mA (T. R. Kuphaldt, Lessons In Electric Circuits, volume III, chapter 3).
    let forward_volts = given.number("forward", 2.0);
    let at_amps = 0.020;
    let ohms = given.number("series", ((given.system_volts - forward_volts) / at_amps).max(1.0));
    let body = given.body_ground(false);
    let mut blueprint = Blueprint::new(Kind::Led, ["+", "-", "between"])
        .link("series resistor", 0, 2, Element::Resistance { ohms })
        .link("junction", 2, 1, Element::Diode { forward_volts, at_amps })
        .grounded_by_body(1, body)
        .inside();
    // Resistor and junction share one housing: nothing can touch the point between them.
    blueprint.terminals[2].probe = false;
    Some(blueprint)
}

fn horn(given: &mut Given<'_, '_>) -> Option<Blueprint> {
    // A disc horn takes about 3 A at 12 V: from memory.
    let ohms = given.number("ohms", 4.0 * given.twelves());
    let body = given.body_ground(false);
    Some(
        Blueprint::new(Kind::Horn, ["+", "-"])
            .link("coil", 0, 1, Element::Resistance { ohms })
            .grounded_by_body(1, body),
    )
}

/// Ohms from `ohms` or from `watts` at the system's volts; one of the two has to be given.
fn ohms_or_watts(given: &mut Given<'_, '_>) -> Option<f64> {
    let (watts, ohms) = (given.fields.get("watts"), given.fields.get("ohms"));
    if let (Some(watts), Some(ohms)) = (watts, ohms) {
        given.problems.push(
            Problem::error(
                "watts-and-ohms",
                &ohms.key_span,
                "`watts` and `ohms` say the same thing twice",
            )
            .note(&watts.key_span, "`watts` is here")
            .help("keep the one you know"),
        );
        return None;
    }
    if watts.is_some() {
        let volts = given.system_volts;
        return Some(volts * volts / given.number("watts", 1.0));
    }
    given.fields.required("ohms", "add `watts: 60 W`, or `ohms`", given.problems)?;
    Some(given.number("ohms", 1.0))
}

fn heater(given: &mut Given<'_, '_>) -> Option<Blueprint> {
    let ohms = ohms_or_watts(given)?;
    let body = given.body_ground(false);
    Some(
        Blueprint::new(Kind::Heater, ["+", "-"])
            .link("element", 0, 1, Element::Resistance { ohms })
            .grounded_by_body(1, body),
    )
}

fn load(given: &mut Given<'_, '_>) -> Option<Blueprint> {
    let ohms = ohms_or_watts(given)?;
    let body = given.body_ground(false);
    Some(
        Blueprint::new(Kind::Load, ["+", "-"])
            .link("load", 0, 1, Element::Resistance { ohms })
            .grounded_by_body(1, body),
    )
}

fn coil(given: &mut Given<'_, '_>) -> Option<Blueprint> {
    // Points ignition at 12 V: about 3 ohm; from memory.
    let ohms = given.number("ohms", 3.0 * given.twelves());
    Some(Blueprint::new(Kind::IgnitionCoil, ["15", "1"]).link(
        "winding",
        0,
        1,
        Element::Resistance { ohms },
    ))
}

fn zener(given: &mut Given<'_, '_>) -> Option<Blueprint> {
    given.fields.required("volts", "add what it holds, as in `volts: 15 V`", given.problems)?;
    let volts = given.number("volts", 15.0);
    let forward_volts = given.number("forward", DIODE_VOLTS);
    let element = Element::Zener { volts, forward_volts, at_amps: ZENER_AMPS };
    Some(Blueprint::new(Kind::Zener, ["anode", "cathode"]).link("junction", 0, 1, element))
}

fn resistor(given: &mut Given<'_, '_>) -> Option<Blueprint> {
    given.fields.required("ohms", "add its value, as in `ohms: 4k7`", given.problems)?;
    let ohms = given.number("ohms", 1.0);
    Some(Blueprint::new(Kind::Resistor, ["1", "2"]).link(
        "element",
        0,
        1,
        Element::Resistance { ohms },
    ))
}

fn diode(given: &mut Given<'_, '_>) -> Option<Blueprint> {
    let forward_volts = given.number("forward", DIODE_VOLTS);
    let element = Element::Diode { forward_volts, at_amps: DIODE_AMPS };
    Some(Blueprint::new(Kind::Diode, ["anode", "cathode"]).link("junction", 0, 1, element))
}
