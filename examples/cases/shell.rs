//! What the examples share: read the file, run, print a table or JSON, leave with 0 or 2.

use std::process::ExitCode;

use serde::Serialize;

/// Runs `answer` on the text of the file on the command line.
///
/// `answer` returns what goes into the JSON and how to print it as a table. Exit code 2 when the file is
/// missing, cannot be read or is wrong.
pub fn run<T: Serialize>(
    name: &str,
    answer: impl FnOnce(&str) -> Result<(T, fn(&T)), String>,
) -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let (flags, files): (Vec<&String>, Vec<&String>) =
        arguments.iter().partition(|argument| argument.starts_with("--"));
    let known = flags.iter().all(|flag| *flag == "--json");
    let ([file], true) = (files.as_slice(), known) else {
        eprintln!("usage: {name} FILE [--json]");
        return ExitCode::from(2);
    };
    let text = std::fs::read_to_string(file).map_err(|error| error.to_string());
    match text.and_then(|text| answer(&text)) {
        Ok((answers, _)) if !flags.is_empty() => match serde_json::to_string_pretty(&answers) {
            Ok(json) => {
                println!("{json}");
                ExitCode::SUCCESS
            }
            Err(error) => failed(file, &error.to_string()),
        },
        Ok((answers, table)) => {
            table(&answers);
            ExitCode::SUCCESS
        }
        Err(words) => failed(file, &words),
    }
}

fn failed(file: &str, words: &str) -> ExitCode {
    eprintln!("error: {file}: {words}");
    ExitCode::from(2)
}
