//! The circuit while its file is being read, with the place in the file of everything in it.

use std::collections::HashMap;

use petgraph::graph::UnGraph;

use crate::circuit::catalogue::Blueprint;
use crate::circuit::document::Entry;
use crate::circuit::fields::Word;
use crate::circuit::names::slug;
use crate::circuit::{
    Circuit, ConnectorId, ControlId, Link, Part, PartId, Place, PlaceId, Terminal, TerminalId,
};
use crate::problem::{Problem, Span, sanitise};

/// The longest name that still fits on a screen and a tag.
const LONGEST_NAME: usize = 60;

/// Where in the file things stand.
#[derive(Debug, Default)]
pub struct Origins {
    /// Of each part, in the order of [`Circuit::parts`].
    pub parts: Vec<Span>,
    /// How a wire names each terminal behind the dot; empty if none may.
    pub terminal_words: Vec<String>,
    /// Of each control.
    pub controls: Vec<Span>,
    /// Of each place.
    pub places: Vec<Span>,
    /// Of each connector.
    pub connectors: Vec<Span>,
    /// Of each work.
    pub works: Vec<Span>,
    /// Of the header's values: name, machine, and system where it is given; the file's where the others are not.
    pub header: Vec<Span>,
    /// Where each wire names its ends.
    pub wire_ends: HashMap<PartId, [Span; 2]>,
    /// Controls that some part uses.
    pub used_controls: Vec<ControlId>,
    /// Places that something uses.
    pub used_places: Vec<PlaceId>,
    /// Of each file: it is a piece which others share.
    pub shared: Vec<bool>,
}

impl Origins {
    /// It stands in a piece, of which one circuit need not use all.
    pub fn is_shared(&self, span: &Span) -> bool {
        self.shared.get(span.file).is_some_and(|shared| *shared)
    }
}

/// What a name stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Named {
    /// A part.
    Part(PartId),
    /// A connector.
    Connector(ConnectorId),
    /// A wire: it has no terminals of its own.
    Wire,
    /// Something with problems of its own.
    Broken,
}

/// The circuit so far.
#[derive(Debug)]
pub struct Draft {
    /// What has been read.
    pub circuit: Circuit,
    /// Where it stands in the file.
    pub origins: Origins,
    /// Parts and connectors by id, with name and place in the file.
    pub names: HashMap<String, (Named, String, Span)>,
    /// Terminals by id.
    pub terminals: HashMap<String, TerminalId>,
    /// Controls whose own entry has problems.
    pub broken_controls: Vec<String>,
    /// Places whose own entry has problems.
    pub broken_places: Vec<String>,
}

impl Draft {
    /// A circuit with nothing but its frame.
    pub fn new(id: String, text: &str) -> Draft {
        let mut graph = UnGraph::default();
        let chassis = graph.add_node(Terminal {
            id: "chassis".to_owned(),
            name: "frame".to_owned(),
            part: None,
            place: None,
            reach_minutes: 0.0,
            probe: true,
        });
        let circuit = Circuit {
            id,
            name: String::new(),
            machine: String::new(),
            system_volts: 12.0,
            battery_measured: false,
            controls: Vec::new(),
            places: Vec::new(),
            parts: Vec::new(),
            connectors: Vec::new(),
            works: Vec::new(),
            notes: Vec::new(),
            graph,
            chassis,
            source: text.to_owned(),
        };
        Draft {
            circuit,
            origins: Origins { terminal_words: vec![String::new()], ..Origins::default() },
            names: HashMap::new(),
            terminals: HashMap::new(),
            broken_controls: Vec::new(),
            broken_places: Vec::new(),
        }
    }

    /// Claims a name for a part or connector; a name already taken becomes a problem.
    pub fn claim(
        &mut self,
        name: &str,
        span: &Span,
        problems: &mut Vec<Problem>,
    ) -> Option<String> {
        let id = good_name(name, span, problems)?;
        if id == "chassis" {
            problems.push(
                Problem::error(
                    "name",
                    span,
                    format!("`{}` already stands for the machine's frame", sanitise(name)),
                )
                .help("give it another name, such as `frame ground`"),
            );
            return None;
        }
        if let Some((_, earlier, first)) = self.names.get(&id) {
            problems.push(
                Problem::error(
                    "given-twice",
                    span,
                    format!("the name `{}` is given twice", sanitise(name)),
                )
                .note(first, format!("`{earlier}` is here"))
                .help("give one of them another name; capitals and blanks make no difference"),
            );
            return None;
        }
        self.names.insert(id.clone(), (Named::Broken, sanitise(name.trim()), span.clone()));
        Some(id)
    }

