//! The settings file: what is at hand, where one's own circuits are, how the screen shall look.
//!
//! A setting that is not known, or that cannot be, is told and left out; the program goes on with the usual.

use std::path::{Path, PathBuf};

use clap::ValueEnum;
use etcetera::BaseStrategy;

use super::common_args::LookOf;
use crate::circuit::document::{self, Entry, Node};
use crate::circuit::names::nearest;
use crate::job::journal::bounded;
use crate::tester::Instrument;

/// Its keys, in the order they are listed.
pub const KEYS: [&str; 5] = ["kit", "circuits", "look", "ascii", "mouse"];
/// Larger files are not settings.
const MOST_BYTES: u64 = 64 * 1024;

/// What the file says; what it leaves out is `None`.
#[derive(Debug, Default, Clone, PartialEq)]
pub struct Settings {
    /// Testers at hand.
    pub kit: Option<Vec<Instrument>>,
    /// Folder of one's own circuits.
    pub circuits: Option<PathBuf>,
    /// Look of the screen.
    pub look: Option<LookOf>,
    /// Draw with ASCII characters only.
    pub ascii: Option<bool>,
    /// Listen to the mouse.
    pub mouse: Option<bool>,
    /// What is wrong with the file, a line each.
    pub warnings: Vec<String>,
}

/// Where the settings file is, whether it is there or not; `None` without a home.
pub fn path() -> Option<PathBuf> {
    let base = etcetera::choose_base_strategy().ok()?;
    Some(base.config_dir().join("halfsplit").join("settings.yaml"))
}

/// The folder of what the program keeps; `None` without a home.
pub fn data_folder() -> Option<PathBuf> {
    let base = etcetera::choose_base_strategy().ok()?;
    Some(base.data_dir().join("halfsplit"))
}

/// Where jobs are kept; `None` without a home.
pub fn jobs_folder() -> Option<PathBuf> {
    data_folder().map(|folder| folder.join("jobs"))
}

/// The settings of this person.
pub fn load() -> Settings {
    let Some(path) = path() else { return Settings::default() };
    let text = match bounded(&path, MOST_BYTES) {
        Ok(None) => Err("it is over 64 KiB".to_owned()),
        Ok(Some(bytes)) => {
            String::from_utf8(bytes).map_err(|_| "it is not text in UTF-8".to_owned())
        }
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Settings::default(),
        Err(error) => Err(error.to_string()),
    };
    match text {
        Ok(text) => read(&text, path.parent().unwrap_or(Path::new(""))),
        Err(error) => Settings { warnings: vec![error], ..Settings::default() },
    }
}

/// Reads the file's text; paths in it count from `folder`.
pub fn read(text: &str, folder: &Path) -> Settings {
    let mut settings = Settings::default();
    let empty = |line: &str| line.trim().is_empty() || line.trim_start().starts_with('#');
    if text.lines().all(empty) {
        return settings;
    }
    match document::read(text) {
        Err(problems) => {
            let lines = problems.iter().map(|one| one.message.clone());
            settings.warnings.extend(lines);
        }
        Ok(tree) => match tree.node {
            Node::Map(entries) => entries.iter().for_each(|entry| settings.take(entry, folder)),
            other => settings
                .warnings
                .push(format!("`key: value` lines are wanted, not {}", other.what())),
        },
    }
    settings
}

impl Settings {
    fn take(&mut self, entry: &Entry, folder: &Path) {
        let value = &entry.value.node;
        let done = match entry.key.as_str() {
            "kit" => kit(value).map(|kit| self.kit = Some(kit)),
            "circuits" => text(value).map(|path| self.circuits = Some(at(folder, path))),
            "look" => text(value).and_then(one_of::<LookOf>).map(|look| self.look = Some(look)),
            "ascii" => yes_or_no(value).map(|on| self.ascii = Some(on)),
            "mouse" => yes_or_no(value).map(|on| self.mouse = Some(on)),
            other => Err(unknown(other)),
        };
        if let Err(words) = done {
            self.warnings.push(format!("`{}`: {words}", entry.key));
        }
    }
}

fn unknown(key: &str) -> String {
    match nearest(key, KEYS) {
        Some(near) => format!("no such setting; did you mean `{near}`?"),
        None => format!("no such setting; there are {}", KEYS.join(", ")),
    }
}

/// A path as written: `~/` is the home, others count from the settings' own folder.
fn at(folder: &Path, written: &str) -> PathBuf {
    let home = etcetera::home_dir().ok();
    match (written.strip_prefix("~/"), home) {
        (Some(rest), Some(home)) => home.join(rest),
        _ => folder.join(written),
    }
}

fn text(value: &Node) -> Result<&str, String> {
    match value {
        Node::Scalar(text) => Ok(text),
        other => Err(format!("a single value is wanted, not {}", other.what())),
    }
}

fn yes_or_no(value: &Node) -> Result<bool, String> {
    match text(value)?.to_lowercase().as_str() {
        "yes" | "true" | "on" => Ok(true),
        "no" | "false" | "off" => Ok(false),
        other => Err(format!("`{other}` is neither yes nor no")),
    }
}

fn one_of<T: ValueEnum>(written: &str) -> Result<T, String> {
    T::from_str(written, true).map_err(|_| {
        let known = T::value_variants().iter().filter_map(ValueEnum::to_possible_value);
        let known: Vec<String> = known.map(|one| one.get_name().to_owned()).collect();
        format!("`{written}` is none of {}", known.join(", "))
    })
}

fn kit(value: &Node) -> Result<Vec<Instrument>, String> {
    match value {
        Node::List(items) => items.iter().map(|item| one_of(text(&item.node)?)).collect(),
        Node::Scalar(list) => list.split(',').map(|one| one_of(one.trim())).collect(),
        other => Err(format!("a list of testers is wanted, not {}", other.what())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn known_settings_are_taken_and_others_are_told() {
        let text =
            "kit: [lamp, clamp]\nlook: sun\nmouse: yes\ncircuits: mine\nlok: sun\nascii: perhaps\n";
        let settings = read(text, Path::new("/etc/shop"));
        assert_eq!(settings.kit, Some(vec![Instrument::Lamp, Instrument::Clamp]));
        assert_eq!(settings.look, Some(LookOf::Sun));
        assert_eq!(settings.mouse, Some(true));
        assert_eq!(settings.circuits, Some(PathBuf::from("/etc/shop/mine")));
        assert_eq!(settings.ascii, None);
        assert_eq!(settings.warnings.len(), 2, "{:?}", settings.warnings);
        assert!(settings.warnings[0].contains("did you mean `look`?"));
    }

    #[test]
    fn a_file_that_is_no_settings_is_told_and_not_fatal() {
        assert_eq!(read("# nothing\n", Path::new("")), Settings::default());
        for text in ["- a list\n", "kit: {a: b}\n", "{{{", "kit: [spanner]"] {
            assert_eq!(read(text, Path::new("")).warnings.len(), 1, "{text}");
        }
    }
}
