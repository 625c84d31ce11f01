//! Relays, solenoids, flashers: contacts that a coil moves.

use super::loads::{DIODE_AMPS, DIODE_VOLTS};
use super::{Blueprint, Entry, GROUND, Given, number, words};
use crate::circuit::fields::range;
use crate::circuit::{ClosedWhen, Element, Kind};
use crate::problem::Problem;
use crate::quantity::Unit;

/// A plug-in relay by DIN 72552.
pub const RELAY: Entry = Entry {
    word: "relay",
    about: "terminals `86` and `85` coil, `30` common, `87` closes, with `pins: 5` also `87a` opens",
    keys: &[
        number("pins", range(Unit::Plain, 4.0, 5.0), "4 or 5; 4"),
        number("coil", range(Unit::Ohms, 0.5, 5000.0), "its winding; 100 ohm for 12 V"),
        number(
            "pull_in",
            range(Unit::Volts, 0.5, 60.0),
            "volts at which it pulls in; 7.2 V for 12 V",
        ),
        number(
            "drop_out",
            range(Unit::Volts, 0.05, 60.0),
            "volts at which it drops out; 1.2 V for 12 V",
        ),
        number("ohms", range(Unit::Ohms, 0.0, 100.0), "across clean contacts; 1.5 mohm"),
        words("across_coil", "`diode` (its cathode at 86) or `resistor`; nothing"),
    ],
    build: relay,
};

/// A solenoid switch: a coil that closes one heavy contact.
pub const SOLENOID: Entry = Entry {
    word: "solenoid",
    about: "terminals `coil in`, `coil out`, `battery`, `motor`",
    keys: &[
        number("coil", range(Unit::Ohms, 0.05, 1000.0), "its (holding) winding; 3.6 ohm for 12 V"),
        number(
            "pull_winding",
            range(Unit::Ohms, 0.02, 100.0),
            "a second winding, from `coil in` to `motor`, that only helps to pull in; none",
        ),
        number(
            "pull_in",
            range(Unit::Volts, 0.5, 60.0),
            "volts at which it pulls in; 7.2 V for 12 V",
        ),
        number(
            "drop_out",
            range(Unit::Volts, 0.05, 60.0),
            "volts at which it drops out; 3 V for 12 V",
        ),
        number("ohms", range(Unit::Ohms, 0.0, 10.0), "across clean contacts; 1 mohm"),
        GROUND,
    ],
    build: solenoid,
};

/// A flasher unit.
pub const FLASHER: Entry = Entry {
    word: "flasher",
    about: "terminals `49` in, `49a` out to the lamps, with `pins: 3` also `31` ground",
    keys: &[
        number("pins", range(Unit::Plain, 2.0, 3.0), "2, or 3 for an electronic one; 2"),
        number("watts", range(Unit::Watts, 1.0, 500.0), "of the lamps it is made for; 42 W"),
        number("ohms", range(Unit::Ohms, 0.0, 10.0), "while its lamps are lit; 50 mohm"),
    ],
    build: flasher,
};

fn flasher(given: &mut Given<'_, '_>) -> Option<Blueprint> {
    // Two lamps of 21 W; 50 mohm and, for an electronic one, 20 mA: from memory.
    let rated_amps = given.number("watts", 42.0) / given.system_volts;
    let ohms = given.number("ohms", 0.05);
    let kind = Kind::Flasher { rated_amps };
    if given.number("pins", 2.0) < 2.5 {
        let element = Element::Resistance { ohms };
        return Some(Blueprint::new(kind, ["49", "49a"]).link("beater", 0, 1, element));
    }
    // It beats only while its electronics are fed.
    let on_volts = 0.6 * given.system_volts;
    let supply =
        Element::Sense { ohms: given.system_volts / 0.020, on_volts, off_volts: 0.8 * on_volts };
    let contact = Element::Contact { ohms, closed_when: ClosedWhen::Sensed { link: 0 } };
    Some(
        Blueprint::new(kind, ["49", "49a", "31"])
            .link("supply", 0, 2, supply)
            .link("contact", 0, 1, contact),
    )
}

