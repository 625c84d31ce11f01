//! What this program declines to work on: what can kill before a fault is found.

use super::names::slug;
use super::read::draft::{Draft, Origins};
use super::{Circuit, Element};
use crate::problem::{Problem, Span};

/// The highest volts of a circuit this program works on. The usual limit of harmless direct
/// voltage for vehicles (60 V, UN Regulation 100, from memory).
pub const MOST_VOLTS: f64 = 60.0;

/// Words that mark circuits with charges or lethal volts, with what they are.
const WORDS: &[(&str, &str)] = &[
    ("airbag", "an airbag circuit"),
    ("air-bag", "an airbag circuit"),
    ("srs", "an airbag circuit"),
    ("pretensioner", "a belt tensioner with a charge"),
    ("pyro", "a circuit with a charge"),
    ("pyrotechnic", "a circuit with a charge"),
    ("pyrofuse", "a circuit with a charge"),
    ("squib", "a circuit with a charge"),
    ("igniter-charge", "a circuit with a charge"),
    ("traction-battery", "a traction battery"),
    ("drive-battery", "a traction battery"),
    ("high-voltage", "a high-voltage circuit"),
    ("hv", "a high-voltage circuit"),
    ("hybrid", "a hybrid drive"),
];

/// The id of these problems.
const DECLINED: &str = "declined";

const HELP: &str = "leave it to licensed practice, with the maker's own procedure";

/// Declines circuits above 60 V and those with airbags, charges or traction batteries. Then nothing
/// else needs to be said about the file.
pub fn refuse(draft: &Draft, problems: &mut Vec<Problem>) {
    let (circuit, origins) = (&draft.circuit, &draft.origins);
    if circuit.system_volts > MOST_VOLTS {
        let system = origins.header.last().cloned().unwrap_or_default();
        problems.push(too_high(&system, circuit.system_volts));
    } else {
        batteries(circuit, origins, problems);
    }
    let header = [&circuit.name, &circuit.machine].into_iter().zip(&origins.header);
    let named = draft.names.values().map(|(_, name, span)| (name, span));
    let controls = circuit.controls.iter().map(|control| &control.name).zip(&origins.controls);
    problems
        .extend(header.chain(named).chain(controls).filter_map(|(name, at)| declined(name, at)));
    if is_declined(problems) {
        problems.retain(|problem| problem.id == DECLINED);
    }
}

/// The circuit has been declined.
pub fn is_declined(problems: &[Problem]) -> bool {
    problems.iter().any(|problem| problem.id == DECLINED)
}

/// The problem of a name that marks what this program declines.
pub fn declined(name: &str, span: &Span) -> Option<Problem> {
    let what = marked(name)?;
    let message = format!("this looks like {what}: halfsplit does not work on it");
    let help = format!("a probe in it can set it off or kill; {HELP}");
    Some(Problem::error(DECLINED, span, message).help(help))
}

/// Batteries, each and together: in series they add up.
fn batteries(circuit: &Circuit, origins: &Origins, problems: &mut Vec<Problem>) {
    let mut sum = 0.0;
    for (part, span) in circuit.parts.iter().zip(&origins.parts) {
        for link in &part.links {
            if let Element::Emf { volts, .. } = circuit.link(*link).element {
                sum += volts;
                if sum > MOST_VOLTS {
                    problems.push(too_high(span, sum));
                    return;
                }
            }
        }
    }
}

fn too_high(span: &Span, volts: f64) -> Problem {
    let volts = crate::quantity::show(volts, crate::quantity::Unit::Volts);
    Problem::error(DECLINED, span, format!("{volts} is above the 60 V this program works up to"))
        .help(format!("such a circuit can kill; {HELP}"))
}

fn marked(name: &str) -> Option<&'static str> {
    let padded = format!("-{}-", slug(name));
    WORDS
        .iter()
        .find(|(word, _)| {
            padded.contains(&format!("-{word}"))
                && (word.len() > 3 || padded.contains(&format!("-{word}-")))
        })
        .map(|(_, what)| *what)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_words_are_marked() {
        assert_eq!(marked("Airbag lamp"), Some("an airbag circuit"));
        assert_eq!(marked("SRS unit"), Some("an airbag circuit"));
        assert_eq!(marked("airbags"), Some("an airbag circuit"));
        assert_eq!(marked("traction battery"), Some("a traction battery"));
        assert_eq!(marked("battery"), None);
        assert_eq!(marked("HVAC fan"), None);
        assert_eq!(marked("start button"), None);
    }
}
