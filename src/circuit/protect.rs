//! Fuses: wires they do not protect, loads that have none; and parts that nobody can reach.
//!
//! None of this keeps a circuit from being reckoned with: it is told by `check` alone.

use std::collections::HashMap;

use super::catalogue::ampacity::{FUSE_OVER_WIRE, carries_amps};
use super::read::draft::Origins;
use super::{Circuit, Element, Kind, LinkId, PartId, TerminalId};
use crate::problem::Problem;
use crate::quantity::{Unit, show};

/// What can come down to a terminal without passing a load: the most a fuse on the way lets through.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Feed {
    /// Amperes; infinite without a fuse.
    amps: f64,
    /// The fuse that sets the limit.
    fuse: Option<PartId>,
}

/// Wires too thin for their fuse, and loads without one.
pub fn fuses(circuit: &Circuit, origins: &Origins, problems: &mut Vec<Problem>) {
    let feeds = feeds(circuit);
    for id in circuit.part_ids() {
        let part = circuit.part(id);
        match &part.kind {
            Kind::Wire { area_mm2, heavy: false, .. } => {
                problems.extend(thin(circuit, origins, &feeds, id, *area_mm2));
            }
            _ if needs_fuse(circuit, id) => problems.extend(unfused(circuit, origins, &feeds, id)),
            _ => {}
        }
    }
}

/// The widest way to each terminal from the battery's plus, along everything that is no load.
fn feeds(circuit: &Circuit) -> Vec<Option<Feed>> {
    let mut feeds: Vec<Option<Feed>> = vec![None; circuit.graph.node_count()];
    let mut next = Vec::new();
    for part in circuit.parts.iter().filter(|part| part.kind == Kind::Battery) {
        feeds[part.terminals[0].index()] = Some(Feed { amps: f64::INFINITY, fuse: None });
        next.push(part.terminals[0]);
    }
    while let Some(at) = next.pop() {
        let Some(feed) = feeds[at.index()] else { continue };
        for (link, other) in circuit.links_at(at) {
            let Some(behind) = through(circuit, link, feed).filter(|_| other != circuit.chassis)
            else {
                continue;
            };
            if feeds[other.index()].is_none_or(|known| known.amps < behind.amps) {
                feeds[other.index()] = Some(behind);
                next.push(other);
            }
        }
    }
    feeds
}

/// The fuse that guards a part: the smallest on the widest way from the battery to one of its ends.
pub fn fuse_before(circuit: &Circuit, part: PartId) -> Option<PartId> {
    let feeds = feeds(circuit);
    let links = circuit.links_of(part).iter();
    let ends = links.map(|link| circuit.ends(*link)).flat_map(|(one, other)| [one, other]);
    let feed = ends.filter_map(|at| feeds[at.index()]).max_by(|a, b| a.amps.total_cmp(&b.amps))?;
    feed.fuse
}

/// What passes a link; `None` where a load or the battery itself is in the way.
fn through(circuit: &Circuit, link: LinkId, feed: Feed) -> Option<Feed> {
    let part = circuit.link(link).part;
    match (&circuit.link(link).element, &circuit.part(part).kind) {
        (Element::Fuse { rated_amps, .. } | Element::Cutout { rated_amps, .. }, _) => {
            let fuse = Feed { amps: *rated_amps, fuse: Some(part) };
            Some(if fuse.amps < feed.amps { fuse } else { feed })
        }
        (Element::Contact { .. } | Element::Diode { .. }, kind) if *kind != Kind::Led => Some(feed),
        (_, Kind::Wire { .. } | Kind::Pin { .. } | Kind::Strap | Kind::Flasher { .. }) => {
            Some(feed)
        }
        _ => None,
    }
}

