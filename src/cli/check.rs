//! `check`: loads and examines circuit files.

use std::fmt::Write;

use serde_json::json;

use super::args::Check;
use super::exit::{CliError, End, say};
use super::load;
use crate::circuit::{builtin, read};
use crate::problem::Severity;
use crate::problem::{json as problem_json, picture};

/// Runs `check`.
pub fn run(check: &Check) -> Result<End, CliError> {
    if check.circuits.is_empty() {
        return list(check.json);
    }
    let mut found = Vec::new();
    let mut errors = 0;
    let mut pictures = String::new();
    for name in &check.circuits {
        let text = load::text(name)?;
        let (_, problems) = read::read_text(&text.name, &text.text);
        errors += problems.iter().filter(|one| one.severity == Severity::Error).count();
        for problem in &problems {
            pictures.push_str(&picture(problem, text.source(), load::look()));
            pictures.push_str("\n\n");
            found.push(problem_json(problem, text.source()));
        }
        if problems.is_empty() {
            pictures.push_str(&text.name);
            pictures.push_str(": nothing to mend\n");
        }
    }
    if check.json {
        say(&format!("{}\n", json!({ "ok": errors == 0, "problems": found })))?;
    } else {
        say(&pictures)?;
    }
    Ok(if errors == 0 { End::Fine } else { End::Finding })
}

fn list(as_json: bool) -> Result<End, CliError> {
    if as_json {
        let names = builtin::names();
        say(&format!("{}\n", json!({ "ok": true, "problems": [], "built_in": names })))?;
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
