//! Solves published worked circuits with the solver alone and shows its answers beside the printed ones.
//!
//! `cargo run --release --example worked_circuits -- FILE [--json]`, FILE like those in
//! `tests/data/worked-circuits`. Exit code 0: all agree; 1: some do not; 2: the file or the call is bad.
#![allow(clippy::disallowed_methods, reason = "an example is its own shell")]

#[path = "worked_circuits/netlist.rs"]
mod netlist;

use std::error::Error;
use std::io::Write;
use std::process::ExitCode;

use netlist::{Expected, File, Worked};

/// The answers of each circuit.
type Answers = Vec<Vec<Option<f64>>>;

fn main() -> ExitCode {
    match run() {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::from(1),
        Err(error) => {
            let mut message = format!("worked_circuits: {error}");
            let mut cause = error.source();
            while let Some(deeper) = cause {
                message.push_str(": ");
                message.push_str(&deeper.to_string());
                cause = deeper.source();
            }
            // Nobody listens when standard error is closed too.
            let _ = writeln!(std::io::stderr(), "{message}");
            ExitCode::from(2)
        }
    }
}

/// Whether all answers agree.
fn run() -> Result<bool, Box<dyn Error>> {
    let (mut json, mut path) = (false, None);
    for argument in std::env::args().skip(1) {
        match argument.as_str() {
            "--json" => json = true,
            other if other.starts_with('-') || path.is_some() => {
                return Err(format!(
                    "`{other}` is not understood; usage: worked_circuits FILE [--json]"
                )
                .into());
            }
            _ => path = Some(argument),
        }
    }
    let path = path.ok_or("no FILE given; usage: worked_circuits FILE [--json]")?;
    let text =
        std::fs::read_to_string(&path).map_err(|error| format!("cannot read `{path}`: {error}"))?;
    let file: File = serde_yaml::from_str(&text).map_err(|error| format!("`{path}`: {error}"))?;
    let answers: Answers = file.circuits.iter().map(Worked::answers).collect::<Result<_, _>>()?;
    let shown = if json { as_json(&file, &answers)? } else { as_table(&file, &answers) };
    match std::io::stdout().lock().write_all(shown.as_bytes()) {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => return Err(error.into()),
        _ => {}
    }
    let mut all =
        file.circuits.iter().flat_map(|worked| &worked.expect).zip(answers.iter().flatten());
    Ok(all.all(|(expected, answer)| verdict(expected, *answer) != "NO"))
}

fn as_json(file: &File, answers: &Answers) -> Result<String, serde_json::Error> {
    let circuit = |(worked, values): (&Worked, &Vec<Option<f64>>)| {
        let result = |(expected, value): (&Expected, &Option<f64>)| serde_json::json!({ "quantity": expected.quantity, "value": value });
        let results: Vec<_> = worked.expect.iter().zip(values).map(result).collect();
        serde_json::json!({ "id": worked.id, "results": results })
    };
    let circuits: Vec<_> = file.circuits.iter().zip(answers).map(circuit).collect();
    Ok(serde_json::to_string_pretty(&serde_json::json!({ "circuits": circuits }))? + "\n")
}

fn as_table(file: &File, answers: &Answers) -> String {
    let line = |id: &str, subject: &str, published: &str, ours: &str, agrees: &str| {
        format!("{id:<34} {subject:<26} {published:>12} {ours:>14}  {agrees}\n")
    };
    let mut table = line("circuit", "quantity", "published", "ours", "agrees");
    for (worked, values) in file.circuits.iter().zip(answers) {
        for (expected, value) in worked.expect.iter().zip(values) {
            let ours = value.map_or("none".to_owned(), |value| format!("{value:.7}"));
            let published = expected.value.map_or(String::new(), |value| value.to_string());
            let agrees = verdict(expected, *value);
            table.push_str(&line(&worked.id, &subject(expected), &published, &ours, agrees));
        }
    }
    table
}

fn subject(expected: &Expected) -> String {
    let named = [&expected.through, &expected.of, &expected.source].into_iter().flatten().next();
    let about = expected.between.as_ref().map(|[red, black]| format!("{red}-{black}"));
    format!("{} {}", expected.quantity, named.cloned().or(about).unwrap_or_default())
}

/// `yes`; `NO`; `misprint` where the printed figure is known not to follow from its circuit and ours
/// agrees with what does.
fn verdict(expected: &Expected, answer: Option<f64>) -> &'static str {
    let near = |value: f64, tolerance: f64| {
        answer.is_some_and(|answer| (answer - value).abs() <= tolerance * (1.0 + 1e-9))
    };
    let Some(value) = expected.value else { return "-" };
    if near(value, expected.tolerance.unwrap_or(1e-6 * value.abs())) {
        return "yes";
    }
    let known = expected.holds == Some(false)
        && expected.computed.is_some_and(|exact| near(exact, 1e-6 * exact.abs()));
    if known { "misprint" } else { "NO" }
}