fn thin(
    circuit: &Circuit,
    origins: &Origins,
    feeds: &[Option<Feed>],
    wire: PartId,
    area_mm2: f64,
) -> Option<Problem> {
    let link = *circuit.links_of(wire).first()?;
    let (first, second) = circuit.ends(link);
    let ends = [feeds[first.index()], feeds[second.index()]];
    // The end nearer to the supply has the wider way.
    let feed = ends.into_iter().flatten().max_by(|a, b| a.amps.total_cmp(&b.amps))?;
    let fuse = feed.fuse?;
    let most = FUSE_OVER_WIRE * carries_amps(area_mm2);
    (feed.amps > most).then(|| {
        let name = &circuit.part(wire).name;
        Problem::warning(
            "fuse-too-large",
            &origins.parts[wire.index()],
            format!(
                "`{}` ({}) does not protect `{name}` ({})",
                circuit.part(fuse).name,
                show(feed.amps, Unit::Amps),
                show(area_mm2, Unit::Area)
            ),
        )
        .note(&origins.parts[fuse.index()], "the fuse is here")
        .help(format!(
            "such a wire may have a fuse of {:.0} A at most (33 CFR 183.455): a smaller fuse, a thicker wire, or \
             a fuse of its own",
            most.floor()
        ))
    })
}

/// Loads that a short behind their wires could set on fire; what cranks is left out, as everywhere.
fn needs_fuse(circuit: &Circuit, part: PartId) -> bool {
    let kind = &circuit.part(part).kind;
    matches!(
        kind,
        Kind::Relay
            | Kind::Solenoid
            | Kind::Motor
            | Kind::Lamp
            | Kind::Led
            | Kind::Horn
            | Kind::Heater
            | Kind::IgnitionCoil
            | Kind::Load
            | Kind::Gauge { .. }
            | Kind::ControlBox
    )
}

fn unfused(
    circuit: &Circuit,
    origins: &Origins,
    feeds: &[Option<Feed>],
    load: PartId,
) -> Option<Problem> {
    let part = circuit.part(load);
    // A relay's own contact may switch what needs no fuse, and a solenoid's second winding hangs on the
    // cable that cranks.
    let needs = |link: &&LinkId| {
        let link = circuit.link(**link);
        !matches!(link.element, Element::Contact { .. })
            && (part.kind != Kind::Solenoid || link.role == "coil")
    };
    let fed = part.links.iter().filter(needs).any(|link| {
        let (first, second) = circuit.ends(*link);
        [first, second].iter().any(|end| is_open(feeds, *end))
    });
    fed.then(|| {
        Problem::warning(
            "no-fuse",
            &origins.parts[load.index()],
            format!("`{}` has no fuse", part.name),
        )
        .help("put a `fuse` between it and the battery: a wire chafed through would burn")
    })
}

fn is_open(feeds: &[Option<Feed>], end: TerminalId) -> bool {
    feeds[end.index()].is_some_and(|feed| feed.fuse.is_none())
}

/// Parts of which no probe can touch a terminal, nor the next thing on either side.
pub fn reach(circuit: &Circuit, origins: &Origins, problems: &mut Vec<Problem>) {
    for id in circuit.part_ids() {
        let part = circuit.part(id);
        let silent = matches!(
            part.kind,
            Kind::Wire { .. } | Kind::Pin { .. } | Kind::Splice | Kind::GroundPoint
        );
        if silent || part.links.is_empty() {
            continue;
        }
        let near = part.terminals.iter().flat_map(|end| circuit.links_at(*end));
        let ends = part.terminals.iter().copied().chain(near.map(|(_, other)| other));
        if ends.clone().all(|end| end == circuit.chassis || !circuit.terminal(end).probe) {
            problems.push(
                Problem::warning(
                    "out-of-reach",
                    &origins.parts[id.index()],
                    format!("nobody can reach `{}`: it and all that is next to it are sealed", part.name),
                )
                .help("take `sealed: yes` from one of them, or add a connector where a probe comes in"),
            );
        }
    }
}

/// Two wires of one colour between the same two terminals: one was written twice.
pub fn doubles(circuit: &Circuit, origins: &Origins, problems: &mut Vec<Problem>) {
    let mut met: HashMap<(TerminalId, TerminalId, &str), PartId> = HashMap::new();
    for id in circuit.part_ids() {
        let part = circuit.part(id);
        let Kind::Wire { colour, heavy: false, .. } = &part.kind else { continue };
        let Some(link) = part.links.first() else { continue };
        let (first, second) = circuit.ends(*link);
        let key = (first.min(second), first.max(second), colour.as_str());
        let Some(before) = met.insert(key, id) else { continue };
        problems.push(
            Problem::warning(
                "double-wire",
                &origins.parts[id.index()],
                format!("`{}` is there twice", part.name),
            )
            .note(&origins.parts[before.index()], "the first is here")
            .help("take one out, or name the terminal where it ends in truth"),
        );
    }
}
