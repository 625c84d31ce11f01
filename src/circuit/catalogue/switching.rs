//! Switches, relays, solenoids.

use super::loads::{DIODE_AMPS, DIODE_VOLTS};
use super::{BODY, Blueprint, Entry, GROUND, Sheet, number, words};
use crate::circuit::document::{Located, Node};
use crate::circuit::fields::{self, Word, did_you_mean, range};
use crate::circuit::names::slug;
use crate::circuit::{ClosedWhen, ControlId, Element, Kind};
use crate::problem::{Problem, Span};
use crate::quantity::Unit;

/// Anything a control opens and closes.
pub const SWITCH: Entry = Entry {
    word: "switch",
    about: "terminals `in` and `out`, or those it is given",
    keys: &[
        words("control", "what operates it; has to be given"),
        words("closed", "position or positions in which it is closed"),
        words("terminals", "names of its terminals; `[in, out]`"),
        words("joins", "for more than two terminals: which are joined in which position"),
        number("ohms", range(Unit::Ohms, 0.0, 100.0), "across clean contacts; 20 mohm"),
        GROUND,
    ],
    build: switch,
};

/// Closed or opened by the pressure of oil, air or brake fluid.
pub const PRESSURE_SWITCH: Entry = Entry {
    word: "pressure switch",
    about: "a switch that oil, air or brake pressure moves; terminals as a switch",
    keys: SWITCH.keys,
    build: switch,
};

/// Closed or opened by heat.
pub const THERMO_SWITCH: Entry = Entry {
    word: "thermo switch",
    about: "a switch that heat moves; terminals as a switch",
    keys: SWITCH.keys,
    build: switch,
};

/// Closed or opened by a magnet: side stand, float, door.
pub const REED_SWITCH: Entry = Entry {
    word: "reed switch",
    about: "a switch that a magnet moves; terminals as a switch",
    keys: SWITCH.keys,
    build: switch,
};

/// Keeps an engine from cranking in gear.
pub const INHIBITOR_SWITCH: Entry = Entry {
    word: "inhibitor switch",
    about: "a switch on gear lever or selector; terminals as a switch",
    keys: SWITCH.keys,
    build: switch,
};

/// Closed in neutral.
pub const NEUTRAL_SWITCH: Entry = Entry {
    word: "neutral switch",
    about: "a switch on the gearbox, made in neutral; terminals as a switch",
    keys: SWITCH.keys,
    build: switch,
};

/// Moved by the clutch lever or pedal.
pub const CLUTCH_SWITCH: Entry = Entry {
    word: "clutch switch",
    about: "a switch on clutch lever or pedal; terminals as a switch",
    keys: SWITCH.keys,
    build: switch,
};

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

fn flasher(sheet: &mut Sheet<'_, '_>) -> Option<Blueprint> {
    // Two lamps of 21 W; 50 mohm and, for an electronic one, 20 mA: from memory.
    let rated_amps = sheet.number("watts", 42.0) / sheet.system_volts;
    let ohms = sheet.number("ohms", 0.05);
    let kind = Kind::Flasher { rated_amps };
    if sheet.number("pins", 2.0) < 2.5 {
        let element = Element::Resistance { ohms };
        return Some(Blueprint::new(kind, ["49", "49a"]).link("beater", 0, 1, element));
    }
    // It beats only while its electronics are fed.
    let on_volts = 0.6 * sheet.system_volts;
    let supply =
        Element::Sense { ohms: sheet.system_volts / 0.020, on_volts, off_volts: 0.8 * on_volts };
    let contact = Element::Contact { ohms, closed_when: ClosedWhen::Sensed { link: 0 } };
    Some(
        Blueprint::new(kind, ["49", "49a", "31"])
            .link("supply", 0, 2, supply)
            .link("contact", 0, 1, contact),
    )
}

