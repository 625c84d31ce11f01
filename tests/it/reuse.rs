//! Circuits put together from several files: pieces, own kinds of parts, overlays.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use std::fs;
use std::process::{Command, Output};

use halfsplit::circuit::read::{Reading, read_files, read_text};
use halfsplit::circuit::reuse::shelf::{NoShelf, Shelf, Unreachable};
use halfsplit::circuit::reuse::{MOST_FILES, MOST_NESTED};
use halfsplit::circuit::{Circuit, Kind, builtin, catalogue};
use halfsplit::problem::{Picture, Severity, Source, one_line, picture};
use halfsplit::suspect::Lineup;

use crate::terminal::pty::{Pty, folder};

/// Files by path.
pub struct Memory(pub BTreeMap<String, String>);

impl Shelf for Memory {
    fn text(&self, _: &str, path: &str) -> Result<String, Unreachable> {
        let missing = || Unreachable::Missing { path: path.to_owned() };
        self.0.get(path).cloned().ok_or_else(missing)
    }

    fn names(&self, folder: &str) -> Vec<String> {
        let below = if folder.is_empty() { String::new() } else { format!("{folder}/") };
        let names = self.0.keys().filter_map(|path| path.strip_prefix(&below));
        names.filter(|name| !name.contains('/')).map(str::to_owned).collect()
    }
}

/// The files of a case, each behind a line `=== NAME`; the first is asked for.
fn files(text: &str) -> (String, Memory) {
    let pieces: Vec<(String, String)> = text
        .split("=== ")
        .filter(|piece| !piece.is_empty())
        .filter_map(|piece| piece.split_once('\n'))
        .map(|(name, text)| (name.trim().to_owned(), text.to_owned()))
        .collect();
    (pieces[0].0.clone(), Memory(pieces.into_iter().collect()))
}

fn read(name: &str, shelf: &Memory) -> Reading {
    read_files(name, &shelf.0[name], shelf)
}

/// Problems as pictures, then the parts, one a line.
fn told(reading: &Reading) -> String {
    let sources: Vec<Source> = reading.texts.iter().map(|text| text.source()).collect();
    let mut told = String::new();
    for problem in &reading.problems {
        assert!(problem.help.is_some(), "no way out: {}", one_line(problem, &sources));
        writeln!(told, "{}\n", picture(problem, &sources, Picture::default())).unwrap();
    }
    if let Some((circuit, _)) = &reading.found {
        told.push_str(&listing(circuit));
    }
    told
}

fn listing(circuit: &Circuit) -> String {
    let Circuit { id, name, machine, notes, .. } = circuit;
    let mut text = format!("{id}: {name}; {machine}; {notes:?}\n");
    for place in &circuit.places {
        writeln!(text, "place {} {}", place.id, place.open_minutes).unwrap();
    }
    for id in circuit.part_ids() {
        let part = circuit.part(id);
        let minutes = (part.trouble, part.fix_minutes, &part.faults);
        writeln!(
            text,
            "{} ({:?}) at {} {minutes:?}",
            part.id,
            part.kind,
            circuit.place(part.place).name
        )
        .unwrap();
        for link in circuit.links_of(id) {
            let (first, second) = circuit.ends(*link);
            let (first, second) = (&circuit.terminal(first).id, &circuit.terminal(second).id);
            writeln!(text, "  {first} -> {second} {:?}", circuit.link(*link).element).unwrap();
        }
    }
    for work in &circuit.works {
        writeln!(text, "{work:?}").unwrap();
    }
    text
}

#[test]
fn files_that_name_others() {
    insta::glob!("../data/reuse", "*.txt", |path| {
        let (name, shelf) = files(&fs::read_to_string(path).unwrap());
        let reading = read(&name, &shelf);
        let errors = reading.problems.iter().any(|problem| problem.severity == Severity::Error);
        assert_eq!(reading.found.is_none(), errors);
        insta::with_settings!({
            omit_expression => true,
            prepend_module_to_snapshot => false,
            snapshot_path => "snapshots/reuse",
        }, { insta::assert_snapshot!(told(&reading)) });
        // A job holds the circuit in one text: it gives the same circuit without the other files.
        if let Some((circuit, _)) = reading.found {
            let again = read_files(&name, &circuit.source, &NoShelf);
            let (again, _) = again.found.unwrap_or_else(|| panic!("{:?}", again.problems));
            assert_eq!(listing(&again), listing(&circuit), "{}", circuit.source);
            assert_eq!(again.source, circuit.source);
        }
    });
}

#[test]
fn an_overlay_that_only_names_its_base_is_the_base() {
    for name in builtin::names() {
        let (base, _) = read_text(name, builtin::text(name).unwrap());
        let overlay = format!("format: 1\nbase: {name}\n");
        let (same, problems) = read_text(name, &overlay);
        assert_eq!(problems, [], "{name}");
        assert_eq!(listing(&same.unwrap()), listing(&base.unwrap()));
    }
}

