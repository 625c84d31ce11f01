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
    let names = builtin::names();
    if as_json {
        say(&format!("{}\n", json!({ "ok": true, "problems": [], "built_in": names })))?;
    } else {
        let mut text = "Built-in circuits:\n".to_owned();
        for name in names {
            let body = builtin::text(name).unwrap_or_default();
            let title = read::read_text(name, body).0.map_or_else(String::new, |one| one.name);
            let _ = writeln!(text, "  {name:<20} {title}");
        }
        say(&text)?;
    }
    Ok(End::Fine)
}
