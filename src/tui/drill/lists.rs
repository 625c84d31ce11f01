//! What there is to see of a drill besides what is done: menu, state, what was found, the circuit.

use super::pick::LISTED;
use crate::circuit::{Kind, PartId};
use crate::drill::log::What;
use crate::drill::play::Drill;
use crate::job::study::paths::ways;
use crate::job::words;
use crate::tester::Instrument;

/// One choice: in words, and the line to type for it.
pub type Choice = (String, String);

/// What can be done now.
pub fn menu(drill: &Drill<'_>) -> Vec<Choice> {
    let circuit = drill.study.circuit();
    let has = |instrument| drill.study.kit().contains(&instrument);
    let setup = &drill.course.setup;
    let mut list: Vec<Choice> = Vec::new();
    let mut add = |words: &str, line: &str| list.push((words.to_owned(), line.to_owned()));
    add("try what fails, and look", "try");
    for (at, control) in circuit.controls.iter().enumerate() {
        for (to, position) in control.positions.iter().enumerate() {
            if setup.positions[at] != to {
                let line = format!("{} {position}", control.name);
                add(&line, &line);
            }
        }
    }
    add("watch or listen to something ...", "watch");
    if has(Instrument::Lamp) && !setup.ground_off {
        add("test lamp to ground at ...", "lamp");
        add("test lamp to battery plus at ...", "lamp plus ");
    }
    if has(Instrument::Meter) && !setup.ground_off {
        add("volts to ground at ...", "volts");
    }
    if !circuit.connectors.is_empty() {
        add("part a connector ...", "part");
    }
    if !setup.parted.is_empty() {
        add("join a connector ...", "join");
    }
    let ground = if setup.ground_off { "on" } else { "off" };
    add(&format!("battery ground cable {ground}"), &format!("ground {ground}"));
    add("say that all is clear", "clear");
    add("name the bad part ...", "name");
    add("mend or renew a part ...", "mend");
    add("prove: try everything that should work", "prove");
    list
}

/// How the machine stands.
pub fn state(drill: &Drill<'_>) -> Vec<String> {
    let circuit = drill.study.circuit();
    let open: Vec<&str> = circuit
        .places
        .iter()
        .zip(&drill.course.opened)
        .filter(|(place, open)| **open && place.open_minutes > 0.0)
        .map(|(place, _)| place.name.as_str())
        .collect();
    vec![
        format!("The machine: {}.", drill.course.setup.words(circuit)),
        format!("Open: {}.", if open.is_empty() { "nothing".to_owned() } else { open.join(", ") }),
        format!("{} min in, {} looks.", words::show(drill.minutes()), drill.course.tests),
    ]
}

/// What was seen so far.
pub fn found(drill: &Drill<'_>) -> Vec<String> {
    let kept = drill
        .log
        .iter()
        .filter(|entry| matches!(entry.what, What::Look(_) | What::Mend(_) | What::Proof { .. }));
    let line = |entry: &crate::drill::log::Entry<'_>| {
        if entry.seen.is_empty() {
            entry.done.clone()
        } else {
            format!("{}: {}", entry.done, entry.seen)
        }
    };
    let list: Vec<String> = kept.map(line).collect();
    if list.is_empty() { vec!["Nothing yet.".to_owned()] } else { list }
}

/// The paths of the current, from the supply to ground, with places and colours; no suspicion on them.
pub fn circuit(drill: &Drill<'_>) -> Vec<String> {
    let circuit = drill.study.circuit();
    let mut lines = Vec::new();
    for way in ways(circuit, &drill.study.check_setup()) {
        let load = &circuit.part(way.load).name;
        lines.push(format!("The way of the {load}, from the supply to ground:"));
        let mut parts: Vec<PartId> =
            way.links.iter().map(|(link, _)| circuit.link(*link).part).collect();
        parts.dedup();
        for (at, part) in parts.into_iter().enumerate() {
            let part = circuit.part(part);
            let name = match &part.kind {
                Kind::Wire { colour, .. } if !part.name.contains(colour.as_str()) => {
                    format!("{} ({colour})", part.name)
                }
                _ => part.name.clone(),
            };
            lines.push(format!("{:>2}. {name}, {}", at + 1, circuit.place(part.place).name));
        }
    }
    lines
}

/// Everything with these words in its name: points to touch, parts, controls, places, with what to type.
pub fn search(drill: &Drill<'_>, typed: &str) -> Vec<Choice> {
    let circuit = drill.study.circuit();
    let small = typed.to_lowercase();
    let wanted: Vec<&str> = small.split_whitespace().collect();
    let fits = |name: &str| {
        let name = name.to_lowercase();
        wanted.iter().all(|word| name.contains(word))
    };
    let lamp = if drill.study.kit().contains(&Instrument::Lamp) { "lamp" } else { "volts" };
    let mut list: Vec<Choice> = Vec::new();
    for connector in circuit.connectors.iter().filter(|one| fits(&one.name)) {
        list.push((format!("part {}", connector.name), format!("part {}", connector.id)));
    }
    for terminal in circuit.graph.node_weights().filter(|one| one.probe && one.place.is_some()) {
        if fits(&format!("{} {}", terminal.name, terminal.id)) {
            let words = format!("{lamp} at {}", terminal.name);
            list.push((words, format!("{lamp} {}", terminal.id)));
        }
    }
    for part in &circuit.parts {
        if fits(&format!("{} {}", part.name, part.id)) {
            list.push((format!("name {} as the bad one", part.name), format!("name {}", part.id)));
        }
    }
    for control in &circuit.controls {
        for position in
            control.positions.iter().filter(|one| fits(&format!("{} {one}", control.name)))
        {
            let line = format!("{} {position}", control.name);
            list.push((line.clone(), line));
        }
    }
    list
}

/// Choices with their numbers, and how many are left out.
pub fn numbered(choices: &[Choice]) -> Vec<String> {
    let mut lines: Vec<String> = choices
        .iter()
        .take(LISTED)
        .enumerate()
        .map(|(at, (words, _))| format!("{:>2}  {words}", at + 1))
        .collect();
    if choices.len() > LISTED {
        lines.push(format!("... {} more; type part of a name", choices.len() - LISTED));
    }
    lines
}

/// The complaint in words: what should be seen, and how the machine stands for it.
pub fn complaint(drill: &Drill<'_>) -> String {
    let circuit = drill.study.circuit();
    let work = drill.study.work();
    let acts: Vec<&str> = work
        .see
        .iter()
        .filter(|sight| sight.acts)
        .map(|sight| circuit.part(sight.part).name.as_str())
        .collect();
    let setup = drill.study.check_setup().words(circuit);
    let held: Vec<String> = circuit
        .controls
        .iter()
        .zip(&drill.study.check_setup().positions)
        .filter(|(control, at)| control.springs_back && **at != control.rest)
        .map(|(control, at)| format!("{} {}", control.name, control.positions[*at]))
        .collect();
    let mut stands = vec![setup];
    let is_new = |one: &&String| !stands[0].contains(one.as_str());
    let more: Vec<String> = held.iter().filter(is_new).cloned().collect();
    stands.extend(more);
    let what = if acts.is_empty() { work.name.clone() } else { acts.join(" and the ") };
    format!("`{}` fails. With {}, look at the {what}.", work.name, stands.join(", "))
}
