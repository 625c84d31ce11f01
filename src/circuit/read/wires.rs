//! The section `wires`.

use std::collections::HashMap;

use super::draft::{Draft, Named};
use super::ends;
use super::parts::common;
use crate::circuit::catalogue::wiring::{
    DEFAULT_AREA_MM2, DEFAULT_CELSIUS, DEFAULT_LENGTH_METRES, HEAVY_FROM_MM2, LENGTH, SIZE,
    TEMPERATURE, WIRE_KEYS, copper_ohms,
};
use crate::circuit::document::{Located, Node};
use crate::circuit::fields::{Fields, MOST_PROBLEMS, Word};
use crate::circuit::names::slug;
use crate::circuit::{Element, Kind, Link, Part, PartId, PlaceId, TerminalId, colour};
use crate::problem::{Problem, Span};

/// A wire that has been read, before it has its name.
struct Wire {
    /// Its own name, if it has one.
    name: Option<Word>,
    ends: [TerminalId; 2],
    end_spans: [Span; 2],
    span: Span,
    place: PlaceId,
    colour: String,
    area_mm2: f64,
    length_metres: f64,
    celsius: f64,
    heavy: bool,
    pattern: Part,
}

/// All wires, in the order of the file.
pub fn wires(top: &Fields<'_>, draft: &mut Draft, problems: &mut Vec<Problem>) {
    let help = "add `wires:` with a line for each, such as `- { from: battery.+, to: main fuse.in, colour: RD }`";
    let Some(section) = top.required("wires", help, problems) else { return };
    let Node::List(items) = &section.value.node else {
        problems.push(
            Problem::error("not-a-list", &section.key_span, format!("`wires` is {}", section.value.node.what()))
                .help("write a line for each wire, with a dash in front: `- { from: battery.+, to: main fuse.in }`"),
        );
        return;
    };
    let mut wires = Vec::new();
    for item in items {
        if problems.len() > MOST_PROBLEMS {
            return;
        }
        wires.extend(wire(item, draft, problems));
    }
    let names = names(&wires, draft);
    for (wire, (id, name)) in wires.into_iter().zip(names) {
        add(wire, id, name, draft);
    }
}

fn wire(item: &Located, draft: &mut Draft, problems: &mut Vec<Problem>) -> Option<Wire> {
    if !matches!(item.node, Node::Map(_)) {
        problems.push(
            Problem::error("not-a-group", &item.span, format!("this wire is {}", item.node.what()))
                .help("write it as `- { from: battery.+, to: main fuse.in, colour: RD }`"),
        );
        return None;
    }
    let fields = Fields::open(item, "this wire".to_owned(), &item.span, WIRE_KEYS, problems)?;
    let before = problems.len();
    let name = fields.word("name", problems);
    if let Some(name) = &name
        && let Some(id) = draft.claim(&name.text, &name.span, problems)
    {
        draft.settle(&id, Named::Wire);
    }
    let (from, from_span) = ends::end(&fields, "from", draft, problems);
    let (to, to_span) = ends::end(&fields, "to", draft, problems);
    let colour = colour(&fields, problems);
    let area_mm2 = fields.number("size", SIZE, problems).unwrap_or(DEFAULT_AREA_MM2);
    let length_metres = fields.number("length", LENGTH, problems).unwrap_or(DEFAULT_LENGTH_METRES);
    let celsius = fields.number("temperature", TEMPERATURE, problems).unwrap_or(DEFAULT_CELSIUS);
    let said_heavy = fields.flag("heavy", problems);
    let place = fields.word("at", problems).map(|said| draft.place(&said, problems));
    let mut pattern = common(&fields, String::new(), Kind::Splice, problems);
    pattern.bundle = fields.word("bundle", problems).map(|said| said.text);
    let (from, to) = (from?, to?);
    if from == to {
        problems.push(
            Problem::error(
                "same-ends",
                &to_span,
                "both ends of this wire are on the same terminal",
            )
            .note(&from_span, "the first end")
            .help("say where its other end is"),
        );
    }
    if problems.len() > before {
        return None;
    }
    let heavy = said_heavy.unwrap_or_else(|| {
        area_mm2 >= HEAVY_FROM_MM2 || [from, to].iter().any(|end| feeds_starter(draft, *end))
    });
    let of = |terminal: TerminalId| draft.circuit.graph[terminal].place;
    let place = place.flatten().or_else(|| of(from)).or_else(|| of(to))?;
    let (ends, end_spans) = ([from, to], [from_span, to_span]);
    let span = item.span.clone();
    Some(Wire {
        name,
        ends,
        end_spans,
        span,
        place,
        colour,
        area_mm2,
        length_metres,
        celsius,
        heavy,
        pattern,
    })
}

