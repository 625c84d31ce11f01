//! Batteries, charging sources, fuses.

use super::switches::{control, position};
use super::{Blueprint, Entry, GROUND, Given, number, words};
use crate::circuit::fields::{self, Word, range};
use crate::circuit::{ControlId, Element, Kind};
use crate::problem::Problem;
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
        number(
            "charge",
            range(Unit::Percent, 0.0, 100.0),
            "state of charge, instead of `volts`; 100 %",
        ),
        number("ohms", range(Unit::Ohms, 1e-4, 10.0), "internal resistance; 10 mohm for 12 V"),
    ],
    build: battery,
};

/// A generator or alternator with its rectifier and regulator.
pub const CHARGING_SOURCE: Entry = Entry {
    word: "charging source",
    about: "generator, rectifier and regulator; terminals `+`, `body`, with `lamp: yes` also `L`",
    keys: &[
        words("control", "what turns it: off, idle, faster; has to be given"),
        words(
            "output",
            "amperes it can give by position, `{ idle: 5 A, fast: 15 A }`; has to be given",
        ),
        number("volts", range(Unit::Volts, 1.0, 60.0), "what its regulator holds; 14.2 V for 12 V"),
        words("lamp", "`yes` when it has a terminal `L` for a charge lamp"),
        GROUND,
    ],
    build: charging_source,
};

/// A fuse.
pub const FUSE: Entry = Entry {
    word: "fuse",
    about: "terminals `in` and `out`",
    keys: &[
        number("rating", range(Unit::Amps, 0.1, 500.0), "printed rating; 15 A"),
        number("ohms", range(Unit::Ohms, 1e-5, 10.0), "when whole; 0.1 V at its rating"),
    ],
    build: fuse,
};

/// A piece of thinner wire that burns through before the wires behind it do.
pub const FUSIBLE_LINK: Entry = Entry {
    word: "fusible link",
    about: "a piece of thinner wire that burns through; terminals `in` and `out`",
    keys: &[
        number("rating", range(Unit::Amps, 1.0, 500.0), "amperes it carries for good; 40 A"),
        number("ohms", range(Unit::Ohms, 1e-5, 1.0), "when whole; 0.1 V at its rating"),
    ],
    build: fusible_link,
};

/// A circuit breaker.
pub const BREAKER: Entry = Entry {
    word: "breaker",
    about: "circuit breaker; terminals `in` and `out`",
    keys: &[
        number("rating", range(Unit::Amps, 0.1, 500.0), "printed rating; 20 A"),
        number("ohms", range(Unit::Ohms, 1e-5, 10.0), "when closed; 0.15 V at its rating"),
        words("resets", "`by hand`, or `itself` when it has cooled, over and over; by hand"),
    ],
    build: breaker,
};

/// Open-circuit volts of a 12 V lead-acid battery by its charge in per cent, after its surface charge
/// is gone: US Army TM 5-3805-262-20, par. 5-9 (`tests/data/physics/batteries.yaml`).
const VOLTS_BY_CHARGE: [(f64, f64); 5] =
    [(0.0, 11.7), (25.0, 12.0), (50.0, 12.2), (75.0, 12.4), (100.0, 12.6)];

/// Volts of a rested 12 V lead-acid battery at `percent` of its charge, straight between the entries
/// of the published table.
pub fn rested_volts(percent: f64) -> f64 {
    let percent = percent.clamp(0.0, 100.0);
    let step = VOLTS_BY_CHARGE.windows(2).find(|pair| percent <= pair[1].0);
    step.map_or(VOLTS_BY_CHARGE[4].1, |pair| {
        let share = (percent - pair[0].0) / (pair[1].0 - pair[0].0);
        pair[0].1 + share * (pair[1].1 - pair[0].1)
    })
}

/// Ohms of a battery over those it has when it is full, by its rested volts in a 12 V system.
///
/// Its acid thins as it runs down, which about doubles them by the end (from memory).
pub fn run_down(rested_volts: f64) -> f64 {
    let below = |pair: &&[(f64, f64)]| rested_volts <= pair[1].1;
    let percent = VOLTS_BY_CHARGE.windows(2).find(below).map_or(100.0, |pair| {
        let share = (rested_volts - pair[0].1) / (pair[1].1 - pair[0].1);
        pair[0].0 + share.max(0.0) * (pair[1].0 - pair[0].0)
    });
    2.0 - percent / 100.0
}

fn battery(given: &mut Given<'_, '_>) -> Option<Blueprint> {
    if let (Some(volts), Some(charge)) = (given.fields.get("volts"), given.fields.get("charge")) {
        given.problems.push(
            Problem::error(
                "volts-and-charge",
                &charge.key_span,
                "`volts` and `charge` say the same thing twice",
            )
            .note(&volts.key_span, "`volts` is here")
            .help("keep `volts` if they were measured at rest, else `charge`"),
        );
    }
    let charge = given.number("charge", 100.0);
    // Other systems in proportion (same cells).
    let volts = given.number("volts", rested_volts(charge) * given.twelves());
    // 10 mohm: the textbook's good 12 V battery (OpenStax College Physics, terminal voltage).
    let ohms = given.number("ohms", 0.010 * run_down(rested_volts(charge)) * given.twelves());
    Some(Blueprint::new(Kind::Battery, ["+", "-"]).link(
        "cells",
        0,
        1,
        Element::Emf { volts, ohms },
    ))
}

/// Volts lost in the rectifier at some amperes: silicon, 0.7 V at its rated amperes (T. R. Kuphaldt,
/// Lessons In Electric Circuits, volume III, chapter 3); the regulator makes up for them.
const RECTIFIER_VOLTS: f64 = 0.7;