#[test]
fn what_is_put_together_is_bounded() {
    let piece = |next: usize| format!("format: 1\ninclude: p{next}.yaml\n");
    let chain = (0..20).map(|at| (format!("p{at}.yaml"), piece(at + 1))).collect();
    let reading = read("p0.yaml", &Memory(chain));
    assert_eq!(reading.texts.len(), MOST_NESTED);
    assert!(
        reading.problems.iter().any(|one| one.id == "too-many-files"),
        "{:?}",
        reading.problems
    );

    let names: Vec<String> = (0..99).map(|at| format!("p{at}.yaml")).collect();
    let mut many: BTreeMap<String, String> =
        names.iter().map(|name| (name.clone(), "format: 1\n".to_owned())).collect();
    let main = format!("format: 1\nname: x\ninclude: [{}]\n", names.join(", "));
    many.insert("main.yaml".to_owned(), main);
    let reading = read("main.yaml", &Memory(many));
    assert_eq!(reading.texts.len(), MOST_FILES);

    let long = format!("format: 1\n# {}\n", "x".repeat(600_000));
    let two = [("a.yaml", long.clone()), ("b.yaml", long)];
    let mut two: BTreeMap<String, String> =
        two.into_iter().map(|(name, text)| (name.to_owned(), text)).collect();
    two.insert(
        "main.yaml".to_owned(),
        "format: 1\nname: x\ninclude: [a.yaml, b.yaml]\n".to_owned(),
    );
    let reading = read("main.yaml", &Memory(two));
    assert!(reading.problems.iter().any(|one| one.id == "too-long"), "{:?}", reading.problems);
}

#[test]
fn a_make_has_weights_names_and_repairs_of_its_own() {
    let (name, shelf) = files(&fs::read_to_string("tests/data/reuse/own-kinds.txt").unwrap());
    let (own, _) = read(&name, &shelf).found.unwrap();
    let plain = own.source.replace("contact: 3, \"contact-welded\": 0.5", "contact: 1");
    assert_ne!(plain, own.source, "{plain}");
    let (plain, problems) = read_text("plain", &plain);
    let (own, plain) =
        (Lineup::of(&own), Lineup::of(&plain.unwrap_or_else(|| panic!("{problems:?}"))));
    let ratio = |id: &str| {
        let weight = |lineup: &Lineup| lineup.suspects[lineup.find(id).unwrap().index()].weight;
        weight(&own) / weight(&plain)
    };
    for (id, expected) in [
        ("big.contact-open", 3.0),
        ("big.contact-high-0.3", 3.0),
        ("big.contact-welded", 0.5),
        ("big.coil-open", 1.0),
        ("lamp.open", 1.0),
    ] {
        assert!((ratio(id) - expected).abs() < 1e-9, "{id}: {}", ratio(id));
    }
    let fix = own.fixes.iter().find(|fix| fix.id == "replace-big").unwrap();
    assert_eq!((fix.title.as_str(), fix.minutes), ("Replace the big (order no. 47)", 30.0));
}

/// The list of faults that files can weigh is that of the faults there are.
#[test]
fn the_faults_of_each_kind_are_those_it_can_have() {
    let every = fs::read_to_string("tests/data/every-kind.yaml").unwrap();
    let built_in = builtin::names().into_iter().map(|name| builtin::text(name).unwrap().to_owned());
    let mut met: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    let body = fs::read_to_string("tests/data/body-grounds.yaml").unwrap();
    for text in built_in.chain([every, body]) {
        let value: serde_json::Value = serde_yaml::from_str(&text).unwrap();
        let circuit = read_text("x", &text).0.unwrap();
        for suspect in &Lineup::of(&circuit).suspects {
            let Some(part) = suspect.part.map(|part| circuit.part(part)) else { continue };
            let Some(kind) = value["parts"][&part.name]["kind"].as_str() else { continue };
            let mode = suspect.id.split_once('.').unwrap().1;
            let fault = catalogue::faults::plain(mode, part.kind == Kind::ControlBox);
            met.entry(kind.to_owned()).or_default().insert(fault);
        }
    }
    for entry in catalogue::ENTRIES {
        let known: BTreeSet<String> =
            catalogue::faults::of(entry.word).iter().map(|fault| (*fault).to_owned()).collect();
        let met = met.remove(entry.word).unwrap_or_default();
        assert_eq!(met, known, "{}", entry.word);
    }
}

fn run(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_halfsplit"))
        .args(args)
        .env("HOME", folder("reuse-home"))
        .output()
        .unwrap()
}

