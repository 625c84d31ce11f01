//! Finding what was meant by part of a name.

use crate::circuit::names::nearest;
use crate::circuit::{Circuit, ConnectorId, PartId, PlaceId, TerminalId};
use crate::setup::Setup;

/// Choices listed at once.
pub const LISTED: usize = 18;

/// What typed words came to.
#[derive(Debug, Clone, PartialEq)]
pub enum Pick<T> {
    /// This one.
    One(T),
    /// Several fit: each with its name and the id to type for it.
    Many(Vec<(String, String)>),
    /// None fits.
    None(String),
}

/// One thing that has a name.
struct Named<T> {
    it: T,
    name: String,
    id: String,
}

/// The thing meant by `typed`: its id or name, else all whose name has all the words in it.
fn pick<T: Copy>(typed: &str, what: &str, all: &[Named<T>]) -> Pick<T> {
    let small = typed.trim().to_lowercase().replace(',', "");
    let same = |name: &str| name.to_lowercase().replace(',', "") == small;
    let exact = all.iter().find(|one| one.id == small || same(&one.name));
    if let Some(one) = exact {
        return Pick::One(one.it);
    }
    let words: Vec<&str> = small.split_whitespace().collect();
    let has = |one: &&Named<T>| {
        let text = format!("{} {}", one.name.to_lowercase(), one.id);
        words.iter().all(|word| text.contains(word))
    };
    let found: Vec<&Named<T>> = all.iter().filter(has).collect();
    match found[..] {
        [one] => Pick::One(one.it),
        [] => {
            let near = nearest(&small, all.iter().map(|one| one.name.as_str()));
            let hint = near.map_or_else(String::new, |name| format!(" Did you mean {name}?"));
            Pick::None(format!("No {what} is called `{typed}`.{hint}"))
        }
        _ => Pick::Many(found.iter().map(|one| (one.name.clone(), one.id.clone())).collect()),
    }
}

/// A point that a probe can touch; `ground` and `frame` are the frame.
pub fn point(circuit: &Circuit, typed: &str) -> Pick<TerminalId> {
    if matches!(typed.trim().to_lowercase().as_str(), "ground" | "frame" | "earth") {
        return Pick::One(circuit.chassis);
    }
    let named = |at: TerminalId| {
        let terminal = circuit.terminal(at);
        Named { it: at, name: terminal.name.clone(), id: terminal.id.clone() }
    };
    let all: Vec<Named<TerminalId>> =
        circuit.terminal_ids().filter(|at| *at != circuit.chassis).map(named).collect();
    pick(typed, "point", &all)
}

/// A part of some sort.
pub fn part(
    circuit: &Circuit,
    typed: &str,
    what: &str,
    is: impl Fn(PartId) -> bool,
) -> Pick<PartId> {
    let named = |at: PartId| {
        let part = circuit.part(at);
        Named { it: at, name: part.name.clone(), id: part.id.clone() }
    };
    let all: Vec<Named<PartId>> = circuit.part_ids().filter(|at| is(*at)).map(named).collect();
    pick(typed, what, &all)
}

/// A connector.
pub fn connector(circuit: &Circuit, typed: &str) -> Pick<ConnectorId> {
    let named = |(at, one): (usize, &crate::circuit::Connector)| Named {
        it: ConnectorId(at as u32),
        name: one.name.clone(),
        id: one.id.clone(),
    };
    let all: Vec<Named<ConnectorId>> = circuit.connectors.iter().enumerate().map(named).collect();
    pick(typed, "connector", &all)
}

/// A place.
pub fn place(circuit: &Circuit, typed: &str) -> Pick<PlaceId> {
    let named = |(at, one): (usize, &crate::circuit::Place)| Named {
        it: PlaceId(at as u32),
        name: one.name.clone(),
        id: one.id.clone(),
    };
    let all: Vec<Named<PlaceId>> = circuit.places.iter().enumerate().map(named).collect();
    pick(typed, "place", &all)
}

/// A control and a position of it, other than the one it is in.
pub fn position(circuit: &Circuit, setup: &Setup, typed: &str) -> Pick<(usize, usize)> {
    let mut all = Vec::new();
    for (at, control) in circuit.controls.iter().enumerate() {
        for (to, position) in control.positions.iter().enumerate() {
            if setup.positions.get(at) != Some(&to) {
                let name = format!("{} {position}", control.name);
                let id = format!("{} {}", control.id, position.to_lowercase());
                all.push(Named { it: (at, to), name, id });
            }
        }
    }
    pick(typed, "control and position", &all)
}
