//! The wall between the rooms: each imports only rooms above it.

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