/// Volts at which a charging source gives the amperes of its speed: the least a 12 V machine may show
/// at its battery with the engine turning, of 13 to 15.5 V (US Army TM 5-3805-254-20-1).
const LOADED_VOLTS: f64 = 13.0;

/// What its charge lamp meets: the rotor, standing still, and the exciter diodes, turning (from memory).
const EXCITER_OHMS: [f64; 2] = [8.0, 0.5];

fn charging_source(given: &mut Given<'_, '_>) -> Option<Blueprint> {
    let twelves = given.twelves();
    // Between 13 and 15.5 V (US Army TM 5-3805-254-20-1); 14.2 V is usual (from memory).
    let volts = given.number("volts", 14.2 * twelves);
    let least_volts = LOADED_VOLTS * twelves;
    if volts <= least_volts {
        let span = given.fields.get("volts").map_or(&given.fields.span, |entry| &entry.value.span);
        given.problems.push(
            Problem::error("regulator", span, "its regulator would never charge the battery").help(
                format!(
                    "a 12 V regulator holds 13 to 15.5 V; here it has to be above {least_volts} V"
                ),
            ),
        );
    }
    let control = control(given)?;
    let amps = output(given, control)?;
    let lamp = given.fields.flag("lamp", given.problems).unwrap_or(false);
    let body = given.body_ground(true);
    let most_amps = amps.iter().copied().fold(0.0, f64::max);
    // Standing still it is the bare stator behind its rectifier.
    let stator = |amps: f64| (volts - least_volts) / if amps > 0.0 { amps } else { most_amps };
    let emf = |amps: &f64| if *amps > 0.0 { volts + RECTIFIER_VOLTS } else { 0.0 };
    let steps = amps.iter().map(|amps| (emf(amps), stator(*amps))).collect();
    let rectifier = Element::Diode { forward_volts: RECTIFIER_VOLTS, at_amps: most_amps };
    let mut plan = Blueprint::new(Kind::ChargingSource, ["+", "-", "rectifier"])
        .link("rectifier", 2, 0, rectifier)
        .link("generator", 2, 1, Element::Generator { control, steps });
    plan.terminals[2].probe = false;
    if lamp {
        plan.terminals.push(super::Stub { name: "L".to_owned(), probe: true });
        let excited = |amps: &f64| {
            if *amps > 0.0 { (volts, EXCITER_OHMS[1]) } else { (0.0, EXCITER_OHMS[0] * twelves) }
        };
        let steps = amps.iter().map(excited).collect();
        plan = plan.link("exciter", 3, 1, Element::Generator { control, steps });
    }
    Some(plan.grounded_by_body(1, body))
}

/// Amperes by position of the control; zero where the file names none.
fn output(given: &mut Given<'_, '_>, control: ControlId) -> Option<Vec<f64>> {
    let help = "add what it gives by position, as in `output: { idle: 5 A, fast: 15 A }`";
    let section = given.fields.required("output", help, given.problems)?;
    let mut amps = vec![0.0; given.controls[control.index()].positions.len()];
    let before = given.problems.len();
    for entry in
        fields::named(&section.value, "`output`", "{ idle: 5 A, fast: 15 A }", given.problems)
    {
        let said = Word::of_key(entry);
        let at = position(given, control, &said);
        let text = fields::word(&entry.value, &entry.key_span, &entry.key, given.problems);
        let range = range(Unit::Amps, 0.01, 1000.0);
        let value = text.and_then(|text| fields::number(&text, "output", range, given.problems));
        if let (Some(at), Some(value)) = (at, value) {
            amps[at] = value;
        }
    }
    if given.problems.len() > before {
        return None;
    }
    if amps.iter().all(|amps| *amps == 0.0) {
        given.problems.push(
            Problem::error("output", &section.key_span, "it gives nothing in any position")
                .help(help),
        );
        return None;
    }
    Some(amps)
}

fn fuse(given: &mut Given<'_, '_>) -> Option<Blueprint> {
    // 15 A: common practice for a main fuse, no source. Blade fuses drop 84 to 128 mV at their rating
    // from 5 A up (maker's table, from memory).
    Some(protector(given, Kind::Fuse, 15.0, 0.1))
}

fn fusible_link(given: &mut Given<'_, '_>) -> Option<Blueprint> {
    // 40 A: common practice, no source. Its drop is taken for that of a fuse.
    Some(protector(given, Kind::FusibleLink, 40.0, 0.1))
}

fn breaker(given: &mut Given<'_, '_>) -> Option<Blueprint> {
    // 20 A and 0.15 V, a strip of bimetal longer than a fuse: from memory.
    let mut plan = protector(given, Kind::Breaker, 20.0, 0.15);
    if given.fields.choice("resets", &["by hand", "itself"], given.problems) == Some("itself")
        && let Element::Fuse { ohms, rated_amps } = plan.links[0].element
    {
        plan.links[0].element = Element::Cutout { ohms, rated_amps };
    }
    Some(plan)
}

/// What opens at too many amperes, with its usual rating and the volts lost in it there.
fn protector(given: &mut Given<'_, '_>, kind: Kind, rating: f64, volts: f64) -> Blueprint {
    let rated_amps = given.number("rating", rating);
    let ohms = given.number("ohms", volts / rated_amps);
    let element = Element::Fuse { ohms, rated_amps };
    Blueprint::new(kind, ["in", "out"]).link("element", 0, 1, element)
}