/// Starting current passes this terminal, however thin the wire on it may be written.
fn feeds_starter(draft: &Draft, end: TerminalId) -> bool {
    let terminal = &draft.circuit.graph[end];
    match terminal.part.map(|part| &draft.circuit.part(part).kind) {
        Some(Kind::StarterMotor) => true,
        // Its fourth, whatever is stamped on it.
        Some(Kind::Solenoid) => {
            let owner = terminal.part.map(|part| draft.circuit.part(part));
            owner.and_then(|part| part.terminals.get(3)) == Some(&end)
        }
        _ => false,
    }
}

/// The colour by IEC 60757; empty when the file has none.
fn colour(fields: &Fields<'_>, problems: &mut Vec<Problem>) -> String {
    let Some(said) = fields.word("colour", problems) else { return String::new() };
    match colour::read(&said.text) {
        Ok(code) => code,
        Err((piece, meant)) => {
            let help = if let Some(code) = meant {
                format!("did you mean `{code}` ({})?", colour::words(code))
            } else {
                let codes: Vec<String> =
                    colour::CODES.iter().map(|(code, name)| format!("{code} {name}")).collect();
                format!("IEC 60757 has {}; two colours as `BU/WH`", codes.join(", "))
            };
            problems.push(
                Problem::error(
                    "unknown-colour",
                    &said.span,
                    format!("`{piece}` is no colour code"),
                )
                .help(help),
            );
            String::new()
        }
    }
}

/// Ids and names of the wires: their own, or made from their ends, as short as leaves them apart.
fn names(wires: &[Wire], draft: &Draft) -> Vec<(String, String)> {
    let short: Vec<_> = wires.iter().map(|wire| from_ends(wire, draft, false)).collect();
    let long: Vec<_> = wires.iter().map(|wire| from_ends(wire, draft, true)).collect();
    let unnamed = |i: &usize| wires[*i].name.is_none();
    let mut times: HashMap<&str, usize> = HashMap::new();
    for i in (0..wires.len()).filter(unnamed) {
        for text in [&short[i].0, &short[i].1] {
            *times.entry(text).or_default() += 1;
        }
    }
    let alone = |text: &str| times.get(text) == Some(&1);
    let mut met: HashMap<&str, usize> = HashMap::new();
    (0..wires.len())
        .map(|i| {
            if let Some(own) = &wires[i].name {
                return (slug(&own.text), own.text.clone());
            }
            let id = if alone(&short[i].0) { &short[i].0 } else { &long[i].0 };
            let name = if alone(&short[i].1) { &short[i].1 } else { &long[i].1 };
            let again = met.entry(&long[i].0).or_default();
            *again += 1;
            match *again {
                1 => (id.clone(), name.clone()),
                n => (format!("{id}--{n}"), format!("{name} ({n})")),
            }
        })
        .collect()
}

/// Id and name of a wire after the parts it joins, or with `terminals` after their terminals.
fn from_ends(wire: &Wire, draft: &Draft, terminals: bool) -> (String, String) {
    let [from, to] = wire.ends.map(|end| {
        let terminal = &draft.circuit.graph[end];
        match terminal.part {
            Some(part) if !terminals => {
                let part = draft.circuit.part(part);
                (part.id.clone(), part.name.clone())
            }
            _ => (terminal.id.replace('.', "-"), terminal.name.replace(',', "")),
        }
    });
    let thing = if wire.heavy { "cable" } else { "wire" };
    let coloured =
        if wire.colour.is_empty() { thing.to_owned() } else { format!("{} {thing}", wire.colour) };
    (format!("{}--{}", from.0, to.0), format!("{coloured}, {} to {}", from.1, to.1))
}

fn add(wire: Wire, id: String, name: String, draft: &mut Draft) {
    let Wire { ends, end_spans, span, place, colour, heavy, .. } = wire;
    let Wire { area_mm2, length_metres, celsius, .. } = wire;
    let part_id = PartId(draft.circuit.parts.len() as u32);
    let element = Element::Resistance { ohms: copper_ohms(length_metres, area_mm2, celsius) };
    let link = Link { part: part_id, role: "wire", element };
    let edge = draft.circuit.graph.add_edge(ends[0], ends[1], link);
    let kind = Kind::Wire { colour, area_mm2, length_metres, heavy };
    draft.push(Part { id, name, kind, place, links: vec![edge], ..wire.pattern }, &span);
    draft.origins.wire_ends.insert(part_id, end_spans);
}
