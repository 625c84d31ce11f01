//! The wall between the rooms: each imports only rooms above it, and no files import each other in a circle.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

/// The rooms in reading order; `tui` and `cli` last.
const ROOMS: [&str; 16] = [
    "quantity", "problem", "circuit", "electric", "setup", "suspect", "tester", "belief", "plan",
    "job", "history", "trial", "drill", "report", "tui", "cli",
];

/// Rooms that know nothing of circuits, whatever stands above them.
const PLAIN: [(&str, &str); 3] =
    [("electric", "circuit"), ("plan", "circuit"), ("belief", "circuit")];

fn files(folder: &Path, found: &mut Vec<std::path::PathBuf>) {
    for entry in fs::read_dir(folder).unwrap().flatten() {
        let path = entry.path();
        if path.is_dir() {
            files(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
}

fn rank(room: &str) -> usize {
    ROOMS.iter().position(|one| *one == room).unwrap_or_else(|| panic!("no room `{room}`"))
}

/// Rooms named behind `crate::` in a file.
fn imports(text: &str) -> Vec<String> {
    let is_name = |letter: char| letter.is_ascii_lowercase() || letter == '_';
    text.split("crate::")
        .skip(1)
        .map(|rest| rest.chars().take_while(|letter| is_name(*letter)).collect::<String>())
        .filter(|name| ROOMS.contains(&name.as_str()))
        .collect()
}

#[test]
fn rooms_import_only_rooms_above_them() {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut all = Vec::new();
    files(&source, &mut all);
    assert!(all.len() > 50, "the rooms were not found");
    for path in all {
        let within = path.strip_prefix(&source).unwrap();
        let room = within.components().next().unwrap().as_os_str().to_str().unwrap();
        if !ROOMS.contains(&room) {
            assert!(["lib.rs", "main.rs"].contains(&room), "`{room}` is no room");
            continue;
        }
        for import in imports(&fs::read_to_string(&path).unwrap()) {
            assert!(rank(&import) <= rank(room), "{} imports `{import}`", within.display());
            assert!(
                !PLAIN.contains(&(room, import.as_str())),
                "{} may not know `{import}`",
                within.display()
            );
        }
    }
}

/// The text of a file without its comments, its tests and what it hands on.
fn own_text(text: &str) -> String {
    let text = text.split("#[cfg(test)]\nmod tests").next().unwrap_or_default();
    let lines = text.lines().map(|line| line.split("//").next().unwrap_or_default());
    let mut own = String::new();
    let mut hands_on = false;
    for line in lines {
        hands_on |= line.trim_start().starts_with("pub use ");
        if !hands_on {
            own.push_str(line);
            own.push(' ');
        }
        hands_on &= !line.contains(';');
    }
    own.replace("in crate", "")
}

/// The paths that begin at the start of `text`, `a::{b, c::d}` being two; and how long that is.
fn paths(text: &str, before: &[String], found: &mut Vec<Vec<String>>) -> usize {
    let mut path = before.to_vec();
    let mut at = 0;
    loop {
        let rest = &text[at..];
        let word: String =
            rest.chars().take_while(|one| one.is_ascii_alphanumeric() || *one == '_').collect();
        at += word.len();
        if !word.is_empty() {
            path.push(word);
        } else if rest.starts_with('{') {
            at += 1;
            while at < text.len() && !text[at..].starts_with('}') {
                let inner = paths(&text[at..], &path, found);
                at += inner.max(1);
            }
            return at + 1;
        }
        if !text[at..].starts_with("::") {
            break;
        }
        at += 2;
    }
    if path.len() > before.len() {
        found.push(path);
    }
    at
}

/// Modules of the crate that a file names, by its own path and text.
fn named(module: &[String], text: &str, known: &BTreeSet<Vec<String>>) -> BTreeSet<Vec<String>> {
    let text = own_text(text);
    let mut found = Vec::new();
    for (at, _) in text.match_indices(|one: char| one.is_ascii_lowercase()) {
        let begins = at == 0
            || !text[..at].ends_with(|one: char| one.is_alphanumeric() || "_:".contains(one));
        let after_use = text[..at].ends_with("use ");
        let rooted =
            ["crate::", "super::", "self::"].iter().any(|root| text[at..].starts_with(root));
        if begins && (rooted || after_use) {
            paths(&text[at..], &[], &mut found);
        }
    }
    let inside = |path: Vec<String>| -> Option<Vec<String>> {
        let ups = path.iter().take_while(|word| *word == "super").count();
        let mut full = match path[0].as_str() {
            "crate" => path[1..].to_vec(),
            "self" => [module, &path[1..]].concat(),
            "super" => [&module[..module.len().checked_sub(ups)?], &path[ups..]].concat(),
            _ => [module, &path[..]].concat(),
        };
        while !full.is_empty() && !known.contains(&full) {
            full.pop();
        }
        (!full.is_empty() && full != module).then_some(full)
    };
    found.into_iter().filter_map(inside).collect()
}

#[test]
fn paths_in_braces_are_paths_of_their_own() {
    let mut found = Vec::new();
    paths("super::{a::B, c::{D, e}}; more", &[], &mut found);
    let found: Vec<String> = found.iter().map(|path| path.join("::")).collect();
    assert_eq!(found, ["super::a::B", "super::c::D", "super::c::e"]);
}

#[test]
fn no_files_import_each_other_in_a_circle() {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut all = Vec::new();
    files(&source, &mut all);
    let module = |path: &Path| -> Vec<String> {
        let within = path.strip_prefix(&source).unwrap().with_extension("");
        let words = within.iter().map(|word| word.to_str().unwrap().to_owned());
        words.filter(|word| word != "mod").collect()
    };
    let texts: BTreeMap<Vec<String>, String> =
        all.iter().map(|path| (module(path), fs::read_to_string(path).unwrap())).collect();
    let known: BTreeSet<Vec<String>> = texts.keys().cloned().collect();
    let mut left: BTreeMap<&Vec<String>, BTreeSet<Vec<String>>> =
        texts.iter().map(|(module, text)| (module, named(module, text, &known))).collect();
    assert!(left.values().map(BTreeSet::len).sum::<usize>() > 1000, "the imports were not found");
    // What imports nothing that is left is in no circle, nor is what nothing left imports.
    loop {
        let is_done = |(module, imports): &(&&Vec<String>, &BTreeSet<Vec<String>>)| {
            let leads_on = imports.iter().any(|one| left.contains_key(one));
            !leads_on || !left.values().any(|imports| imports.contains(**module))
        };
        let done: Vec<&Vec<String>> =
            left.iter().filter(is_done).map(|(module, _)| *module).collect();
        if done.is_empty() {
            break;
        }
        for module in done {
            left.remove(module);
        }
    }
    let circle: Vec<String> = left.keys().map(|module| module.join("::")).collect();
    assert!(circle.is_empty(), "in circles, or between two: {circle:?}");
}

#[test]
fn every_test_file_is_listed() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/it");
    let main = fs::read_to_string(folder.join("main.rs")).unwrap();
    for entry in fs::read_dir(&folder).unwrap().flatten() {
        let name = entry.file_name().into_string().unwrap();
        if let Some(module) = name.strip_suffix(".rs")
            && module != "main"
        {
            assert!(main.contains(&format!("mod {module};")), "{name} is not in main.rs");
        }
    }
}