fn solenoid(given: &mut Given<'_, '_>) -> Option<Blueprint> {
    let twelves = given.twelves();
    // Small starter solenoids have 3 to 5 ohm, drop out at about a quarter of the system's volts and
    // have contacts of about 1 mohm: from memory.
    let coil = coil(given, [3.6 * twelves * twelves, 7.2 * twelves, 3.0 * twelves]);
    let ohms = given.number("ohms", 0.001);
    let body = given.body_ground(false);
    let contact = Element::Contact { ohms, closed_when: ClosedWhen::Pulled };
    let mut plan = Blueprint::new(Kind::Solenoid, ["coil in", "coil out", "battery", "motor"]);
    let pull_ohms = given.fields.get("pull_winding").map(|_| given.number("pull_winding", 0.4));
    if let (Some(ohms), Element::Coil { pull_in_volts, .. }) = (pull_ohms, &coil) {
        let helper = Element::Coil { ohms, pull_in_volts: *pull_in_volts, drop_out_volts: 0.0 };
        plan = plan.link("pull-in winding", 0, 3, helper);
    }
    Some(plan.link("coil", 0, 1, coil).link("contact", 2, 3, contact).grounded_by_body(1, body))
}

fn relay(given: &mut Given<'_, '_>) -> Option<Blueprint> {
    let twelves = given.twelves();
    // A maker's automotive relay: 12 V 100 ohm, 7.2 V, 1.2 V; 24 V 320 ohm, 14.8 V, 2.4 V
    // (component maker's data, type 78). Other systems in proportion to the 12 V one.
    let usual = if (given.system_volts - 24.0).abs() < 1.0 {
        [320.0, 14.8, 2.4]
    } else {
        [100.0 * twelves * twelves, 7.2 * twelves, 1.2 * twelves]
    };
    let coil = coil(given, usual);
    // 15 mV at 10 A, typical (component maker's data, plug-in mini ISO relay).
    let ohms = given.number("ohms", 0.0015);
    let five = given.number("pins", 4.0) > 4.5;
    let mut relay = Blueprint::new(Kind::Relay, ["86", "85", "30", "87"])
        .link("coil", 0, 1, coil)
        .link("contact", 2, 3, Element::Contact { ohms, closed_when: ClosedWhen::Pulled });
    if five {
        relay.terminals.push(super::Stub { name: "87a".to_owned(), probe: true });
        let rest = Element::Contact { ohms, closed_when: ClosedWhen::Released };
        relay = relay.link("rest contact", 2, 4, rest);
    }
    Some(match given.fields.choice("across_coil", &["diode", "resistor"], given.problems) {
        Some("diode") => {
            let element = Element::Diode { forward_volts: DIODE_VOLTS, at_amps: DIODE_AMPS };
            relay.link("suppression diode", 1, 0, element)
        }
        // 680 ohm across a 12 V coil: from memory.
        Some(_) => {
            let element = Element::Resistance { ohms: 680.0 * twelves * twelves };
            relay.link("suppression resistor", 0, 1, element)
        }
        None => relay,
    })
}

/// A coil from the keys `coil`, `pull_in` and `drop_out`, and the usual ohms and volts of its kind.
fn coil(given: &mut Given<'_, '_>, [ohms, pull_in, drop_out]: [f64; 3]) -> Element {
    let ohms = given.number("coil", ohms);
    let pull_in_volts = given.number("pull_in", pull_in);
    let drop_out_volts = given.number("drop_out", drop_out.min(0.8 * pull_in_volts));
    if drop_out_volts >= pull_in_volts {
        let key = if given.fields.get("drop_out").is_some() { "drop_out" } else { "pull_in" };
        let span = given.fields.get(key).map_or(&given.fields.span, |entry| &entry.value.span);
        given.problems.push(
            Problem::error("drop-out", span, "`drop_out` has to be below `pull_in`").help(
                "a coil holds with fewer volts than it takes to pull in: is one of the two wrong?",
            ),
        );
    }
    Element::Coil { ohms, pull_in_volts, drop_out_volts }
}
