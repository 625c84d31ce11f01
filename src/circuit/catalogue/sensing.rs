//! Senders and gauges.

use super::switches::{control, position};
use super::{Blueprint, Entry, GROUND, Given, number, words};
use crate::circuit::fields::{self, Word, range};
use crate::circuit::{ControlId, Element, Kind};
use crate::problem::Problem;
use crate::quantity::Unit;

/// A needle that follows its amperes.
pub const GAUGE: Entry = Entry {
    word: "gauge",
    about: "a needle that follows its amperes; terminals `+` and `S`, which leads to its sender",
    keys: &[
        number("ohms", range(Unit::Ohms, 0.5, 1e5), "its winding; 60 ohm for 12 V"),
        number("full", range(Unit::Amps, 1e-5, 5.0), "amperes at the end of its scale; 0.13 A"),
    ],
    build: gauge,
};

/// A resistance set by what it measures: a fuel float, a heat or pressure sender.
pub const SENDER: Entry = Entry {
    word: "sender",
    about: "a resistance set by what it measures; terminals `out` and `body`",
    keys: &[
        words("control", "what it measures; has to be given"),
        words("ohms", "by position, `{ empty: 240 ohm, full: 30 ohm }`; has to be given for each"),
        GROUND,
    ],
    build: sender,
};

/// Ohms of a sender at the full end: with the gauge's own they give the default `full`.
const FULL_SENDER_OHMS: f64 = 30.0;

fn gauge(given: &mut Given<'_, '_>) -> Option<Blueprint> {
    // 60 ohm, and full at 30 ohm of its sender: a usual fuel gauge, from memory.
    let ohms = given.number("ohms", 60.0 * given.twelves());
    let full_amps = given.number("full", given.system_volts / (ohms + FULL_SENDER_OHMS));
    Some(Blueprint::new(Kind::Gauge { full_amps }, ["+", "S"]).link(
        "winding",
        0,
        1,
        Element::Resistance { ohms },
    ))
}

fn sender(given: &mut Given<'_, '_>) -> Option<Blueprint> {
    let control = control(given)?;
    let ohms = by_position(given, control)?;
    let body = given.body_ground(true);
    Some(
        Blueprint::new(Kind::Sender { control }, ["out", "-"])
            .link("track", 0, 1, Element::Variable { control, ohms })
            .grounded_by_body(1, body),
    )
}

/// Ohms for each position of the control.
fn by_position(given: &mut Given<'_, '_>, control: ControlId) -> Option<Vec<f64>> {
    let help = "add its ohms by position, as in `ohms: { empty: 240 ohm, full: 30 ohm }`";
    let section = given.fields.required("ohms", help, given.problems)?;
    let before = given.problems.len();
    let mut ohms: Vec<Option<f64>> = vec![None; given.controls[control.index()].positions.len()];
    let example = "{ empty: 240 ohm, full: 30 ohm }";
    for entry in fields::named(&section.value, "`ohms`", example, given.problems) {
        let said = Word::of_key(entry);
        let at = position(given, control, &said);
        let text = fields::word(&entry.value, &entry.key_span, &entry.key, given.problems);
        let range = range(Unit::Ohms, 0.01, 1e6);
        let value = text.and_then(|text| fields::number(&text, "ohms", range, given.problems));
        if let Some(at) = at {
            ohms[at] = value;
        }
    }
    if given.problems.len() > before {
        return None;
    }
    let missing = ohms.iter().position(Option::is_none);
    if let Some(at) = missing {
        let position = &given.controls[control.index()].positions[at];
        let message = format!("{} has no ohms for `{position}`", given.fields.what);
        given.problems.push(Problem::error("ohms", &section.key_span, message).help(help));
    }
    ohms.into_iter().collect()
}
