//! The section `connectors`: pairs of halves, whose pins are parts.

use std::collections::HashMap;

use super::draft::{Draft, Named, shown};
use super::parts::{at, common};
use crate::circuit::catalogue::wiring::{
    CONNECTOR_KEYS, CONNECTOR_TYPES, DEFAULT_CONNECTOR_TYPE, PIN_OHMS,
};
use crate::circuit::document::{Entry, Node};
use crate::circuit::fields::MINUTES;
use crate::circuit::fields::{self, Fields, MOST_PROBLEMS, Word};
use crate::circuit::names::slug;
use crate::circuit::{Connector, ConnectorId, Element, Kind, Link, Part, PartId, Terminal};
use crate::problem::{Problem, Span};

/// All connectors with their pins.
pub fn connectors(top: &Fields<'_>, draft: &mut Draft, problems: &mut Vec<Problem>) {
    let Some(section) = top.get("connectors") else { return };
    for entry in
        fields::named(&section.value, "`connectors`", "C1: { at: headlamp shell }", problems)
    {
        if problems.len() > MOST_PROBLEMS {
            return;
        }
        let Some(id) = draft.claim(&entry.key, &entry.key_span, problems) else { continue };
        connector(entry, &id, draft, problems);
    }
}

fn connector(
    entry: &Entry,
    id: &str,
    draft: &mut Draft,
    problems: &mut Vec<Problem>,
) -> Option<()> {
    let what = format!("connector `{}`", shown(entry));
    let fields = Fields::open(&entry.value, what, &entry.key_span, CONNECTOR_KEYS, problems)?;
    let before = problems.len();
    let place = at(&fields, draft, problems);
    let types: Vec<&'static str> = CONNECTOR_TYPES.iter().map(|(name, ..)| *name).collect();
    let chosen = fields.choice("type", &types, problems).unwrap_or(DEFAULT_CONNECTOR_TYPE);
    let (_, ohms, minutes) = CONNECTOR_TYPES.iter().find(|(name, ..)| *name == chosen)?;
    let ohms = fields.number("ohms", PIN_OHMS, problems).unwrap_or(*ohms);
    let part_minutes = fields.number("part", MINUTES, problems).unwrap_or(*minutes);
    let reach = fields.number("reach", MINUTES, problems).unwrap_or(0.0);
    let halves = halves(&fields, problems);
    let pins = pin_names(&fields, problems);
    let pattern = common(&fields, String::new(), Kind::Splice, problems);
    if problems.len() > before {
        return None;
    }
    let connector = ConnectorId(draft.circuit.connectors.len() as u32);
    draft.circuit.connectors.push(Connector {
        id: id.to_owned(),
        name: shown(entry),
        place: place?,
        halves: halves?,
        pins: Vec::new(),
        part_minutes,
    });
    draft.origins.connectors.push(entry.key_span.clone());
    draft.settle(id, Named::Connector(connector));
    let pin = Pin { connector, pattern, ohms, reach };
    if pins.is_empty() {
        pin.add(None, draft, &entry.key_span, problems);
    }
    for name in &pins {
        pin.add(Some(name), draft, &name.span, problems);
    }
    Some(())
}

/// The names of the two halves.
fn halves(fields: &Fields<'_>, problems: &mut Vec<Problem>) -> Option<[String; 2]> {
    let said = fields.words("halves", problems);
    match &said[..] {
        [] => Some(["plug".to_owned(), "socket".to_owned()]),
        [first, second] if slug(&first.text) != slug(&second.text) => {
            Some([first.text.clone(), second.text.clone()])
        }
        _ => {
            problems.push(
                Problem::error("halves", &said[0].span, format!("{} needs two halves with a name each", fields.what))
                    .help("write `halves: [loom side, bar side]`, or leave the line out for `plug` and `socket`"),
            );
            None
        }
    }
}

fn pin_names(fields: &Fields<'_>, problems: &mut Vec<Problem>) -> Vec<Word> {
    let said = fields.words("pins", problems);
    if let [only] = &said[..]
        && fields.get("pins").is_some_and(|entry| matches!(entry.value.node, Node::Scalar(_)))
        && let Ok(count @ 2..) = only.text.parse::<usize>()
    {
        let names: Vec<String> = (1..=count.min(3)).map(|pin| pin.to_string()).collect();
        let more = if count > 3 { ", ..." } else { "" };
        problems.push(
            Problem::error("pins", &only.span, format!("`pins: {count}` does not name the pins"))
                .help(format!("write their names: `pins: [{}{more}]`", names.join(", "))),
        );
    }
    told_apart(&said, problems);
    said
}

/// Pins that have the same name.
fn told_apart(said: &[Word], problems: &mut Vec<Problem>) {
    let mut met: HashMap<String, &Word> = HashMap::new();
    for pin in said {
        let first = *met.entry(slug(&pin.text)).or_insert(pin);
        if !std::ptr::eq(first, pin) {
            problems.push(
                Problem::error(
                    "given-twice",
                    &pin.span,
                    format!("pin `{}` is given twice", pin.text),
                )
                .note(&first.span, "the first is here")
                .help("give each pin a name of its own"),
            );
        }
    }
}

/// What the pins of one connector share.
struct Pin {
    connector: ConnectorId,
    pattern: Part,
    ohms: f64,
    reach: f64,
}

impl Pin {
    /// Adds a pin; the only pin of a connector goes by the connector's name.
    fn add(
        &self,
        pin: Option<&Word>,
        draft: &mut Draft,
        span: &Span,
        problems: &mut Vec<Problem>,
    ) -> Option<()> {
        // Without its pins: a connector may have thousands.
        let owner = draft.circuit.connector(self.connector);
        let (name, place, halves) = (owner.name.clone(), owner.place, owner.halves.clone());
        let owner = owner.id.clone();
        let (id, name, prefix) = match pin {
            None => (owner.clone(), name, String::new()),
            Some(pin) => {
                let id = draft.claim(&format!("{name} {}", pin.text), span, problems)?;
                (id, format!("{name} pin {}", pin.text), format!("{} ", pin.text))
            }
        };
        let part_id = PartId(draft.circuit.parts.len() as u32);
        let terminals = halves.map(|half| {
            let words = format!("{prefix}{half}");
            let terminal = Terminal {
                id: format!("{owner}.{}", slug(&words)),
                name: format!("{name}, {half}"),
                part: Some(part_id),
                place: Some(place),
                reach_minutes: self.reach,
                probe: true,
            };
            draft.add_terminal(terminal, &words)
        });
        let link =
            Link { part: part_id, role: "pin", element: Element::Resistance { ohms: self.ohms } };
        let edge = draft.circuit.graph.add_edge(terminals[0], terminals[1], link);
        let part = Part {
            id: id.clone(),
            name,
            kind: Kind::Pin { connector: self.connector },
            place,
            terminals: terminals.to_vec(),
            links: vec![edge],
            ..self.pattern.clone()
        };
        draft.push(part, span);
        draft.circuit.connectors[self.connector.index()].pins.push(part_id);
        if pin.is_some() {
            draft.settle(&id, Named::Part(part_id));
        }
        Some(())
    }
}
