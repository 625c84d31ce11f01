//! What is wrong with a circuit that reads well: things nobody uses, parts that lead nowhere.

use std::collections::HashSet;

use super::fields::Fields;
use super::read::draft::Origins;
use super::{Circuit, Element, Kind, LinkId, PartId, TerminalId};
use crate::problem::Problem;

/// Controls and places that nothing uses.
pub fn unused(circuit: &Circuit, origins: &Origins, problems: &mut Vec<Problem>) {
    for (index, (control, span)) in circuit.controls.iter().zip(&origins.controls).enumerate() {
        if !origins.used_controls.iter().any(|used| used.index() == index) {
            problems.push(
                Problem::warning(
                    "unused-control",
                    span,
                    format!("no part uses the control `{}`", control.name),
                )
                .help(format!(
                    "add a switch with `control: {}`, or take the control out",
                    control.name
                )),
            );
        }
    }
    for (index, (place, span)) in circuit.places.iter().zip(&origins.places).enumerate() {
        if !origins.used_places.iter().any(|used| used.index() == index) {
            problems.push(
                Problem::warning(
                    "unused-place",
                    span,
                    format!("nothing is at the place `{}`", place.name),
                )
                .help("take it out, or put a part there with `at:`"),
            );
        }
    }
}

/// A circuit without a battery has no volts anywhere.
pub fn has_battery(circuit: &Circuit, top: &Fields<'_>, problems: &mut Vec<Problem>) -> bool {
    let found = circuit.parts.iter().any(|part| part.kind == Kind::Battery);
    if !found {
        let span = top.get("parts").map_or(&top.span, |entry| &entry.key_span);
        problems
            .push(Problem::error("no-battery", span, "there is no battery in this circuit").help(
            "add `battery: { kind: battery, at: ... }` and wires to `battery.+` and `battery.-`",
        ));
    }
    found
}

/// Parts with no way to the supply or to ground, and a battery that is short-circuited.
pub fn paths(circuit: &Circuit, origins: &Origins, problems: &mut Vec<Problem>) {
    short_circuit(circuit, origins, problems);
    let dead: Vec<(PartId, LinkId)> = circuit
        .part_ids()
        .filter(|part| circuit.part(*part).kind != Kind::Battery)
        .flat_map(|part| circuit.links_of(part).iter().map(move |link| (part, *link)))
        .filter(|(_, link)| leads_nowhere(circuit, *link))
        .collect();
    let mut told = HashSet::new();
    let mut explained: HashSet<TerminalId> = HashSet::new();
    // First those with an end that nothing is wired to: they are the cause, the others follow from them.
    for (part, link) in &dead {
        if let Some(end) = loose_end(circuit, *part, *link)
            && told.insert(*part)
        {
            explained.extend(group(circuit, &dead, *link));
            problems.extend(loose(circuit, origins, (*part, *link), end));
        }
    }
    for (part, link) in &dead {
        let (first, second) = circuit.ends(*link);
        if !explained.contains(&first) && !explained.contains(&second) && told.insert(*part) {
            explained.extend(group(circuit, &dead, *link));
            problems.push(cut_off(circuit, origins, *part));
        }
    }
}

/// No current can ever pass the link: its two ends do not reach the two sides of the battery,
/// whatever is switched.
fn leads_nowhere(circuit: &Circuit, link: LinkId) -> bool {
    let (first, second) = circuit.ends(link);
    let reach = |from| reached(circuit, from, link);
    let (of_first, of_second) = (reach(first), reach(second));
    let supply = |reached: &HashSet<TerminalId>| is_supplied(circuit, reached);
    let ground = |reached: &HashSet<TerminalId>| is_grounded(circuit, reached);
    !(supply(&of_first) && ground(&of_second) || ground(&of_first) && supply(&of_second))
}

fn is_supplied(circuit: &Circuit, reached: &HashSet<TerminalId>) -> bool {
    batteries(circuit).any(|part| reached.contains(&circuit.part(part).terminals[0]))
}

fn is_grounded(circuit: &Circuit, reached: &HashSet<TerminalId>) -> bool {
    batteries(circuit).any(|part| reached.contains(&circuit.part(part).terminals[1]))
}

fn batteries(circuit: &Circuit) -> impl Iterator<Item = PartId> + '_ {
    circuit.part_ids().filter(|part| circuit.part(*part).kind == Kind::Battery)
}

/// The terminals reached from one, without passing a link and without passing a battery.
fn reached(circuit: &Circuit, from: TerminalId, without: LinkId) -> HashSet<TerminalId> {
    let mut reached = HashSet::from([from]);
    let mut next = vec![from];
    while let Some(at) = next.pop() {
        for (link, other) in circuit.links_at(at) {
            let battery = matches!(circuit.link(link).element, Element::Emf { .. });
            if link != without && !battery && reached.insert(other) {
                next.push(other);
            }
        }
    }
    reached
}

