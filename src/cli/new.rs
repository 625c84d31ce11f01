//! `new`: starts a circuit file.

use std::io::{BufRead, IsTerminal, Write};
use std::path::{Path, PathBuf};

use super::args::New;
use super::exit::{CliError, End, say};
use super::shelf::Disk;
use super::{load, write};
use crate::circuit::reuse::shelf::within;
use crate::circuit::start::{Answers, SCHEMA_FILE, like, overlay, skeleton};
use crate::circuit::{builtin, names, read, schema};
use crate::problem::sanitise;
use crate::quantity::{self, Unit};
use crate::report::plain;

/// Runs `new`.
pub fn run(new: &New) -> Result<End, CliError> {
    if let Some(id) = new.like.as_deref().filter(|id| builtin::text(id).is_none()) {
        let known = builtin::names();
        let message =
            format!("there is no built-in `{}`; there are: {}", sanitise(id), known.join(", "));
        return Err(CliError::usage(message));
    }
    let asks = std::io::stdin().is_terminal() && std::io::stderr().is_terminal();
    let answers = answers(new, asks)?;
    let path = path(new, &answers, asks)?;
    let text = match (&new.base, new.like.as_deref().and_then(|id| Some((id, builtin::text(id)?))))
    {
        (Some(base), _) => {
            let named = as_seen_from(path.as_deref(), base)?;
            overlay(&named, &*load::circuit(base)?, &answers)
        }
        (None, Some((id, source))) => like(id, source, &answers),
        (None, None) => skeleton(&answers),
    };
    let name = path.as_ref().map_or("new".to_owned(), |path| path.display().to_string());
    let problems = read::read_files(&name, &text, &Disk).problems;
    if let Some(problem) = problems.first() {
        return Err(CliError::usage(sanitise(&problem.message)));
    }
    match path {
        None => say(&text)?,
        Some(path) => {
            let force = may_replace(&path, new.force, asks)?;
            write::out(Some(&path), force, &text)?;
            say(&written(&path)?)?;
        }
    }
    Ok(End::Fine)
}

/// A base as the new file names it: a built-in one by its id, a file by its path from the new file's folder.
fn as_seen_from(path: Option<&Path>, base: &str) -> Result<String, CliError> {
    if builtin::text(base).is_some() {
        return Ok(base.to_owned());
    }
    let folder = path.and_then(Path::parent).unwrap_or(Path::new(""));
    let inside = Path::new(base).strip_prefix(folder).ok();
    let named =
        inside.map(|path| path.display().to_string()).filter(|named| within("", named).is_ok());
    named.ok_or_else(|| {
        CliError::usage(format!(
            "`{base}` is not in the folder of the new file: put the new one beside it, with -o"
        ))
    })
}

/// What was given, what is asked for, or what usually is.
fn answers(new: &New, asks: bool) -> Result<Answers, CliError> {
    let ask = |given: &Option<String>, question: &str, usual: &str| match given {
        Some(given) => Ok(given.trim().to_owned()),
        None if asks => asked(question, usual),
        None => Ok(usual.to_owned()),
    };
    let name = ask(&new.name, "What is the circuit?", "New circuit")?;
    let machine = ask(&new.machine, "On what machine?", "my machine")?;
    let system = match new.like.as_ref().or(new.base.as_ref()) {
        Some(_) => "12 V".to_owned(),
        None => ask(&new.system, "How many volts?", "12 V")?,
    };
    let system = if system.parse::<f64>().is_ok() { format!("{system} V") } else { system };
    quantity::parse(&system, Unit::Volts).map_err(|error| CliError::usage(error.to_string()))?;
    Ok(Answers { name, machine, system })
}

fn asked(question: &str, usual: &str) -> Result<String, CliError> {
    eprint!("{question} [{usual}] ");
    std::io::stderr().flush().map_err(CliError::failed)?;
    let mut line = String::new();
    std::io::stdin().lock().read_line(&mut line).map_err(CliError::failed)?;
    let said = line.trim();
    Ok(if said.is_empty() { usual.to_owned() } else { said.to_owned() })
}

/// Where the file goes; `None` is standard output.
fn path(new: &New, answers: &Answers, asks: bool) -> Result<Option<PathBuf>, CliError> {
    if new.out.is_some() || !asks {
        return Ok(new.out.clone());
    }
    let stem = match names::slug(&answers.name) {
        stem if stem.is_empty() => "circuit".to_owned(),
        stem => stem,
    };
    asked("In which file?", &format!("{stem}.yaml")).map(|path| Some(PathBuf::from(path)))
}

/// A file that is there is replaced only if the person says so.
fn may_replace(path: &Path, force: bool, asks: bool) -> Result<bool, CliError> {
    if force || !path.exists() || path.is_dir() {
        return Ok(force);
    }
    let named = sanitise(&path.display().to_string());
    if asks {
        let said = asked(&format!("`{named}` is there. Replace it?"), "no")?;
        if said.eq_ignore_ascii_case("yes") || said.eq_ignore_ascii_case("y") {
            return Ok(true);
        }
    }
    Err(CliError::failed(format!("`{named}` is there and was left alone; --force replaces it")))
}

/// Puts the schema beside a new file, and says what was written.
fn written(path: &Path) -> Result<String, CliError> {
    let schema_path = path.with_file_name(SCHEMA_FILE);
    let named = sanitise(&path.display().to_string());
    let schema_named = sanitise(&schema_path.display().to_string());
    let beside = match write::may(Some(&schema_path), false) {
        Ok(()) => {
            write::out(
                Some(&schema_path),
                false,
                &format!("{}\n", plain::json(&schema::schema())),
            )?;
            format!("and `{schema_named}`, by which editors complete and check it")
        }
        Err(_) => format!("`{schema_named}` is not ours and was left alone"),
    };
    Ok(format!("Wrote `{named}` {beside}.\nNow: halfsplit check {named}; halfsplit draw {named}\n"))
}