fn solenoid(sheet: &mut Sheet<'_, '_>) -> Option<Blueprint> {
    let twelves = sheet.twelves();
    // Small starter solenoids have 3 to 5 ohm, drop out at about a quarter of the system's volts and
    // have contacts of about 1 mohm: from memory.
    let coil = coil(sheet, [3.6 * twelves * twelves, 7.2 * twelves, 3.0 * twelves]);
    let ohms = sheet.number("ohms", 0.001);
    let body = sheet.body_ground(false);
    let contact = Element::Contact { ohms, closed_when: ClosedWhen::Pulled };
    let mut plan = Blueprint::new(Kind::Solenoid, ["coil in", "coil out", "battery", "motor"]);
    let pull_ohms = sheet.fields.get("pull_winding").map(|_| sheet.number("pull_winding", 0.4));
    if let (Some(ohms), Element::Coil { pull_in_volts, .. }) = (pull_ohms, &coil) {
        let helper = Element::Coil { ohms, pull_in_volts: *pull_in_volts, drop_out_volts: 0.0 };
        plan = plan.link("pull-in winding", 0, 3, helper);
    }
    Some(plan.link("coil", 0, 1, coil).link("contact", 2, 3, contact).grounded_by_body(1, body))
}

fn relay(sheet: &mut Sheet<'_, '_>) -> Option<Blueprint> {
    let twelves = sheet.twelves();
    // A maker's automotive relay: 12 V 100 ohm, 7.2 V, 1.2 V; 24 V 320 ohm, 14.8 V, 2.4 V
    // (component maker's data, type 78). Other systems in proportion to the 12 V one.
    let usual = if (sheet.system_volts - 24.0).abs() < 1.0 {
        [320.0, 14.8, 2.4]
    } else {
        [100.0 * twelves * twelves, 7.2 * twelves, 1.2 * twelves]
    };
    let coil = coil(sheet, usual);
    // 15 mV at 10 A, typical (component maker's data, plug-in mini ISO relay).
    let ohms = sheet.number("ohms", 0.0015);
    let five = sheet.number("pins", 4.0) > 4.5;
    let mut relay = Blueprint::new(Kind::Relay, ["86", "85", "30", "87"])
        .link("coil", 0, 1, coil)
        .link("contact", 2, 3, Element::Contact { ohms, closed_when: ClosedWhen::Pulled });
    if five {
        relay.terminals.push(super::Stub { name: "87a".to_owned(), probe: true });
        let rest = Element::Contact { ohms, closed_when: ClosedWhen::Released };
        relay = relay.link("rest contact", 2, 4, rest);
    }
    Some(match sheet.fields.choice("across_coil", &["diode", "resistor"], sheet.problems) {
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
fn coil(sheet: &mut Sheet<'_, '_>, [ohms, pull_in, drop_out]: [f64; 3]) -> Element {
    let ohms = sheet.number("coil", ohms);
    let pull_in_volts = sheet.number("pull_in", pull_in);
    let drop_out_volts = sheet.number("drop_out", drop_out.min(0.8 * pull_in_volts));
    if drop_out_volts >= pull_in_volts {
        let key = if sheet.fields.get("drop_out").is_some() { "drop_out" } else { "pull_in" };
        let span = sheet.fields.get(key).map_or(&sheet.fields.span, |entry| &entry.value.span);
        sheet.problems.push(
            Problem::error("drop-out", span, "`drop_out` has to be below `pull_in`").help(
                "a coil holds with fewer volts than it takes to pull in: is one of the two wrong?",
            ),
        );
    }
    Element::Coil { ohms, pull_in_volts, drop_out_volts }
}

fn switch(sheet: &mut Sheet<'_, '_>) -> Option<Blueprint> {
    let word = sheet.entry.word;
    // One terminal and a thread: how oil pressure switches are made.
    let body = sheet.body_ground(word == PRESSURE_SWITCH.word);
    // Clean contacts of a small switch, and of a reed: from memory.
    let ohms = sheet.number("ohms", if word == REED_SWITCH.word { 0.1 } else { 0.020 });
    let control = control(sheet)?;
    let (names, table) = match sheet.fields.get("joins") {
        Some(joins) => {
            if let Some(closed) = sheet.fields.get("closed") {
                sheet.problems.push(
                    Problem::error(
                        "closed-and-joins",
                        &closed.key_span,
                        "`closed` and `joins` say the same thing twice",
                    )
                    .note(&joins.key_span, "`joins` is here")
                    .help("keep `closed` for a switch with two terminals, `joins` for more"),
                );
            }
            let names = terminals(sheet, &["in", "out"], body);
            let table = table(sheet, &joins.value, control, &names);
            (names, table)
        }
        None => (terminals(sheet, &["in", "out"], body), pair(sheet, control)?),
    };
    let mut blueprint =
        Blueprint::new(Kind::Switch { control }, names.iter().map(|name| name.text.as_str()));
    for (first, second, positions) in table {
        let closed_when = ClosedWhen::Control { control, positions };
        blueprint =
            blueprint.link("contact", first, second, Element::Contact { ohms, closed_when });
    }
    let last = names.len().checked_sub(1)?;
    Some(blueprint.grounded_by_body(last, body).inside())
}

/// The control named by the key `control`, which has to be there.
pub(super) fn control(sheet: &mut Sheet<'_, '_>) -> Option<ControlId> {
    let help = "add `control: NAME`: what a person does to operate it, from `controls`";
    sheet.fields.required("control", help, sheet.problems)?;
    let said = sheet.fields.word("control", sheet.problems)?;
    control_named(sheet, &said)
}

/// The control of this name, noted down as used; one that is not there becomes a problem.
pub(super) fn control_named(sheet: &mut Sheet<'_, '_>, said: &Word) -> Option<ControlId> {
    let wanted = slug(&said.text);
    if let Some(index) = sheet.controls.iter().position(|control| control.id == wanted) {
        let id = ControlId(index as u32);
        sheet.used_controls.push(id);
        return Some(id);
    }
    if !sheet.broken_controls.contains(&wanted) {
        let known = sheet.controls.iter().map(|control| control.name.as_str());
        sheet.problems.push(
            Problem::error(
                "unknown-control",
                &said.span,
                format!("there is no control `{}`", said.text),
            )
            .help(did_you_mean(&said.text, known)),
        );
    }
    None
}

/// The names of a switch's terminals; with `body` a last one is added for its body.
fn terminals(sheet: &mut Sheet<'_, '_>, usual: &[&str], body: bool) -> Vec<Word> {
    let mut names = sheet.fields.words("terminals", sheet.problems);
    let span =
        sheet.fields.get("terminals").map_or(&sheet.fields.span, |entry| &entry.key_span).clone();
    if names.is_empty() {
        let own = usual.len() - usize::from(body);
        names = usual[..own]
            .iter()
            .map(|name| Word { text: (*name).to_owned(), span: span.clone() })
            .collect();
    }
    if body {
        names.push(Word { text: BODY.to_owned(), span: span.clone() });
    }
    for (index, name) in names.iter().enumerate() {
        if let Some(first) = names[..index].iter().find(|n| slug(&n.text) == slug(&name.text)) {
            sheet.problems.push(
                Problem::error(
                    "given-twice",
                    &name.span,
                    format!("terminal `{}` is given twice", name.text),
                )
                .note(&first.span, "the first is here")
                .help("give each terminal a name of its own"),
            );
        }
    }
    let with_table = sheet.fields.get("joins").is_some();
    if names.len() < 2 || !with_table && names.len() > 2 {
        let help = if body {
            "with `ground: body` name the one terminal that is wired"
        } else if names.len() < 2 {
            "a switch has two terminals, or with `ground: body` one"
        } else {
            "for more than two terminals say with `joins` which are joined in which position, \
             as in `joins: { on: [[B, IG]] }`"
        };
        sheet.problems.push(
            Problem::error(
                "terminals",
                &span,
                format!("{} has {} terminals", sheet.fields.what, names.len()),
            )
            .help(help),
        );
    }
    names
}

/// Contacts as first terminal, second terminal, positions.
type Contacts = Vec<(usize, usize, Vec<usize>)>;

/// The one contact of a switch with two terminals.
fn pair(sheet: &mut Sheet<'_, '_>, control: ControlId) -> Option<Contacts> {
    let names = sheet.controls[control.index()].positions.join("`, `");
    let help = format!("add `closed:` with the position in which it is closed, of `{names}`");
    sheet.fields.required("closed", &help, sheet.problems)?;
    let said = sheet.fields.words("closed", sheet.problems);
    let mut positions: Vec<usize> =
        said.iter().filter_map(|word| position(sheet, control, word)).collect();
    positions.sort_unstable();
    positions.dedup();
    Some(vec![(0, 1, positions)])
}

/// The position of this name; one that is not there becomes a problem.
pub(super) fn position(
    sheet: &mut Sheet<'_, '_>,
    control: ControlId,
    said: &Word,
) -> Option<usize> {
    fields::position(&sheet.controls[control.index()], said, sheet.problems)
}

/// The contacts of `joins: { on: [[B, IG]], start: [[B, IG], [B, ST]] }`.
fn table(
    sheet: &mut Sheet<'_, '_>,
    joins: &Located,
    control: ControlId,
    names: &[Word],
) -> Contacts {
    let mut contacts: Contacts = Vec::new();
    for entry in fields::named(joins, "`joins`", "{ on: [[B, IG]] }", sheet.problems) {
        let said = Word { text: entry.key.clone(), span: entry.key_span.clone() };
        let Some(position) = position(sheet, control, &said) else { continue };
        for group in groups(sheet, &entry.value, &entry.key_span) {
            let joined: Vec<usize> =
                group.iter().filter_map(|word| terminal(sheet, names, word)).collect();
            for pair in joined.windows(2) {
                // Each group hangs on its first terminal, so that B-IG of `on` and of `start` is one contact.
                let (first, second) = (joined[0].min(pair[1]), joined[0].max(pair[1]));
                if first == second {
                    continue;
                }
                match contacts.iter_mut().find(|(a, b, _)| (*a, *b) == (first, second)) {
                    Some((_, _, positions)) if positions.contains(&position) => {}
                    Some((_, _, positions)) => positions.push(position),
                    None => contacts.push((first, second, vec![position])),
                }
            }
        }
    }
    contacts
}

/// The groups of one position: a list of lists, or a single list of names.
fn groups(sheet: &mut Sheet<'_, '_>, value: &Located, key_span: &Span) -> Vec<Vec<Word>> {
    let lists: Vec<&Located> = match &value.node {
        Node::Nothing => return Vec::new(),
        Node::List(items) if items.iter().all(|item| matches!(item.node, Node::List(_))) => {
            items.iter().collect()
        }
        _ => vec![value],
    };
    let mut groups = Vec::new();
    for list in lists {
        let group = fields::words(list, key_span, "joins", sheet.problems);
        if group.len() == 1 {
            sheet.problems.push(
                Problem::error(
                    "joins",
                    &group[0].span,
                    format!("`{}` is joined to nothing", group[0].text),
                )
                .help("write the terminals that are joined as a list: `[[B, IG], [B, ST]]`"),
            );
        }
        groups.push(group);
    }
    groups
}

fn terminal(sheet: &mut Sheet<'_, '_>, names: &[Word], said: &Word) -> Option<usize> {
    let found = names.iter().position(|name| slug(&name.text) == slug(&said.text));
    if found.is_none() {
        sheet.problems.push(
            Problem::error(
                "unknown-terminal",
                &said.span,
                format!("{} has no terminal `{}`", sheet.fields.what, said.text),
            )
            .help(did_you_mean(&said.text, names.iter().map(|name| name.text.as_str()))),
        );
    }
    found
}
