//! `check`: loads and examines circuit files.

use std::fmt::Write;
use std::sync::Arc;

use serde_json::{Value, json};

use super::args::Check;
use super::common_args::OneCircuit;
use super::exit::{CliError, End, say, say_json};
use super::load;
use crate::circuit::read::Reading;
use crate::circuit::reuse::Text;
use crate::circuit::{Circuit, builtin, protect, read};
use crate::job::findings::apart::{self, Group};
use crate::job::findings::findings;
use crate::problem::{Severity, Source, sanitise};
use crate::problem::{json as problem_json, picture};
use crate::tester::Instrument;

/// Runs `check`.
pub fn run(check: &Check) -> Result<End, CliError> {
    if check.circuits.is_empty() {
        return list(check.json);
    }
    let mut found = Vec::new();
    let mut groups = Vec::new();
    let mut errors = 0;
    let mut pictures = String::new();
    for name in &check.circuits {
        let Reading { found: read, mut problems, texts } = load::reading(name)?;
        let sources: Vec<Source<'_>> = texts.iter().map(Text::source).collect();
        let shown = &texts[0].name;
        if let Some((circuit, origins)) = &read {
            protect::fuses(circuit, origins, &mut problems);
            protect::doubles(circuit, origins, &mut problems);
            protect::reach(circuit, origins, &mut problems);
            problems.extend(findings(circuit, origins));
            read::in_order(&mut problems);
        }
        errors += problems.iter().filter(|one| one.severity == Severity::Error).count();
        for problem in &problems {
            pictures.push_str(&picture(problem, &sources, load::look()));
            pictures.push_str("\n\n");
            found.push(problem_json(problem, &sources));
        }
        if problems.is_empty() {
            pictures.push_str(&format!("{shown}: nothing to mend\n"));
        }
        if let Some((circuit, _)) = read.filter(|_| check.apart) {
            let alike = alike(circuit, &check.kit)?;
            pictures.push_str(&in_words(shown, &alike));
            groups.extend(alike);
        }
    }
    if check.json {
        let groups: Vec<Value> = groups
            .iter()
            .map(|one| json!({ "suspects": one.suspects, "help": one.help }))
            .collect();
        let mut object = json!({ "ok": errors == 0, "problems": found });
        if check.apart {
            object["not_told_apart"] = json!(groups);
        }
        say_json(&object)?;
    } else {
        say(&pictures)?;
    }
    Ok(if errors == 0 { End::Fine } else { End::Finding })
}

fn alike(circuit: Circuit, kit: &[Instrument]) -> Result<Vec<Group>, CliError> {
    let common = OneCircuit { kit: Some(kit.to_vec()), ..OneCircuit::default() };
    let study = load::study_of(&Arc::new(circuit), &common)?;
    apart::groups(&study).map_err(CliError::failed)
}

fn in_words(name: &str, groups: &[Group]) -> String {
    if groups.is_empty() {
        return format!("{name}: every two suspects that are mended differently are told apart\n");
    }
    let mut text = format!("{name}: no test at hand tells these apart\n");
    for group in groups {
        for (at, suspect) in group.suspects.iter().enumerate() {
            let mark = if at == 0 { "-" } else { " " };
            text.push_str(&format!("  {mark} {}\n", sanitise(suspect)));
        }
        let help = group.help.as_deref().unwrap_or("no tester and no probe point known here would");
        text.push_str(&format!("      {}\n", sanitise(help)));
    }
    text
}

fn list(as_json: bool) -> Result<End, CliError> {
    if as_json {
        let names = builtin::names();
        say_json(&json!({ "ok": true, "problems": [], "built_in": names }))?;
        return Ok(End::Fine);
    }
    let mut text = "Built-in circuits, all of invented machines:\n".to_owned();
    for group in builtin::GROUPS {
        let _ = writeln!(text, "\n{}", group.heading);
        for (name, body) in group.circuits {
            let Some(circuit) = read::read_text(name, body).0 else { continue };
            text.push_str(&listed(name, &circuit.name, &circuit.machine));
        }
    }
    say(&text)?;
    Ok(End::Fine)
}

/// Columns of a terminal that a list has to fit.
const COLUMNS: usize = 80;

/// One circuit of the list: its name, what it is and its machine, which goes below where it is too long.
fn listed(name: &str, what: &str, machine: &str) -> String {
    let start = format!("  {name:<16} {what}");
    if start.chars().count() + 2 + machine.chars().count() <= COLUMNS {
        format!("{start}; {machine}\n")
    } else {
        format!("{start};\n{:19}{machine}\n", "")
    }
}
