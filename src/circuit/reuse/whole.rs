//! A tree as the text of one file, so that a job replays where the files it came from are not.

use std::fmt::Write;

use super::gather::Text;
use crate::circuit::document::{Entry, Located, Node};
use crate::problem::sanitise;

/// One circuit file with all that was put together. Read again it gives the same tree.
pub fn whole(tree: &Located, texts: &[Text]) -> String {
    let names: Vec<String> =
        texts.iter().map(|text| format!("`{}`", sanitise(&text.name))).collect();
    let mut text = format!("# The whole circuit, put together from {}.\n", names.join(", "));
    let Node::Map(sections) = &tree.node else { return text };
    for section in sections {
        // Writing to a string cannot fail.
        let _ = match &section.value.node {
            Node::Map(entries) if !entries.is_empty() => {
                let lines = entries.iter().map(|entry| format!("  {}\n", one(entry)));
                write!(text, "{}:\n{}", scalar(&section.key), lines.collect::<String>())
            }
            Node::List(items) if !items.is_empty() => {
                let lines = items.iter().map(|item| format!("  - {}\n", flow(&item.node)));
                write!(text, "{}:\n{}", scalar(&section.key), lines.collect::<String>())
            }
            _ => writeln!(text, "{}", one(section)),
        };
    }
    text
}

fn one(entry: &Entry) -> String {
    format!("{}: {}", scalar(&entry.key), flow(&entry.value.node))
}

/// On one line.
fn flow(node: &Node) -> String {
    match node {
        Node::Nothing => "~".to_owned(),
        Node::Scalar(text) => scalar(text),
        Node::List(items) => {
            let items: Vec<String> = items.iter().map(|item| flow(&item.node)).collect();
            format!("[{}]", items.join(", "))
        }
        Node::Map(entries) => {
            let entries: Vec<String> = entries.iter().map(one).collect();
            format!("{{ {} }}", entries.join(", "))
        }
    }
}

/// A text as it is where it cannot mean anything else, else in double quotes with escapes.
fn scalar(text: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || " _./".contains(c);
    let begins = text.starts_with(|c: char| c.is_ascii_alphanumeric());
    if begins && !text.ends_with(' ') && text.chars().all(plain) && !is_word_of_yaml(text) {
        return text.to_owned();
    }
    let mut quoted = String::from("\"");
    for c in text.chars() {
        // Writing to a string cannot fail.
        let _ = match c {
            '"' | '\\' => write!(quoted, "\\{c}"),
            c if c.is_control() || ('\u{2028}'..='\u{2029}').contains(&c) || c == '\u{feff}' => {
                write!(quoted, "\\u{:04x}", u32::from(c))
            }
            c => write!(quoted, "{c}"),
        };
    }
    quoted.push('"');
    quoted
}

/// Words that a reader of YAML takes for nothing.
fn is_word_of_yaml(text: &str) -> bool {
    text.eq_ignore_ascii_case("null")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::document::read;

    /// The tree without its places.
    fn bare(node: &Node) -> String {
        flow(node)
    }

    #[track_caller]
    fn check(text: &str) {
        let tree = read(text).unwrap();
        let texts = [Text { name: "a\n.yaml".to_owned(), text: String::new() }];
        let again = whole(&tree, &texts);
        let read_again = read(&again).unwrap_or_else(|problems| panic!("{again}\n{problems:?}"));
        assert_eq!(bare(&tree.node), bare(&read_again.node), "{again}");
    }

    #[test]
    fn what_was_written_is_read_again() {
        check("format: 1\nname: 'a: b # c'\nparts:\n  x: { kind: [a, 'b, c'], y: }\n");
        check("wires:\n  - { from: battery.+, to: -x, length: 0x15, a: 1_000, b: yes, c: 1e5 }\n");
        check("notes:\n  - |\n    two\n    lines\n  - \"q\\\"uote \\\\ \\u0001 \\u2028 é\"\n");
        check("a: null\nb: 'null'\nc: ~\nd: '~'\ne: ''\nf: []\ng: {}\nh: true\n12: 3.0\n");
        check("a: '- x'\nb: '*y'\nc: '&z'\nd: '%'\ne: '@'\nf: ' x '\ng: 'x:'\n'k: l': \"\\t\"\n");
    }
}
