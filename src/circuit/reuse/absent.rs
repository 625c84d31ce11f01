//! Takes out what one's own machine has not: wires go through where a connector is absent, and with a
//! part go the wires to it and what was to be seen of it.

use super::change::Gone;
use crate::circuit::document::{Entry, Located, Node};
use crate::circuit::graph::terminal_slug;
use crate::circuit::names::slug;
use crate::problem::{Problem, Span, sanitise};
use crate::quantity::{self, Unit};

/// Takes out of `base` all that is gone.
pub fn take_out(gone: &[Gone], base: &mut Located, problems: &mut Vec<Problem>) {
    let of = |section: &'static str| gone.iter().filter(move |one| one.section == section);
    let numbers: Vec<usize> = of("wires").filter_map(|one| one.key.parse().ok()).collect();
    if let Some(wires) = wires(base) {
        let mut number = 0..;
        wires.retain(|_| !number.next().is_some_and(|number| numbers.contains(&number)));
    }
    for one in of("connectors") {
        connector(one, base);
    }
    for one in of("parts") {
        part(one, base);
    }
    for one in of("works") {
        remove(base, one);
    }
    for one in of("controls") {
        control(one, base, problems);
    }
    for one in of("places") {
        place(one, base, problems);
    }
    for one in of("kinds") {
        problems.push(
            Problem::error("absent", &one.span, "a kind of part cannot be absent")
                .help("say which part has another `kind`, under `parts`"),
        );
    }
}

fn section<'t>(base: &'t mut Located, key: &str) -> Option<&'t mut Node> {
    let Node::Map(entries) = &mut base.node else { return None };
    entries.iter_mut().find(|entry| entry.key == key).map(|entry| &mut entry.value.node)
}

fn named<'t>(base: &'t mut Located, key: &str) -> Option<&'t mut Vec<Entry>> {
    match section(base, key)? {
        Node::Map(entries) => Some(entries),
        _ => None,
    }
}

fn wires(base: &mut Located) -> Option<&mut Vec<Located>> {
    match section(base, "wires")? {
        Node::List(items) => Some(items),
        _ => None,
    }
}

/// Takes an entry out and returns it.
fn remove(base: &mut Located, one: &Gone) -> Option<Entry> {
    let entries = named(base, one.section)?;
    let at = entries.iter().position(|entry| entry.key == one.key)?;
    Some(entries.remove(at))
}

/// The value of a key of a group.
fn get<'t>(group: &'t Located, key: &str) -> Option<&'t Located> {
    let Node::Map(entries) = &group.node else { return None };
    entries.iter().find(|entry| entry.key == key).map(|entry| &entry.value)
}

fn text(value: &Located) -> Option<&str> {
    match &value.node {
        Node::Scalar(text) => Some(text.trim()),
        _ => None,
    }
}

/// A single text, or those of a list.
fn texts(value: Option<&Located>) -> Vec<&str> {
    match value.map(|value| (&value.node, value)) {
        Some((Node::List(items), _)) => items.iter().filter_map(text).collect(),
        Some((_, value)) => text(value).into_iter().collect(),
        None => Vec::new(),
    }
}

fn scalar(words: String, span: &Span) -> Located {
    Located { node: Node::Scalar(words), span: span.clone() }
}

fn entry(key: &str, value: Located) -> Entry {
    Entry { key: key.to_owned(), key_span: value.span.clone(), value }
}

/// Which ends of a wire are on something.
fn ends_on(wire: &Located, on: impl Fn(&str) -> bool) -> Vec<&'static str> {
    let is_on = |key: &&str| get(wire, key).and_then(text).is_some_and(&on);
    ["from", "to"].into_iter().filter(is_on).collect()
}

/// The wires of each pin go through; where more than two meet they are spliced.
fn connector(one: &Gone, base: &mut Located) {
    let Some(was) = remove(base, one) else { return };
    let name = sanitise(was.key.trim());
    let halves = match texts(get(&was.value, "halves"))[..] {
        [first, second] => [first.to_owned(), second.to_owned()],
        _ => ["plug".to_owned(), "socket".to_owned()],
    };
    let pins: Vec<String> = texts(get(&was.value, "pins")).into_iter().map(str::to_owned).collect();
    let pins = if pins.is_empty() { vec![String::new()] } else { pins };
    for pin in pins {
        let nodes = halves
            .each_ref()
            .map(|half| terminal_slug(&format!("{name}.{}", format!("{pin} {half}").trim())));
        let joint = format!("{name} {pin}").trim().to_owned();
        through(&nodes, &joint, (get(&was.value, "at"), &one.span), base);
    }
}