    /// Says what a claimed name stands for.
    pub fn settle(&mut self, id: &str, named: Named) {
        if let Some((what, ..)) = self.names.get_mut(id) {
            *what = named;
        }
    }

    /// Adds a part with the terminals and links of its plan.
    pub fn add(
        &mut self,
        mut part: Part,
        plan: &Blueprint,
        reach: f64,
        sealed: bool,
        span: &Span,
    ) -> PartId {
        let id = PartId(self.circuit.parts.len() as u32);
        for stub in &plan.terminals {
            let terminal = Terminal {
                id: format!("{}.{}", part.id, slug(&stub.name)),
                name: format!("{}, {}", part.name, stub.name),
                part: Some(id),
                place: Some(part.place),
                reach_minutes: reach,
                probe: stub.probe && !sealed,
            };
            // What no probe can touch no wire can be led to.
            let words = if stub.probe { stub.name.as_str() } else { "" };
            part.terminals.push(self.add_terminal(terminal, words));
        }
        for planned in &plan.links {
            let first = part.terminals[planned.first];
            let second = planned.second.map_or(self.circuit.chassis, |index| part.terminals[index]);
            let link = Link { part: id, role: planned.role, element: planned.element.clone() };
            part.links.push(self.circuit.graph.add_edge(first, second, link));
        }
        self.push(part, span)
    }

    /// Adds a terminal; `words` is how a wire names it behind the dot, empty if none may.
    pub fn add_terminal(&mut self, terminal: Terminal, words: &str) -> TerminalId {
        let id = terminal.id.clone();
        let index = self.circuit.graph.add_node(terminal);
        self.origins.terminal_words.push(words.to_owned());
        if !words.is_empty() {
            self.terminals.entry(id).or_insert(index);
        }
        index
    }

    /// Adds a part whose terminals and links are in the graph already.
    pub fn push(&mut self, part: Part, span: &Span) -> PartId {
        let id = PartId(self.circuit.parts.len() as u32);
        self.circuit.parts.push(part);
        self.origins.parts.push(span.clone());
        id
    }

    /// The place of this name; one that is not there becomes a problem.
    pub fn place(&mut self, said: &Word, problems: &mut Vec<Problem>) -> Option<PlaceId> {
        let wanted = slug(&said.text);
        if let Some(index) = self.circuit.places.iter().position(|place| place.id == wanted) {
            let id = PlaceId(index as u32);
            self.origins.used_places.push(id);
            return Some(id);
        }
        if !self.broken_places.contains(&wanted) {
            problems.push(self.unknown_place(said));
        }
        None
    }

    fn unknown_place(&self, said: &Word) -> Problem {
        let known = self.circuit.places.iter().map(|place: &Place| place.name.as_str());
        let near = crate::circuit::names::nearest(&said.text, known);
        let help = match near {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!(
                "add it under `places:` with the minutes it takes to open: `{}: 1 min`",
                said.text
            ),
        };
        Problem::error("unknown-place", &said.span, format!("there is no place `{}`", said.text))
            .help(help)
    }
}

/// The id of a name as a key in the file; names that make no id become problems.
pub fn good_name(name: &str, span: &Span, problems: &mut Vec<Problem>) -> Option<String> {
    let shown = sanitise(name.trim());
    let id = slug(&shown);
    let (message, help) = if id.is_empty() {
        (format!("`{shown}` is no name"), "a name needs at least one letter or digit")
    } else if shown.contains('.') {
        (
            format!("the name `{shown}` has a dot in it"),
            "leave the dot out: it stands between a part and its terminal",
        )
    } else if shown.chars().count() > LONGEST_NAME {
        (
            "this name is longer than 60 characters".to_owned(),
            "keep it short, and put the rest into `note`",
        )
    } else {
        return Some(id);
    };
    problems.push(Problem::error("name", span, message).help(help));
    None
}

/// The name of an entry as it is shown.
pub fn shown(entry: &Entry) -> String {
    sanitise(entry.key.trim())
}
