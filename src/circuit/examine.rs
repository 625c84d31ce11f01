//! What is wrong with a circuit that reads well: things nobody uses, parts that lead nowhere.

use std::collections::HashSet;

use indexmap::IndexSet;

use super::fields::Fields;
use super::read::draft::Origins;
use super::sides::{Side, Sides};
use super::{Circuit, Element, Kind, LinkId, PartId, TerminalId};
use crate::problem::Problem;

/// Controls and places of the file itself that nothing uses; what it includes or differs from is for others, too.
pub fn unused(circuit: &Circuit, origins: &Origins, problems: &mut Vec<Problem>) {
    for (index, (control, span)) in circuit.controls.iter().zip(&origins.controls).enumerate() {
        if span.file == 0 && !origins.used_controls.iter().any(|used| used.index() == index) {
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
        if span.file == 0 && !origins.used_places.iter().any(|used| used.index() == index) {
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
    let before = problems.len();
    bare_battery(circuit, origins, problems);
    short_circuit(circuit, origins, problems);
    if problems.len() > before {
        return;
    }
    let sides = Sides::of(circuit);
    let dead = circuit
        .link_ids()
        .filter(|link| !matches!(circuit.link(*link).element, Element::Emf { .. }))
        // A ground point on which all grounds meet needs no frame.
        .filter(|link| circuit.part(circuit.link(*link).part).kind != Kind::GroundPoint)
        .filter(|link| !sides.lead_somewhere(*link));
    let dead: IndexSet<LinkId> = dead.collect();
    let mut told = HashSet::new();
    let mut explained: HashSet<TerminalId> = HashSet::new();
    // First those with an end that nothing is wired to: they are the cause, the others follow from them.
    for link in &dead {
        let part = circuit.link(*link).part;
        if let Some(end) = loose_end(circuit, *link)
            && !is_spare(circuit, &sides, *link)
            && told.insert(part)
        {
            explained.extend(group(circuit, &dead, *link));
            problems.push(loose(circuit, origins, (*link, &sides), end));
        }
    }
    let enough = problems.len() > before;
    for link in &dead {
        let (first, second) = circuit.ends(*link);
        let part = circuit.link(*link).part;
        // A wire that leads nowhere may only follow from what has been said.
        if enough && matches!(circuit.part(part).kind, Kind::Wire { .. }) {
            continue;
        }
        if !explained.contains(&first)
            && !explained.contains(&second)
            && !is_spare(circuit, &sides, *link)
            && told.insert(part)
        {
            explained.extend(group(circuit, &dead, *link));
            problems.push(cut_off(circuit, origins, sides.at(*link), part));
        }
    }
    bare_joints(circuit, origins, problems);
    problems.retain(|problem| problem.id != "dead-end" || !origins.is_shared(&problem.span));
}

/// A battery with a terminal that nothing is wired to.
fn bare_battery(circuit: &Circuit, origins: &Origins, problems: &mut Vec<Problem>) {
    for battery in batteries(circuit) {
        for terminal in &circuit.part(battery).terminals {
            if circuit.links_at(*terminal).len() == 1 {
                let name = &circuit.part(battery).name;
                let words = &origins.terminal_words[terminal.index()];
                problems.push(
                    Problem::error(
                        "no-path",
                        &origins.parts[battery.index()],
                        format!("nothing is wired to the `{words}` of `{name}`"),
                    )
                    .help(format!("add a wire to `{name}.{words}`")),
                );
            }
        }
    }
}

/// Splices and ground points that no wire is led to.
fn bare_joints(circuit: &Circuit, origins: &Origins, problems: &mut Vec<Problem>) {
    for (part, span) in circuit.parts.iter().zip(&origins.parts) {
        let own = part.links.len();
        if matches!(part.kind, Kind::Splice | Kind::GroundPoint)
            && part.terminals.iter().all(|terminal| circuit.links_at(*terminal).len() == own)
        {
            problems.push(
                Problem::warning("dead-end", span, format!("nothing is wired to `{}`", part.name))
                    .help(format!("lead a wire to `{}`, or take it out", part.name)),
            );
        }
    }
}

fn batteries(circuit: &Circuit) -> impl Iterator<Item = PartId> + '_ {
    circuit.part_ids().filter(|part| circuit.part(*part).kind == Kind::Battery)
}

/// A contact that is not used, of a part of which something else is.
fn is_spare(circuit: &Circuit, sides: &Sides, link: LinkId) -> bool {
    circuit.link(link).role.ends_with("contact")
        && circuit.links_of(circuit.link(link).part).iter().any(|other| {
            circuit.link(*other).role.ends_with("contact") && sides.lead_somewhere(*other)
        })
}

/// The end of a link that no other part is joined to; wires end on terminals of others.
fn loose_end(circuit: &Circuit, link: LinkId) -> Option<TerminalId> {
    let (first, second) = circuit.ends(link);
    let part = circuit.link(link).part;
    let alone = |end: &TerminalId| {
        *end != circuit.chassis
            && !matches!(circuit.part(part).kind, Kind::Wire { .. })
            && circuit.links_at(*end).iter().all(|(other, _)| circuit.link(*other).part == part)
    };
    [second, first].into_iter().find(alone)
}

/// All terminals joined to this link by links that lead nowhere, which are the `dead` ones.
fn group(circuit: &Circuit, dead: &IndexSet<LinkId>, link: LinkId) -> HashSet<TerminalId> {
    let (first, second) = circuit.ends(link);
    let mut joined = HashSet::from([first, second]);
    let mut next = vec![first, second];
    while let Some(at) = next.pop() {
        // Live terminals are where a dead branch hangs on the rest: it ends there.
        if circuit.links_at(at).iter().any(|(link, _)| !dead.contains(link)) {
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

/// The problem of a part with a loose end.
fn loose(
    circuit: &Circuit,
    origins: &Origins,
    (link, sides): (LinkId, &Sides),
    end: TerminalId,
) -> Problem {
    let part = circuit.link(link).part;
    let about = circuit.part(part);
    let (name, span) = (&about.name, &origins.parts[part.index()]);
    let words = &origins.terminal_words[end.index()];
    let (first, _) = circuit.ends(link);
    let side = sides.at(link)[usize::from(end == first)];
    let missing = match (side.supplied(), side.grounded()) {
        (false, false) => "the supply or to ground",
        (false, true) => "the supply",
        (true, true) if end == first => "the supply",
        (true, _) => "ground",
    };
    let message = format!("`{name}` has no way to {missing}: nothing is wired to its `{words}`");
    let help = match (&about.kind, missing) {
        (Kind::Pin { .. }, _) => {
            return Problem::warning("dead-end", span, message)
                .help("lead a wire on from that half, or take the pin out");
        }
        (Kind::Fuse | Kind::FusibleLink | Kind::Breaker, _) => {
            return Problem::warning("dead-end", span, message)
                .help(format!("lead a wire on from `{name}.{words}`; a spare does no harm"));
        }
        (
            Kind::Lamp
            | Kind::Led
            | Kind::Motor
            | Kind::Horn
            | Kind::Heater
            | Kind::Load
            | Kind::Strap
            | Kind::Solenoid
            | Kind::Switch { .. },
            "ground",
        ) => format!(
            "add a wire from `{name}.{words}`, or `ground: body` if it is grounded through its mounting"
        ),
        _ => format!("add a wire to `{name}.{words}`"),
    };
    Problem::error("no-path", span, message).help(help)
}

/// The problem of a part which is wired on all sides to things that lead nowhere, or of a wire
/// that leads to where nothing else is.
fn cut_off(circuit: &Circuit, origins: &Origins, sides: [Side; 2], part: PartId) -> Problem {
    let span = &origins.parts[part.index()];
    let about = circuit.part(part);
    let supplied = sides.iter().any(|side| side.supplied());
    let grounded = sides.iter().any(|side| side.grounded());
    if let Kind::Wire { .. } = about.kind {
        return Problem::warning("dead-end", span, format!("`{}` leads nowhere", about.name))
            .help("no current can pass it: lead a wire on from its end, or take it out");
    }
    let missing = match (supplied, grounded) {
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
        matches!(
            kind,
            Kind::Wire { .. }
                | Kind::Pin { .. }
                | Kind::Fuse
                | Kind::FusibleLink
                | Kind::Breaker
                | Kind::Strap
                | Kind::GroundPoint
        )
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
