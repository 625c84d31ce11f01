//! From a located tree to a [`Circuit`], noting down every problem on the way.
//!
//! `tree` goes through the sections, a file each. What a file includes or differs from has been put into the tree by
//! `reuse` before.

use std::collections::HashSet;

mod connectors;
pub mod draft;
mod ends;
pub mod kinds;
mod make;
mod parts;
pub mod pieces;
pub mod settings;
pub mod tree;
mod wires;
pub mod works;

use super::Circuit;
use super::fields::MOST_PROBLEMS;
use super::reuse::shelf::{NoShelf, Shelf};
use super::reuse::{self, Gathered, Text};
use super::unread::MOST_BYTES;
use crate::problem::{Problem, Severity};
use draft::Origins;
use tree::circuit;

/// A circuit file that was read, with the files it names.
#[derive(Debug)]
pub struct Reading {
    /// The circuit, and the places of everything in it; there only when no problem is an error.
    pub found: Option<(Circuit, Origins)>,
    /// What is wrong, in the order of files and lines.
    pub problems: Vec<Problem>,
    /// The files, in the order of [`crate::problem::Span::file`]; the first is the one that was asked for.
    pub texts: Vec<Text>,
}

/// Reads a circuit file's text that names no other files but built-in circuits. `name` is its path or
/// the name of a built-in circuit, for the circuit's id.
///
/// The circuit is there only when no problem is an error. Returns on any text: size, depth and
/// aliases are bounded.
pub fn read_text(name: &str, text: &str) -> (Option<Circuit>, Vec<Problem>) {
    let (found, problems) = read_located(name, text);
    (found.map(|found| found.0), problems)
}

/// The same with the places in the file of everything in the circuit.
pub fn read_located(name: &str, text: &str) -> (Option<(Circuit, Origins)>, Vec<Problem>) {
    let reading = read_files(name, text, &NoShelf);
    (reading.found, reading.problems)
}

/// Reads a circuit file's text with the files it names, which come from `shelf`. Bounded as [`read_text`] is.
pub fn read_files(name: &str, text: &str, shelf: &dyn Shelf) -> Reading {
    let Gathered { tree, texts, shared, mut problems } = reuse::gather(name, text, shelf);
    let mut found = None;
    if let Some(tree) = tree {
        let source = if texts.len() > 1 { reuse::whole(&tree, &texts) } else { text.to_owned() };
        if source.len() > MOST_BYTES && texts.len() > 1 {
            problems.push(
                Problem::error(
                    "too-long",
                    &tree.span,
                    "all files together are longer than a circuit can need",
                )
                .help("circuit files are a few kilobytes of YAML text"),
            );
        }
        found = circuit(name, (&source, &shared), &tree, &mut problems);
    }
    pieces::tell_of_files(&mut problems);
    let mut met = HashSet::new();
    problems.retain(|one| met.insert((one.id, one.span.clone(), one.message.clone())));
    in_order(&mut problems);
    let sound = problems.iter().all(|problem| problem.severity == Severity::Warning);
    Reading { found: found.filter(|_| sound), problems, texts }
}

/// The problems as they stand in the file, no more than a person can be told; what stands for the others is as
/// bad as the worst of them all.
pub fn in_order(problems: &mut Vec<Problem>) {
    problems.sort_by_key(Problem::order);
    if problems.len() <= MOST_PROBLEMS {
        return;
    }
    let worst = problems.iter().map(|problem| problem.severity).min();
    let left = problems.split_off(MOST_PROBLEMS);
    let message = format!("there are {} problems more than are told at once", left.len());
    problems.push(
        Problem {
            severity: worst.unwrap_or(Severity::Error),
            ..Problem::error("too-many", &left[0].span, message)
        }
        .help("mend the first ones and look again"),
    );
}
