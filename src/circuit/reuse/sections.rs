//! The sections of several files laid together.

use crate::circuit::document::{Entry, Located, Node};
use crate::problem::{Problem, sanitise};

/// Sections of which those that come later stand first: a file's own notes, its own usual complaint.
const LATER_FIRST: &[&str] = &["notes", "works"];

/// Sections so far, in the order in which they were first met.
#[derive(Debug, Default)]
pub struct Sections {
    entries: Vec<Entry>,
}

/// How a section is written.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Shape {
    Value,
    List,
    Group,
}

impl Shape {
    fn of(key: &str) -> Shape {
        match key {
            "format" | "name" | "machine" | "system" => Shape::Value,
            "notes" | "wires" => Shape::List,
            _ => Shape::Group,
        }
    }

    fn is_of(self, node: &Node) -> bool {
        match node {
            Node::Nothing => true,
            Node::Scalar(_) => self == Shape::Value,
            Node::List(_) => self == Shape::List,
            Node::Map(_) => self == Shape::Group,
        }
    }
}

impl Sections {
    /// Those of a whole circuit.
    pub fn of(tree: Located) -> Sections {
        match tree.node {
            Node::Map(entries) => Sections { entries },
            _ => Sections::default(),
        }
    }

    /// Adds a section of a further file to what is there; a header's value takes the place of the one before.
    pub fn add(&mut self, mut entry: Entry, problems: &mut Vec<Problem>) {
        if entry.key == "notes" {
            one_becomes_a_list(&mut entry.value);
        }
        let shape = Shape::of(&entry.key);
        if !shape.is_of(&entry.value.node) {
            problems.push(misshaped(&entry, shape));
            return;
        }
        let Some(first) = self.entries.iter_mut().find(|first| first.key == entry.key) else {
            self.entries.push(entry);
            return;
        };
        if first.key == "notes" {
            one_becomes_a_list(&mut first.value);
        }
        first.key_span = entry.key_span;
        let later_first = LATER_FIRST.contains(&first.key.as_str());
        match (&mut first.value.node, entry.value.node) {
            (Node::Map(old), Node::Map(new)) => join(old, new, later_first),
            (Node::List(old), Node::List(new)) => join(old, new, later_first),
            (_, Node::Nothing) => {}
            (old, new) => {
                *old = new;
                first.value.span = entry.value.span;
            }
        }
    }

    /// As one tree that begins where `like` does.
    pub fn into_tree(self, like: &Located) -> Located {
        Located { node: Node::Map(self.entries), span: like.span.clone() }
    }
}

fn misshaped(entry: &Entry, shape: Shape) -> Problem {
    let message = format!("`{}` is {}", sanitise(&entry.key), entry.value.node.what());
    Problem::error("not-a-group", &entry.value.span, message).help(match shape {
        Shape::Value => "write one value behind the colon",
        Shape::List => "write a line for each, with a dash in front",
        Shape::Group => "write a group of lines, each `NAME: ...`",
    })
}

fn join<T>(old: &mut Vec<T>, mut new: Vec<T>, later_first: bool) {
    if later_first {
        std::mem::swap(old, &mut new);
    }
    old.append(&mut new);
}

fn one_becomes_a_list(value: &mut Located) {
    if let Node::Scalar(_) = value.node {
        *value = Located { node: Node::List(vec![value.clone()]), span: value.span.clone() };
    }
}
