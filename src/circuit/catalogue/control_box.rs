//! A control unit known only by what feeds it, what it draws, what it hears and what it switches.
//!
//! Inside it is a few relays that settle with the rest of the circuit: the unit wakes when its feed is
//! high enough over its ground, an input counts as fed or grounded by the volts across a resistor, and
//! an output is a contact to the feed or to the ground that closes while the unit is awake. So a lost
//! ground, a sagging supply or a leaking input do to it what they do on the machine.

use super::switches::position;
use super::{Blueprint, Entry, Given, Stub, number, words};
use crate::circuit::document::{Located, Node};
use crate::circuit::fields::{self, Fields, Word, did_you_mean, range};
use crate::circuit::names::slug;
use crate::circuit::{ClosedWhen, Element, Kind};
use crate::problem::Problem;
use crate::quantity::Unit;

/// A control unit.
pub const BOX: Entry = Entry {
    word: "box",
    about: "a control unit by what it draws and switches; terminals `feed`, `ground`, inputs, outputs",
    keys: &[
        number("draws", range(Unit::Amps, 1e-5, 50.0), "amperes it takes for itself; 0.1 A"),
        number("wakes", range(Unit::Volts, 0.5, 60.0), "volts from which it works; 6 V for 12 V"),
        words("inputs", "what it hears, `{ start: fed, oil: grounded }`; none"),
        words(
            "outputs",
            "what it switches, `{ pump: { to: feed, input: start } }`; has to be given",
        ),
        number("ohms", range(Unit::Ohms, 0.0, 10.0), "of an output that is on; 50 mohm"),
    ],
    build: control_box,
};

/// Resistor of an input that has to be fed, and the one by which an input to be grounded is fed from
/// within (from memory).
const INPUT_OHMS: [f64; 2] = [10_000.0, 1000.0];
/// An input counts from this share of the system's volts across its resistor (from memory).
const INPUT_SHARE: f64 = 0.5;
/// What is on stays on down to this share of what turned it on (from memory).
const HYSTERESIS: f64 = 0.8;

/// Terminals that every box has.
const FEED: usize = 0;
const BOX_GROUND: usize = 1;
/// The link that wakes it.
const WAKE: usize = 0;

fn control_box(given: &mut Given<'_, '_>) -> Option<Blueprint> {
    let twelves = given.twelves();
    let amps = given.number("draws", 0.1);
    let on_volts = given.number("wakes", 6.0 * twelves);
    let contact_ohms = given.number("ohms", 0.05);
    let wake = Element::Sense {
        ohms: given.system_volts / amps,
        on_volts,
        off_volts: HYSTERESIS * on_volts,
    };
    let mut plan =
        Blueprint::new(Kind::ControlBox, ["feed", "ground"]).link("supply", FEED, BOX_GROUND, wake);
    let inputs = inputs(given, &mut plan);
    let help = "add what it switches, as in `outputs: { pump: { to: feed, input: start } }`";
    let section = given.fields.required("outputs", help, given.problems)?;
    let example = "{ pump: { to: feed, input: start } }";
    for entry in fields::named(&section.value, "`outputs`", example, given.problems) {
        let name = Word::of_key(entry);
        if taken(&plan, &name, given) {
            continue;
        }
        if let Some(output) = output(given, &name, &entry.value, &inputs) {
            add_output(&mut plan, &name.text, output, contact_ohms);
        }
    }
    Some(plan)
}

/// The name is already that of another terminal.
fn taken(plan: &Blueprint, name: &Word, given: &mut Given<'_, '_>) -> bool {
    let taken = plan.terminals.iter().any(|stub| slug(&stub.name) == slug(&name.text));
    if taken {
        let message = format!("{} has two terminals `{}`", given.fields.what, name.text);
        given.problems.push(
            Problem::error("given-twice", &name.span, message)
                .help("give each input and output a name of its own, other than feed and ground"),
        );
    }
    taken
}

