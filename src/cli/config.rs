//! `config`: the settings and where they are.

use std::path::Path;

use clap::ValueEnum;
use serde_json::{Value, json};

use super::args::Config;
use super::common_args::USUAL_KIT;
use super::exit::{CliError, End, say, say_json, tell};
use super::settings::{self, Settings};
use crate::problem::sanitise;

/// Runs `config`.
pub fn run(config: &Config) -> Result<End, CliError> {
    let settings = settings::load();
    if config.json {
        say_json(&in_json(&settings))?;
    } else {
        say(&in_words(&settings))?;
    }
    tell_warnings(&settings);
    Ok(End::Fine)
}

/// Tells what is wrong with the settings file, on standard error.
pub fn tell_warnings(settings: &Settings) {
    let path = shown(settings::path().as_deref());
    for warning in &settings.warnings {
        tell(&format!("in the settings {path}: {warning}"));
    }
}

fn shown(path: Option<&Path>) -> String {
    path.map_or_else(
        || "nowhere: no home folder".to_owned(),
        |path| sanitise(&path.display().to_string()),
    )
}

fn name(value: &impl ValueEnum) -> String {
    value.to_possible_value().map_or_else(String::new, |value| value.get_name().to_owned())
}

fn kit(settings: &Settings) -> Vec<&'static str> {
    let kit = settings.kit.as_deref().unwrap_or(&USUAL_KIT);
    kit.iter().map(|one| one.id()).collect()
}

fn in_words(settings: &Settings) -> String {
    let path = settings::path();
    let there = path.as_ref().is_some_and(|path| path.exists());
    let usual = |given: bool| if given { "" } else { "   (usual)" };
    let yes = |on: Option<bool>| if on == Some(true) { "yes" } else { "no" };
    let lines = [
        format!(
            "settings  {}{}",
            shown(path.as_deref()),
            if there { "" } else { "   (not there)" }
        ),
        format!("jobs      {}", shown(settings::jobs_folder().as_deref())),
        String::new(),
        format!("kit:      [{}]{}", kit(settings).join(", "), usual(settings.kit.is_some())),
        match &settings.circuits {
            Some(folder) => format!("circuits: {}", shown(Some(folder))),
            None => "circuits:    (none of one's own)".to_owned(),
        },
        format!(
            "look:     {}{}",
            name(&settings.look.unwrap_or_default()),
            usual(settings.look.is_some())
        ),
        format!("ascii:    {}{}", yes(settings.ascii), usual(settings.ascii.is_some())),
        format!("mouse:    {}{}", yes(settings.mouse), usual(settings.mouse.is_some())),
    ];
    lines.join("\n") + "\n"
}

fn in_json(settings: &Settings) -> Value {
    let path = |path: Option<&Path>| path.map(|path| path.display().to_string());
    json!({
        "settings": path(settings::path().as_deref()),
        "jobs": path(settings::jobs_folder().as_deref()),
        "kit": kit(settings),
        "circuits": path(settings.circuits.as_deref()),
        "look": name(&settings.look.unwrap_or_default()),
        "ascii": settings.ascii.unwrap_or(false),
        "mouse": settings.mouse.unwrap_or(false),
        "warnings": settings.warnings,
    })
}
