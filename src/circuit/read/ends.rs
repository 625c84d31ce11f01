//! The ends of a wire: from `solenoid.coil in` to a terminal.

use super::draft::{Draft, Named};
use crate::circuit::TerminalId;
use crate::circuit::catalogue::BODY;
use crate::circuit::fields::{Fields, Word, few};
use crate::circuit::graph::terminal_slug;
use crate::circuit::names::{all_of, either, nearest, slug};
use crate::circuit::{Kind, PartId};
use crate::problem::{Problem, Span};

/// The terminal that the key names, and where it does. Naming a broken part is no further problem.
pub fn end(
    fields: &Fields<'_>,
    key: &str,
    draft: &Draft,
    problems: &mut Vec<Problem>,
) -> (Option<TerminalId>, Span) {
    let help = format!("add `{key}: PART.TERMINAL`, such as `{key}: battery.+`");
    fields.required(key, &help, problems);
    let Some(said) = fields.word(key, problems) else { return (None, fields.span.clone()) };
    let found = match find(&said, draft) {
        Ok(terminal) => terminal,
        Err(problem) => {
            problems.push(*problem);
            None
        }
    };
    (found, said.span)
}

fn find(said: &Word, draft: &Draft) -> Result<Option<TerminalId>, Box<Problem>> {
    let (owner, rest) = match said.text.split_once('.') {
        Some((owner, rest)) => (owner.trim(), Some(rest.trim())),
        None => (said.text.as_str(), None),
    };
    let Some((named, name, _)) = draft.names.get(&slug(owner)) else {
        return Err(Box::new(no_owner(owner, said, draft)));
    };
    if *named == Named::Broken {
        return Ok(None);
    }
    let id = terminal_slug(&said.text);
    if let Some(terminal) = draft.terminals.get(&id)
        && rest.is_some()
    {
        return Ok(Some(*terminal));
    }
    if *named == Named::Wire || is_pin(*named, draft) {
        return Err(Box::new(
            Problem::error(
                "unknown-terminal",
                &said.span,
                format!("`{name}` has no terminals of its own"),
            )
            .help("a wire ends on the terminal of a part, a connector's half or a splice"),
        ));
    }
    let terminals = terminals_of(*named, draft);
    // A part grounded through its body has one terminal that is wired as a rule.
    let wired: Vec<_> = terminals.iter().filter(|(_, words)| words != BODY).collect();
    match (rest, &wired[..]) {
        (None, [(only, _)]) => Ok(Some(*only)),
        (None, _) => {
            let words: Vec<String> =
                terminals.iter().map(|(_, words)| format!("{name}.{words}")).collect();
            Err(Box::new(
                Problem::error(
                    "which-terminal",
                    &said.span,
                    format!("`{name}` has more than one terminal"),
                )
                .help(format!("say which one: {}", few(words.iter().map(String::as_str), either))),
            ))
        }
        (Some(rest), _) => {
            Err(Box::new(no_terminal(rest, name, &terminals, (said, *named, draft))))
        }
    }
}

/// Pins are reached through their connector: `C2.a plug`.
fn is_pin(named: Named, draft: &Draft) -> bool {
    matches!(named, Named::Part(part) if matches!(draft.circuit.part(part).kind, Kind::Pin { .. }))
}

/// The terminals of a part or connector, as they are written behind the dot.
fn terminals_of(named: Named, draft: &Draft) -> Vec<(TerminalId, String)> {
    let circuit = &draft.circuit;
    let own = |part: PartId| circuit.part(part).terminals.clone();
    let ids = match named {
        Named::Part(part) => own(part),
        Named::Connector(connector) => {
            circuit.connector(connector).pins.iter().flat_map(|pin| own(*pin)).collect()
        }
        Named::Wire | Named::Broken => Vec::new(),
    };
    ids.into_iter()
        .map(|id| (id, draft.origins.terminal_words[id.index()].clone()))
        .filter(|(_, words)| !words.is_empty())
        .collect()
}

fn no_owner(owner: &str, said: &Word, draft: &Draft) -> Problem {
    let problem = Problem::error(
        "unknown-part",
        &said.span,
        format!("there is no part or connector `{owner}`"),
    );
    if ["chassis", "frame", "ground", "earth", "body", "31"].contains(&slug(owner).as_str()) {
        return problem.help("make it a part: `frame ground: { kind: ground point, at: ... }`, and lead the wire to `frame ground`");
    }
    // `battery +`: a dot is missing.
    if let Some((name, rest)) = owner.rsplit_once(char::is_whitespace)
        && draft.terminals.contains_key(&format!("{}.{}", slug(name), slug(rest)))
    {
        return problem.help(format!("did you mean `{}.{rest}`?", name.trim()));
    }
    let mut names: Vec<&str> = draft.names.values().map(|(_, name, _)| name.as_str()).collect();
    names.sort_unstable();
    match nearest(owner, names.iter().copied()) {
        Some(near) => problem.help(format!("did you mean `{near}`?")),
        None => problem
            .help("add it under `parts` or `connectors`, or write the name as it stands there"),
    }
}

fn no_terminal(
    rest: &str,
    name: &str,
    terminals: &[(TerminalId, String)],
    (said, named, draft): (&Word, Named, &Draft),
) -> Problem {
    let problem = Problem::error(
        "unknown-terminal",
        &said.span,
        format!("`{name}` has no terminal `{rest}`"),
    );
    let words = terminals.iter().map(|(_, words)| words.as_str());
    let kind = match named {
        Named::Part(part) => Some(&draft.circuit.part(part).kind),
        _ => None,
    };
    match (kind, rest, nearest(rest, words.clone())) {
        (Some(Kind::Relay), "87a", _) => problem.help("a relay has 87a with `pins: 5`"),
        (Some(_), "-", _) if words.clone().any(|words| words == BODY) => {
            problem.help("it is grounded through its body; for a wire on `-` write `ground: wire`")
        }
        (_, _, Some(near)) => problem.help(format!("did you mean `{name}.{near}`?")),
        _ => problem.help(format!("its terminals are {}", few(words, all_of))),
    }
}
