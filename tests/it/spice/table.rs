//! The truth table of relays worked out by hand: `tests/data/spice/relays.yaml`.

use std::collections::BTreeMap;

use serde::Deserialize;

/// What a relay does for good.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Armature {
    Released,
    Pulled,
    Chatters,
}

/// The table of one circuit.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Table {
    pub circuit: String,
    /// The part whose armature it is.
    pub relay: String,
    sound: Vec<String>,
    faults: Vec<Group>,
}

/// Suspects under which the relay does the same.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Group {
    #[expect(dead_code, reason = "for the reader of the table")]
    why: String,
    pulled: Vec<String>,
    #[serde(default)]
    chatters: Vec<String>,
    /// Parts and their fault modes.
    suspects: BTreeMap<String, Vec<String>>,
}

/// All circuits of the table.
pub fn tables() -> Vec<Table> {
    serde_yaml::from_str(include_str!("../../data/spice/relays.yaml")).unwrap()
}

impl Table {
    /// What the table says of a setup under a suspect.
    pub fn says(&self, setup: &str, suspect: &str) -> Armature {
        let named = |group: &&Group| {
            suspect.split_once('.').is_some_and(|(part, mode)| {
                group.suspects.get(part).is_some_and(|modes| modes.iter().any(|one| one == mode))
            })
        };
        let (pulled, chatters) = match self.faults.iter().find(named) {
            Some(group) => (&group.pulled, &group.chatters[..]),
            None => (&self.sound, &[][..]),
        };
        if pulled.iter().any(|line| holds(line, setup)) {
            Armature::Pulled
        } else if chatters.iter().any(|line| holds(line, setup)) {
            Armature::Chatters
        } else {
            Armature::Released
        }
    }

    /// Suspects it names.
    pub fn suspects(&self) -> impl Iterator<Item = String> {
        self.faults
            .iter()
            .flat_map(|group| &group.suspects)
            .flat_map(|(part, modes)| modes.iter().map(move |mode| format!("{part}.{mode}")))
    }
}

/// Whether a setup's name has all words of a line, and none of those with `!`.
fn holds(line: &str, setup: &str) -> bool {
    let has = |word: &str| setup.split('+').any(|one| one == word);
    line.split(' ').all(|word| word.strip_prefix('!').map_or_else(|| has(word), |not| !has(not)))
}