/// Joins the wires on both halves of a pin.
fn through(
    nodes: &[String; 2],
    joint: &str,
    (at, span): (Option<&Located>, &Span),
    base: &mut Located,
) {
    let Some(wires) = wires(base) else { return };
    let mut found: [Vec<(usize, &'static str)>; 2] = [Vec::new(), Vec::new()];
    for (number, wire) in wires.iter().enumerate() {
        for (half, node) in nodes.iter().enumerate() {
            let keys = ends_on(wire, |end| terminal_slug(end) == *node);
            found[half].extend(keys.into_iter().map(|key| (number, key)));
        }
    }
    match (&found[0][..], &found[1][..]) {
        ([], []) => {}
        ([(first, end)], [(second, other)]) if first != second => {
            let gone = wires[*second].clone();
            let far = if *other == "from" { "to" } else { "from" };
            lengthen(&mut wires[*first], end, (&gone, far));
            wires.remove(*second);
        }
        _ => {
            for (number, end) in found.into_iter().flatten() {
                put(&mut wires[number], end, scalar(joint.to_owned(), span));
            }
            splice(joint, at, span, base);
        }
    }
}

fn put(group: &mut Located, key: &str, value: Located) {
    let Node::Map(entries) = &mut group.node else { return };
    match entries.iter_mut().find(|entry| entry.key == key) {
        Some(entry) => entry.value = value,
        None => entries.push(entry(key, value)),
    }
}

/// Leads a wire on to the far end of another, as long as both together.
fn lengthen(wire: &mut Located, end: &str, (gone, far): (&Located, &str)) {
    let metres = |wire: &Located| {
        get(wire, "length").and_then(text).and_then(|said| quantity::parse(said, Unit::Metres).ok())
    };
    let sum = metres(wire).zip(metres(gone)).map(|(one, other)| one + other);
    let span = get(wire, "length").map_or(&wire.span, |value| &value.span).clone();
    match (sum, &mut wire.node) {
        (Some(sum), _) => put(wire, "length", scalar(quantity::show(sum, Unit::Metres), &span)),
        (None, Node::Map(entries)) => entries.retain(|entry| entry.key != "length"),
        (None, _) => {}
    }
    if let Some(value) = get(gone, far) {
        put(wire, end, value.clone());
    }
}

fn splice(joint: &str, at: Option<&Located>, span: &Span, base: &mut Located) {
    let Some(parts) = named(base, "parts") else { return };
    let mut keys = vec![entry("kind", scalar("splice".to_owned(), span))];
    keys.extend(at.map(|at| entry("at", at.clone())));
    let value = Located { node: Node::Map(keys), span: span.clone() };
    parts.push(entry(joint, value));
}

/// With a part go its wires, and what was to be seen of it.
fn part(one: &Gone, base: &mut Located) {
    let Some(was) = remove(base, one) else { return };
    let id = slug(&sanitise(&was.key));
    let owner = |end: &str| slug(end.split_once('.').map_or(end, |(owner, _)| owner.trim())) == id;
    if let Some(wires) = wires(base) {
        wires.retain(|wire| ends_on(wire, owner).is_empty());
    }
    let Some(works) = named(base, "works") else { return };
    let is_of = |said: &str| {
        said.rsplit_once(char::is_whitespace).is_some_and(|(name, _)| slug(name) == id)
    };
    works.retain_mut(|work| {
        let Node::Map(keys) = &mut work.value.node else { return true };
        let Some(see) = keys.iter_mut().find(|entry| entry.key == "see") else { return true };
        match &mut see.value.node {
            Node::Scalar(said) => !is_of(said.trim()),
            Node::List(items) => {
                items.retain(|item| !text(item).is_some_and(is_of));
                !items.is_empty()
            }
            _ => true,
        }
    });
}

/// A control goes from what works, too; no part may need it any more.
fn control(one: &Gone, base: &mut Located, problems: &mut Vec<Problem>) {
    let id = slug(&sanitise(&one.key));
    if needed(one, ("control", &id), &["parts"], base, problems) {
        return;
    }
    remove(base, one);
    for work in named(base, "works").into_iter().flatten() {
        if let Node::Map(keys) = &mut work.value.node
            && let Some(when) = keys.iter_mut().find(|entry| entry.key == "when")
            && let Node::Map(positions) = &mut when.value.node
        {
            positions.retain(|entry| slug(&sanitise(&entry.key)) != id);
        }
    }
}

/// Nothing may be at a place that is absent.
fn place(one: &Gone, base: &mut Located, problems: &mut Vec<Problem>) {
    let id = slug(&sanitise(&one.key));
    if !needed(one, ("at", &id), &["parts", "connectors", "wires"], base, problems) {
        remove(base, one);
    }
}

/// Something still names behind a key what is said to be absent: the first that does is told.
fn needed(
    one: &Gone,
    (key, id): (&str, &str),
    sections: &[&str],
    base: &mut Located,
    problems: &mut Vec<Problem>,
) -> bool {
    let user = sections.iter().find_map(|name| user(section(base, name)?, key, id));
    let Some(span) = user else { return false };
    let message = format!("`{}` cannot be absent: something needs it", sanitise(&one.key));
    problems.push(
        Problem::error("absent", &one.span, message)
            .note(&span, "this does")
            .help("say what is different about that, or that it is absent too"),
    );
    true
}

/// Where something below `node` says `key: ID`.
fn user(node: &Node, key: &str, id: &str) -> Option<Span> {
    match node {
        Node::List(items) => items.iter().find_map(|item| user(&item.node, key, id)),
        Node::Map(entries) => entries.iter().find_map(|entry| {
            let is = entry.key == key && text(&entry.value).is_some_and(|said| slug(said) == id);
            if is { Some(entry.value.span.clone()) } else { user(&entry.value.node, key, id) }
        }),
        _ => None,
    }
}