/// Adds the inputs; gives their names with the positions of their links.
fn inputs(given: &mut Given<'_, '_>, plan: &mut Blueprint) -> Vec<(String, usize)> {
    let Some(section) = given.fields.get("inputs") else { return Vec::new() };
    let mut inputs = Vec::new();
    for entry in fields::named(&section.value, "`inputs`", "{ start: fed }", given.problems) {
        let name = Word::of_key(entry);
        let Some(said) = fields::word(&entry.value, &entry.key_span, &entry.key, given.problems)
        else {
            continue;
        };
        let grounded = match said.text.as_str() {
            "fed" => false,
            "grounded" => true,
            other => {
                given.problems.push(
                    Problem::error("input", &said.span, format!("an input cannot be `{other}`"))
                        .help("write `fed` when it acts with the supply on it, else `grounded`"),
                );
                continue;
            }
        };
        if taken(plan, &name, given) {
            continue;
        }
        let on_volts = INPUT_SHARE * given.system_volts;
        let ohms = INPUT_OHMS[usize::from(grounded)];
        let sense = Element::Sense { ohms, on_volts, off_volts: HYSTERESIS * on_volts };
        let at = plan.terminals.len();
        inputs.push((name.text.clone(), plan.links.len()));
        plan.terminals.push(Stub { name: name.text, probe: true });
        let (first, second) = if grounded { (FEED, at) } else { (at, BOX_GROUND) };
        plan.links.push(super::PlannedLink {
            role: "input",
            first,
            second: Some(second),
            element: sense,
        });
    }
    inputs
}

/// What an output joins its terminal to, and what closes it beside the unit being awake.
struct Output {
    to: usize,
    condition: Option<ClosedWhen>,
}

const OUTPUT_KEYS: &[&str] = &["to", "input", "control", "closed"];

fn output(
    given: &mut Given<'_, '_>,
    name: &Word,
    value: &Located,
    inputs: &[(String, usize)],
) -> Option<Output> {
    if value.node == Node::Nothing {
        return Some(Output { to: FEED, condition: None });
    }
    let what = format!("output `{}`", name.text);
    let fields = Fields::open(value, what, &name.span, OUTPUT_KEYS, given.problems)?;
    let to = match fields.choice("to", &["feed", "ground"], given.problems) {
        Some("ground") => BOX_GROUND,
        _ => FEED,
    };
    if let (Some(input), Some(control)) = (fields.get("input"), fields.get("control")) {
        given.problems.push(
            Problem::error(
                "input-and-control",
                &control.key_span,
                "an output follows one thing: an input or a control",
            )
            .note(&input.key_span, "`input` is here")
            .help("keep the one that switches it"),
        );
        return None;
    }
    let condition = match fields.word("input", given.problems) {
        Some(said) => Some(followed(given, &said, inputs)?),
        None if fields.get("control").is_some() => Some(by_control(given, &fields)?),
        None => None,
    };
    Some(Output { to, condition })
}

fn followed(
    given: &mut Given<'_, '_>,
    said: &Word,
    inputs: &[(String, usize)],
) -> Option<ClosedWhen> {
    if let Some((_, link)) = inputs.iter().find(|(name, _)| slug(name) == slug(&said.text)) {
        return Some(ClosedWhen::Sensed { link: *link });
    }
    let message = format!("{} has no input `{}`", given.fields.what, said.text);
    given.problems.push(
        Problem::error("unknown-input", &said.span, message)
            .help(did_you_mean(&said.text, inputs.iter().map(|(name, _)| name.as_str()))),
    );
    None
}

/// `control: key, closed: on` of an output.
fn by_control(given: &mut Given<'_, '_>, fields: &Fields<'_>) -> Option<ClosedWhen> {
    let said = fields.word("control", given.problems)?;
    let control = super::switches::control_named(given, &said)?;
    let help = "add `closed:` with the position or positions in which it is on";
    fields.required("closed", help, given.problems)?;
    let said = fields.words("closed", given.problems);
    let positions: Vec<usize> =
        said.iter().filter_map(|word| position(given, control, word)).collect();
    (!positions.is_empty()).then_some(ClosedWhen::Control { control, positions })
}

fn add_output(plan: &mut Blueprint, name: &str, output: Output, ohms: f64) {
    let at = plan.terminals.len();
    plan.terminals.push(Stub { name: name.to_owned(), probe: true });
    let awake = ClosedWhen::Sensed { link: WAKE };
    let contact = |first, second, ohms, closed_when| super::PlannedLink {
        role: "contact",
        first,
        second: Some(second),
        element: Element::Contact { ohms, closed_when },
    };
    let Some(condition) = output.condition else {
        plan.links.push(contact(output.to, at, ohms, awake));
        return;
    };
    let inside = plan.terminals.len();
    plan.terminals.push(Stub { name: format!("inside {name}"), probe: false });
    let gate = super::PlannedLink {
        role: "gate contact",
        ..contact(output.to, inside, 0.5 * ohms, awake)
    };
    plan.links.push(gate);
    plan.links.push(contact(inside, at, 0.5 * ohms, condition));
}