#[test]
fn commands_work_on_circuits_of_several_files() {
    let shop = "examples/shop";
    for name in ["horn.yaml", "work-lamp.yaml", "horn-cart-3.yaml"] {
        let path = format!("{shop}/{name}");
        let checked = run(&["check", &path]);
        assert_eq!(String::from_utf8_lossy(&checked.stdout), format!("{path}: nothing to mend\n"));
        assert!(run(&["draw", &path]).status.success());
    }
    let overlay = "examples/shop/horn-cart-3.yaml";
    let next = run(&["next", overlay, "--json"]);
    assert!(next.status.success(), "{}", String::from_utf8_lossy(&next.stderr));
    let next: serde_json::Value = serde_json::from_slice(&next.stdout).unwrap();
    let suspects = next["suspects"].as_array().unwrap();
    assert!(suspects.iter().any(|one| one["id"] == "second-horn.open"));
    assert!(!suspects.iter().any(|one| one["id"].as_str().unwrap().starts_with("c1.")));
}

/// A job on a circuit of several files goes on where those files are not.
#[test]
fn a_job_holds_the_whole_circuit() {
    let home = folder("reuse-job");
    for (name, text) in [("pieces.yaml", PIECES), ("lamp.yaml", LAMP), ("mine.yaml", MINE)] {
        fs::write(home.join(name), text).unwrap();
    }
    let mut pty =
        Pty::start(&["find", "mine.yaml", "--straight", "--job", "mine.job"], (80, 24), &home);
    pty.wait_for("PRESS");
    pty.keys("q");
    pty.wait_for("q again leaves");
    pty.keys("q");
    let (status, _) = pty.wait_for_end();
    assert!(status.success());
    for name in ["pieces.yaml", "lamp.yaml", "mine.yaml"] {
        fs::remove_file(home.join(name)).unwrap();
    }
    let text = fs::read_to_string(home.join("mine.job")).unwrap();
    let header: serde_json::Value = serde_json::from_str(text.lines().next().unwrap()).unwrap();
    let (circuit, problems) = read_text("mine", header["text"].as_str().unwrap());
    assert_eq!(problems, []);
    assert_eq!(circuit.unwrap().source, header["text"].as_str().unwrap());
    let mut pty = Pty::start(&["find", "--resume", "mine.job"], (80, 24), &home);
    pty.wait_for("PRESS");
    pty.keys("q");
    pty.wait_for("q again leaves");
    pty.keys("q");
    pty.wait_for_end();
    let card = run(&["card", home.join("mine.job").to_str().unwrap()]);
    assert!(card.status.success(), "{}", String::from_utf8_lossy(&card.stderr));
    assert!(String::from_utf8_lossy(&card.stdout).contains("Lamp of number 2"));
}

const PIECES: &str = "format: 1
places: { box: 1 min }
kinds: { yard lamp: { like: lamp, ground: body, stamped: { +: L }, fix_note: shelf 2 } }
parts:
  battery: { kind: battery, at: box }
  fuse: { kind: fuse, at: box }
  ground: { kind: ground point, at: box }
wires:
  - { from: battery.+, to: fuse.in }
  - { from: battery.-, to: ground }
";
const LAMP: &str = "format: 1
include: pieces.yaml
name: Lamp
system: 12 V
parts: { lamp: { kind: yard lamp, at: box } }
wires: [{ from: fuse.out, to: lamp.L }]
works: { lights: { see: lamp lit } }
";
const MINE: &str = "format: 1
base: lamp.yaml
name: Lamp of number 2
change: { parts: { lamp: { watts: 10 W } } }
";

#[cfg(unix)]
#[test]
fn no_file_outside_the_folder_is_read() {
    let home = folder("reuse-outside");
    let inside = home.join("inside");
    fs::create_dir_all(inside.join("below")).unwrap();
    fs::write(home.join("secret.yaml"), "format: 1\nnotes: secret words\n").unwrap();
    std::os::unix::fs::symlink(home.join("secret.yaml"), inside.join("link.yaml")).unwrap();
    std::os::unix::fs::symlink(&inside, inside.join("again")).unwrap();
    fs::write(inside.join("bytes.yaml"), [0xff, 0xfe, 0x00]).unwrap();
    fs::write(inside.join("good.yaml"), "format: 1\nnotes: fine\n").unwrap();
    let main = inside.join("main.yaml");
    for (named, said) in [
        ("link.yaml", "leads out of the folder"),
        ("below", "is no plain file"),
        ("bytes.yaml", "is not text in UTF-8"),
        ("../secret.yaml", "is not within the folder"),
        ("gone.yaml", "there is no file"),
        ("/dev/zero", "is not within the folder"),
        ("again/again/main.yaml", "not put together"),
    ] {
        fs::write(&main, format!("format: 1\nname: x\nsystem: 12 V\ninclude: {named}\n")).unwrap();
        let output = run(&["check", main.to_str().unwrap(), "--json"]);
        let text = String::from_utf8(output.stdout).unwrap();
        assert_eq!(output.status.code(), Some(1));
        let wanted = if named.starts_with("again") { "does not belong" } else { said };
        assert!(text.contains(wanted), "{named}: {text}");
        assert!(!text.contains("secret words"));
    }
}