/// The end of a link that no other part is joined to.
fn loose_end(circuit: &Circuit, part: PartId, link: LinkId) -> Option<TerminalId> {
    let (first, second) = circuit.ends(link);
    let alone = |end: &TerminalId| {
        *end != circuit.chassis
            && circuit.links_at(*end).iter().all(|(other, _)| circuit.link(*other).part == part)
    };
    [second, first].into_iter().find(alone)
}

/// All terminals joined to this link by links that lead nowhere.
fn group(circuit: &Circuit, dead: &[(PartId, LinkId)], link: LinkId) -> HashSet<TerminalId> {
    let links: HashSet<LinkId> = dead.iter().map(|(_, link)| *link).collect();
    let (first, second) = circuit.ends(link);
    let mut joined = HashSet::from([first, second]);
    let mut next = vec![first, second];
    while let Some(at) = next.pop() {
        // Live terminals are where a dead branch hangs on the rest: it ends there.
        if circuit.links_at(at).iter().any(|(link, _)| !links.contains(link)) {
            joined.remove(&at);
            continue;
        }
        for (_, other) in circuit.links_at(at) {
            if joined.insert(other) {
                next.push(other);
            }
        }
    }
    joined
}

/// The problem of a part with a loose end, if it is one: a switch may have contacts to spare.
fn loose(
    circuit: &Circuit,
    origins: &Origins,
    (part, link): (PartId, LinkId),
    end: TerminalId,
) -> Option<Problem> {
    let about = circuit.part(part);
    let span = &origins.parts[part.index()];
    let words = &origins.terminal_words[end.index()];
    let spare = about.links.len() > 1
        && circuit.link(link).role.ends_with("contact")
        && about.links.iter().any(|other| !leads_nowhere(circuit, *other));
    if spare {
        return None;
    }
    let (first, second) = circuit.ends(link);
    let other = if end == first { second } else { first };
    let rest = reached(circuit, other, link);
    let missing = match (is_supplied(circuit, &rest), is_grounded(circuit, &rest)) {
        (false, false) => "the supply or to ground",
        (false, true) => "the supply",
        (true, true) if end == first => "the supply",
        (true, _) => "ground",
    };
    let message =
        format!("`{}` has no way to {missing}: nothing is wired to its `{words}`", about.name);
    let help = match (&about.kind, missing) {
        (Kind::Pin { .. }, _) => {
            let help = "lead a wire on from that half, or take the pin out";
            return Some(Problem::warning("dead-end", span, message).help(help));
        }
        (
            Kind::Lamp
            | Kind::Led
            | Kind::Motor
            | Kind::Horn
            | Kind::Switch { .. }
            | Kind::Solenoid,
            "ground",
        ) => {
            format!(
                "add a wire from `{}.{words}`, or `ground: body` if it is grounded through its mounting",
                about.name
            )
        }
        _ => format!("add a wire to `{}.{words}`", about.name),
    };
    Some(Problem::error("no-path", span, message).help(help))
}

/// The problem of a part which is wired on all sides to things that lead nowhere.
fn cut_off(circuit: &Circuit, origins: &Origins, part: PartId) -> Problem {
    let span = &origins.parts[part.index()];
    let about = circuit.part(part);
    let all: HashSet<TerminalId> = about
        .links
        .iter()
        .flat_map(|link| [circuit.ends(*link).0, circuit.ends(*link).1])
        .flat_map(|end| reached(circuit, end, about.links[0]))
        .collect();
    let missing = match (is_supplied(circuit, &all), is_grounded(circuit, &all)) {
        (true, false) => "ground",
        (false, true) => "the supply",
        _ => "the supply and on to ground",
    };
    Problem::error("no-path", span, format!("`{}` has no way to {missing}", about.name))
        .help("follow its wires: one that leads on is missing or ends at the wrong terminal")
}

/// The battery's terminals are joined by nothing but wires, pins and fuses.
fn short_circuit(circuit: &Circuit, origins: &Origins, problems: &mut Vec<Problem>) {
    let plain = |link: LinkId| {
        let kind = &circuit.part(circuit.link(link).part).kind;
        matches!(kind, Kind::Wire { .. } | Kind::Pin { .. } | Kind::Fuse | Kind::GroundPoint)
    };
    for battery in batteries(circuit) {
        let [plus, minus] = circuit.part(battery).terminals[..] else { continue };
        let mut reached = HashSet::from([plus]);
        let mut next = vec![plus];
        while let Some(at) = next.pop() {
            for (link, other) in circuit.links_at(at) {
                if plain(link) && reached.insert(other) {
                    next.push(other);
                }
            }
        }
        if reached.contains(&minus) {
            problems.push(
                Problem::error(
                    "short-circuit",
                    &origins.parts[battery.index()],
                    "wires join the battery's `+` to its `-` with nothing between",
                )
                .help("one wire ends at the wrong terminal: follow them from `battery.+`"),
            );
        }
    }
}
