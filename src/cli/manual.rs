//! `manual`: the pages of `man`, from the definitions of `args`.

use std::path::Path;

use clap::{Command, CommandFactory};
use clap_mangen::Man;

use super::args::{Args, Manual};
use super::exit::{CliError, End, say};
use super::write;
use crate::problem::sanitise;
use crate::report::mark;

/// Runs `manual`.
pub fn run(manual: &Manual) -> Result<End, CliError> {
    let mut command = Args::command();
    command.build();
    match &manual.to {
        None => say(&page(&command)?)?,
        Some(folder) => {
            let count = write_all(&command, folder, manual.force)?;
            let named = sanitise(&folder.display().to_string());
            say(&format!("Wrote {count} pages into `{named}`; first is `halfsplit.1`.\n"))?;
        }
    }
    Ok(End::Fine)
}

/// The page of the program, and one of each command.
fn write_all(command: &Command, folder: &Path, force: bool) -> Result<usize, CliError> {
    let named = sanitise(&folder.display().to_string());
    std::fs::create_dir_all(folder)
        .map_err(|error| CliError::failed(format!("cannot make the folder `{named}`: {error}")))?;
    let others = command.get_subcommands().filter(|one| one.get_name() != "help");
    let pages: Vec<&Command> = std::iter::once(command).chain(others).collect();
    for one in &pages {
        // `halfsplit find` is the page `halfsplit-find`.
        let name = one.get_display_name().unwrap_or(one.get_name());
        write::out(Some(&folder.join(format!("{name}.1"))), force, &page(one)?)?;
    }
    Ok(pages.len())
}

fn page(command: &Command) -> Result<String, CliError> {
    let mut roff = mark::MANUAL.as_bytes().to_vec();
    Man::new(command.clone()).render(&mut roff).map_err(CliError::failed)?;
    Ok(String::from_utf8_lossy(&roff).into_owned())
}
