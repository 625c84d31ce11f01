//! The test that an id names, also one that was never proposed.

use super::make::make;
use super::{Target, Test, Tester};
use crate::circuit::names::letters_apart;
use crate::circuit::{Circuit, ConnectorId, PartId, TerminalId};
use crate::setup::Setup;

/// Why an id names no test of a circuit.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NameError {
    /// Not of the form TESTER/POINT/SETUP.
    #[error("`{id}` is not a test: write TESTER/POINT/SETUP, as `expect` lists them")]
    Shape {
        /// As typed.
        id: String,
    },
    /// No such tester.
    #[error("`{word}` is no tester; there are {known}")]
    Tester {
        /// As typed.
        word: String,
        /// The testers' ids.
        known: String,
    },
    /// No such terminal or part.
    #[error("`{word}` is no point of this circuit{hint}")]
    Point {
        /// As typed.
        word: String,
        /// Nearest known one, ready to print, or empty.
        hint: String,
    },
    /// No such setup.
    #[error(
        "`{word}` is no setup of this circuit: write `rest` or CONTROL.POSITION+CONNECTOR.parted"
    )]
    Setup {
        /// As typed.
        word: String,
    },
    /// The test would be unsafe, or would show nothing.
    #[error("`{id}` is not done: {reason}")]
    Refused {
        /// As typed.
        id: String,
        /// Why.
        reason: String,
    },
}

/// The test an id names.
pub fn parse(circuit: &Circuit, id: &str) -> Result<Test, NameError> {
    let mut words = id.splitn(3, '/');
    let (Some(tester), Some(target), Some(setup)) = (words.next(), words.next(), words.next())
    else {
        return Err(NameError::Shape { id: id.to_owned() });
    };
    let tester = parse_tester(tester)?;
    let target = parse_target(circuit, tester, target)?;
    let setup = Setup::from_id(circuit, setup)
        .ok_or_else(|| NameError::Setup { word: setup.to_owned() })?;
    make(circuit, tester, target, &setup).map_err(|reason| NameError::Refused {
        id: id.to_owned(),
        reason: reason.words().to_owned(),
    })
}

fn parse_tester(word: &str) -> Result<Tester, NameError> {
    Tester::ALL.into_iter().find(|tester| tester.id() == word).ok_or_else(|| {
        let known: Vec<&str> = Tester::ALL.iter().map(|tester| tester.id()).collect();
        NameError::Tester { word: word.to_owned(), known: known.join(", ") }
    })
}

fn parse_target(circuit: &Circuit, tester: Tester, word: &str) -> Result<Target, NameError> {
    match tester {
        Tester::Wiggle => {
            let known = circuit.connectors.iter().map(|connector| connector.id.as_str());
            let at = circuit.connectors.iter().position(|connector| connector.id == word);
            at.map(|at| Target::Connector(ConnectorId(at as u32)))
                .ok_or_else(|| unknown(word, known))
        }
        Tester::Watch | Tester::Hear | Tester::Clamp | Tester::Amps | Tester::Bulb => {
            let at = circuit.parts.iter().position(|part| part.id == word);
            let known = circuit.parts.iter().map(|part| part.id.as_str());
            at.map(|at| Target::Part(PartId(at as u32))).ok_or_else(|| unknown(word, known))
        }
        Tester::LampAcross | Tester::Drop | Tester::OldDrop | Tester::Millivolts | Tester::Ohms => {
            let (a, b) = word
                .split_once('~')
                .ok_or_else(|| NameError::Point { word: word.to_owned(), hint: String::new() })?;
            Ok(Target::Pair(parse_terminal(circuit, a)?, parse_terminal(circuit, b)?))
        }
        _ => Ok(Target::Point(parse_terminal(circuit, word)?)),
    }
}

fn parse_terminal(circuit: &Circuit, word: &str) -> Result<TerminalId, NameError> {
    let found = circuit.graph.node_indices().find(|&at| circuit.graph[at].id == word);
    let known = circuit.graph.node_weights().map(|terminal| terminal.id.as_str());
    found.ok_or_else(|| unknown(word, known))
}

fn unknown<'a>(word: &str, known: impl Iterator<Item = &'a str>) -> NameError {
    let near = |name: &'a str| Some((letters_apart(word, name, name.len() / 2)?, name));
    let nearest = known.filter_map(near).min();
    let hint = nearest.map_or_else(String::new, |(_, name)| format!("; did you mean `{name}`?"));
    NameError::Point { word: word.to_owned(), hint }
}
