//! The text of a new circuit file: from nothing, from a built-in circuit, or with what differs from one.

use std::fmt::Write;

use super::{Circuit, Kind, Part, Place};
use crate::quantity::{Unit, show};

/// What a person says of the new circuit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answers {
    /// What the circuit is.
    pub name: String,
    /// The machine.
    pub machine: String,
    /// Nominal volts, as written: `12 V`.
    pub system: String,
}

/// The line by which editors of YAML find the schema, a file beside the circuit's.
pub const SCHEMA_FILE: &str = "circuit.schema.json";

fn opening(hint: &str) -> String {
    format!("# yaml-language-server: $schema={SCHEMA_FILE}\n{hint}")
}

/// A small circuit that works, with comments on what to put in its place.
pub fn skeleton(answers: &Answers) -> String {
    let mut text = opening(
        "# `halfsplit check FILE` tells what is wrong, `halfsplit draw FILE` shows it.\n\
         # Work down the `>>` comments: each says what to fill in. Take them out when done.\n",
    );
    let _ = write!(
        text,
        "format: 1\nname: {}\nmachine: {}\nsystem: {}\n# >> Words for whoever works on it, if there are any:\n\
         # notes:\n#   - The button switches ground.\n",
        scalar(&answers.name),
        scalar(&answers.machine),
        scalar(&answers.system)
    );
    text.push_str(SKELETON);
    text
}

/// The body of a new file: one lamp behind a key.
const SKELETON: &str = r"
# What a person operates. It rests in its first position.
controls:
  key: [off, on]
  # >> Buttons, levers, pedals, and what the machine moves itself:
  # starter button: { positions: [released, pressed], springs_back: released }
  # gear lever: { positions: [neutral, in gear], minutes: 0.2 min }

# Where things are reached, and the time to open and close it once.
places:
  battery box: 1 min
  dash: 2 min
  # >> One for each cover, panel or lamp that has to be opened.

# NAME: { kind, at, ... }. The kinds and their keys: circuits/README.md.
parts:
  battery: { kind: battery, at: battery box }
  # >> The printed rating.
  main fuse: { kind: fuse, rating: 10 A, at: battery box }
  key switch: { kind: switch, control: key, closed: on, at: dash }
  # >> What the circuit is for, in the lamp's stead: horn, motor, relay, solenoid, starter motor, heater.
  lamp: { kind: lamp, watts: 5 W, at: dash }
  dash ground: { kind: ground point, at: dash }
  frame ground: { kind: ground point, at: battery box }

# What can be parted; a wire ends on one of its halves.
# >> connectors:
#   C1: { at: dash, type: block, pins: [feed, lamp], halves: [loom side, dash side] }

# From PART.TERMINAL to PART.TERMINAL, along the current. Terminals: circuits/README.md.
# >> Colours by IEC 60757 (two letters, BU/WH with a tracer), sizes, lengths.
wires:
  - { from: battery.+, to: main fuse.in, colour: RD, size: 1.5 mm2, length: 0.3 m }
  - { from: main fuse.out, to: key switch.in, colour: RD, size: 1.5 mm2, length: 1 m }
  - { from: key switch.out, to: lamp.+, colour: BN, size: 0.75 mm2, length: 0.5 m }
  - { from: lamp.-, to: dash ground, colour: BK, size: 0.75 mm2, length: 0.3 m }
  - { name: ground cable, from: battery.-, to: frame ground, colour: BK, size: 16 mm2, length: 0.4 m }

# What happens when all is well; the first is the usual complaint.
# >> See: lamp lit or dark, motor turns or still, horn sounds or silent, relay clicks or silent.
works:
  lights: { when: { key: on }, see: lamp lit }
  stays dark with the key off: { when: { key: off }, see: lamp dark }
";

/// A built-in circuit's text under another name.
pub fn like(id: &str, source: &str, answers: &Answers) -> String {
    let mut text = opening("");
    let _ = write!(
        text,
        "# Begun from the built-in `{id}`. Go through it beside the machine: places, colours, sizes, connectors;\n\
         # then `halfsplit check FILE` tells what no longer fits.\n"
    );
    let mut skipping = true;
    for line in source.lines() {
        // The comment on top is about the other machine.
        skipping &= line.starts_with('#');
        if skipping {
            continue;
        }
        match line.split_once(':') {
            Some(("name", _)) => text.push_str(&format!("name: {}\n", scalar(&answers.name))),
            Some(("machine", _)) => {
                text.push_str(&format!("machine: {}\n", scalar(&answers.machine)));
            }
            _ => text.push_str(&format!("{line}\n")),
        }
    }
    text
}

