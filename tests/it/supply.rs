//! What comes with the program: from where, what for, by what compiler.

use std::path::{Path, PathBuf};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn text(path: &str) -> String {
    std::fs::read_to_string(root().join(path)).unwrap()
}

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap().flatten() {
        let path = entry.path();
        // The fuzz targets have packages of their own.
        if path.is_dir() && !path.ends_with("tests/fuzz") {
            sources(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
}

/// The names in a section of `Cargo.toml`.
fn named(section: &str) -> Vec<String> {
    let manifest = text("Cargo.toml");
    let lines = manifest.lines().skip_while(|line| *line != section).skip(1);
    let lines = lines.take_while(|line| !line.starts_with('['));
    let names = lines.filter_map(|line| line.split_once(" =")).map(|(name, _)| name.to_owned());
    names.collect()
}

#[test]
fn every_package_comes_from_the_registry_and_is_the_one_that_was_looked_at() {
    let lock = text("Cargo.lock");
    let packages: Vec<&str> = lock.split("[[package]]").skip(1).collect();
    assert!(packages.len() > 20);
    for package in packages {
        if package.contains("name = \"halfsplit\"") {
            continue;
        }
        let registry = "source = \"registry+https://github.com/rust-lang/crates.io-index\"";
        assert!(package.contains(registry) && package.contains("checksum = \""), "{package}");
    }
}

#[test]
fn every_dependency_is_used() {
    let used = |folders: &[&str], name: &str| {
        let mut files = Vec::new();
        for folder in folders {
            sources(&root().join(folder), &mut files);
        }
        let module = name.replace('-', "_");
        let ways = [format!("{module}::"), format!("use {module};"), format!("{module}!")];
        files.iter().any(|file| {
            let text = std::fs::read_to_string(file).unwrap();
            ways.iter().any(|way| text.contains(way.as_str()))
        })
    };
    let (shipped, tested) = (named("[dependencies]"), named("[dev-dependencies]"));
    assert!(shipped.len() > 10 && tested.len() > 3);
    for name in shipped {
        assert!(used(&["src"], &name), "`{name}` is not used");
    }
    for name in tested {
        assert!(used(&["src", "tests", "benches", "examples"], &name), "`{name}` is not used");
    }
}

#[test]
fn nothing_runs_while_it_is_built_and_nothing_is_unsafe() {
    assert!(!root().join("build.rs").exists());
    let manifest = text("Cargo.toml");
    assert!(!manifest.contains("build =") && !manifest.contains("[build-dependencies]"));
    assert!(manifest.contains("unsafe_code = \"forbid\""));
    let readme = text("README.md");
    let stated = manifest.lines().find_map(|line| line.strip_prefix("rust-version = ")).unwrap();
    assert!(readme.contains(&format!("Rust {} or later", stated.trim_matches('"'))), "{stated}");
}