/// The text of a file that says what differs on one machine from `circuit`, which it names as `base`.
///
/// All that can differ stands in it as it is in the base, behind `#`.
pub fn overlay(base: &str, circuit: &Circuit, answers: &Answers) -> String {
    let mut text = opening(
        "# What differs on one machine from the circuit named as `base`; all else stays as it is there.\n\
         # Take the `#` from the lines that differ, and from the names above them, and write how it is.\n\
         # `absent` in place of what is behind the colon: this machine has none.\n",
    );
    let (name, machine) = (scalar(&answers.name), scalar(&answers.machine));
    // Writing to a string cannot fail.
    let _ = write!(
        text,
        "format: 1\nbase: {}\nname: {name}\nmachine: {machine}\n\n# change:\n",
        scalar(base)
    );
    let mut section = |name: &str, lines: Vec<String>| {
        if !lines.is_empty() {
            let _ = write!(text, "#   {name}:\n{}", lines.concat());
        }
    };
    let line = |name: &str, value: String| format!("#     {}: {value}\n", scalar(name));
    let minutes = |place: &Place| line(&place.name, show(place.open_minutes, Unit::Minutes));
    section("places", circuit.places.iter().map(minutes).collect());
    let at = |place| format!("{{ at: {} }}", scalar(&circuit.place(place).name));
    let wired = |part: &&Part| matches!(part.kind, Kind::Wire { .. });
    let own = |part: &&Part| !wired(part) && !matches!(part.kind, Kind::Pin { .. });
    let parts = circuit.parts.iter().filter(own).map(|part| line(&part.name, at(part.place)));
    section("parts", parts.collect());
    let connectors = circuit.connectors.iter().map(|one| line(&one.name, at(one.place)));
    section("connectors", connectors.collect());
    let wires = circuit.parts.iter().filter(wired).map(|wire| line(&wire.id, of_wire(wire)));
    section("wires", wires.collect());
    text.push_str(BESIDES);
    text
}

/// What an overlay can have besides.
const BESIDES: &str = r"
# What this machine has besides goes into sections of its own, as in any circuit file:
# parts:
# wires:
";

/// Colour and size of a wire, as they are written.
fn of_wire(wire: &Part) -> String {
    let Kind::Wire { colour, area_mm2, length_metres, .. } = &wire.kind else {
        return "{ }".to_owned();
    };
    let (size, length) = (show(*area_mm2, Unit::Area), show(*length_metres, Unit::Metres));
    match colour.as_str() {
        "" => format!("{{ size: {size}, length: {length} }}"),
        colour => format!("{{ colour: {colour}, size: {size}, length: {length} }}"),
    }
}

/// Words as a YAML scalar: quoted where they would mean something else.
fn scalar(words: &str) -> String {
    let plain =
        |letter: char| letter.is_alphanumeric() || " -_./()+".contains(letter) || letter == ',';
    let harmless = words.chars().all(plain)
        && words.starts_with(|letter: char| letter.is_alphanumeric())
        && !words.ends_with(' ');
    if harmless { words.to_owned() } else { format!("'{}'", words.replace('\'', "''")) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::builtin;
    use crate::circuit::read::read_text;

    fn answers(name: &str) -> Answers {
        Answers {
            name: name.to_owned(),
            machine: "Wendle 12, 'old'".to_owned(),
            system: "12 V".to_owned(),
        }
    }

    #[test]
    fn an_overlay_names_what_can_differ_as_it_is() {
        for name in builtin::names() {
            let (circuit, _) = read_text(name, builtin::text(name).unwrap());
            let text = overlay(name, &circuit.unwrap(), &answers("a: b"));
            let (same, problems) = read_text("new", &text);
            assert_eq!(problems, [], "{text}");
            assert_eq!(same.unwrap().name, "a: b");
            let (change, besides) = text.split_once("\n# change:").unwrap();
            let (lines, _) = besides.split_once(BESIDES).unwrap();
            let lines = lines.replace("\n# ", "\n");
            let (circuit, problems) = read_text("new", &format!("{change}\nchange:{lines}\n"));
            assert!(problems.iter().all(|one| one.id == "no-difference"), "{lines}{problems:?}");
            assert!(problems.len() > 20 && circuit.is_some(), "{name}: {}", problems.len());
        }
    }

    #[test]
    fn new_files_read_without_a_word_whatever_they_are_called() {
        for name in ["Seat switch", "a: b", "# no comment", "it's \"quoted\"", "- x", "{ y }", "x "]
        {
            let mut texts = vec![skeleton(&answers(name))];
            let built_in = builtin::names().into_iter();
            texts.extend(built_in.map(|id| like(id, builtin::text(id).unwrap(), &answers(name))));
            for text in texts {
                let (circuit, problems) = read_text("new", &text);
                assert_eq!(problems, [], "{text}");
                let circuit = circuit.unwrap();
                assert_eq!(
                    (circuit.name.as_str(), circuit.machine.as_str()),
                    (name.trim(), "Wendle 12, 'old'")
                );
            }
        }
    }
}
