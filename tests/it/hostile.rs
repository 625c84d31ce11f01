//! No text from a file moves a cursor, hides, turns or becomes markup, whichever command prints it.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use crate::terminal::pty::folder;

/// What names try: terminal commands of either kind, writing from right to left, hidden letters, markup of pages,
/// drawings, lists and sheets. Each within quotes of YAML.
const TRICKS: [&str; 8] = [
    "\\e[31mred\\e[2J",
    "\\e]52;c;cGFzdGU=\\a",
    "\\x9b31mred\\x90q\\x9c",
    "\\u202Egnp\\u2066exe",
    "o\\u200bu\\u00adt\\uFEFF\\U000E0041",
    "</title></text><script>alert(1)</script>",
    "\\\" onload=alert(2) x='",
    "]](http://evil) <!-- --> `x` | =1+1",
];

/// A small circuit in which every name has the trick in it.
fn circuit(trick: &str) -> String {
    let name = |plain: &str| format!("\"{plain} {trick}\"");
    let (bench, lamp, toggle) = (name("bench"), name("lamp"), name("toggle"));
    let end = |plain: &str, terminal: &str| format!("\"{plain} {trick}.{terminal}\"");
    format!(
        "format: 1\nname: {circuit}\nmachine: {machine}\nsystem: 12 V\nnotes: [{note}]\n\
         controls:\n  {toggle}: {{ positions: [off, {on}] }}\n\
         places:\n  {bench}: 1 min\n\
         parts:\n  battery: {{ kind: battery, at: {bench} }}\n\
         \x20 {toggle}: {{ kind: switch, control: {toggle}, closed: {on}, at: {bench}, note: {note} }}\n\
         \x20 {lamp}: {{ kind: lamp, watts: 21 W, at: {bench}, trouble: 3 }}\n\
         \x20 {ground}: {{ kind: ground point, at: {bench} }}\n\
         connectors:\n  {joint}: {{ at: {bench}, type: bullet, halves: [loom side, {half}] }}\n\
         wires:\n  - {{ from: battery.+, to: {toggle_in}, colour: RD }}\n\
         \x20 - {{ from: {toggle_out}, to: {joint_loom}, colour: BN }}\n\
         \x20 - {{ from: {joint_half}, to: {lamp_plus}, colour: BN }}\n\
         \x20 - {{ from: {lamp_minus}, to: {ground}, colour: BK }}\n\
         \x20 - {{ name: {strap}, from: battery.-, to: {ground}, colour: BK, size: 10 mm2 }}\n\
         works:\n  {works}: {{ when: {{ {toggle}: {on} }}, see: {sees} }}\n",
        circuit = name("Circuit"),
        machine = name("Machine"),
        note = name("Note"),
        on = name("on"),
        ground = name("ground"),
        joint = name("joint"),
        half = name("half"),
        strap = name("strap"),
        works = name("lights"),
        sees = format_args!("\"lamp {trick} lit\""),
        toggle_in = end("toggle", "in"),
        toggle_out = end("toggle", "out"),
        joint_loom = end("joint", "loom side"),
        joint_half = format_args!("\"joint {trick}.half {trick}\""),
        lamp_plus = end("lamp", "+"),
        lamp_minus = end("lamp", "-"),
    )
}

/// Nothing in a text runs, hides or turns.
#[track_caller]
pub fn harmless(text: &str) {
    for letter in text.chars() {
        let hidden = matches!(letter, '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{e0000}'..='\u{e0fff}');
        assert!(!hidden && (letter == '\n' || !letter.is_control()), "{letter:?} in {text}");
    }
}

/// Of the elements of a page or drawing none runs or loads anything.
#[track_caller]
fn harmless_markup(text: &str) {
    harmless(text);
    let small = text.to_lowercase();
    for element in ["<script", "<img", "<iframe", "<object", "<embed", "<link", "<base", "<form"] {
        assert!(!small.contains(element), "{element} in {text}");
    }
    for tag in small.split('<').skip(1) {
        let (tag, _) = tag.split_once('>').unwrap_or((tag, ""));
        // What stands between quotes is a value; an odd quote would let it out.
        let names: String = tag.split('"').step_by(2).collect();
        assert!(!names.contains(" on") && !names.contains('\''), "<{tag}>");
        assert_eq!(tag.matches('"').count() % 2, 0, "<{tag}>");
    }
}

struct Shop {
    home: PathBuf,
}

impl Shop {
    fn run(&self, words: &[&str], typed: &str) -> Output {
        let mut command = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
        command.env_clear().env("HOME", &self.home).current_dir(&self.home).args(words);
        let mut child = command
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        // A program that has no use for what is typed closes the pipe.
        let _unread = child.stdin.take().unwrap().write_all(typed.as_bytes());
        child.wait_with_output().unwrap()
    }

    /// Both streams are harmless, and nothing broke; gives what was printed.
    #[track_caller]
    fn clean(&self, words: &[&str], typed: &str) -> String {
        let output = self.run(words, typed);
        let said = String::from_utf8(output.stderr).unwrap();
        harmless(&said);
        assert!(matches!(output.status.code(), Some(0 | 1)), "{words:?}: {said}");
        assert!(!said.contains("panicked"), "{words:?}: {said}");
        let printed = String::from_utf8(output.stdout).unwrap();
        harmless(&printed);
        printed
    }

    #[track_caller]
    fn clean_markup(&self, words: &[&str]) {
        let printed = self.clean(words, "");
        assert!(printed.contains("made by halfsplit"), "{words:?}: {printed}");
        harmless_markup(&printed);
    }
}

/// One line of a score file by somebody with this name.
fn score(trick: &str) -> String {
    let name: String = serde_yaml_text(trick);
    let line: serde_json::Value =
        serde_json::from_str(include_str!("../data/fuzz/scores/ann.drills").trim()).unwrap();
    let mut line = line;
    for key in ["learner", "circuit", "complaint", "ended"] {
        line[key] = format!("=x {name}").into();
    }
    line["parts"] = serde_json::json!([name]);
    format!("{line}\n")
}

/// A text as it stands within the quotes of YAML, read.
fn serde_yaml_text(quoted: &str) -> String {
    let tree = halfsplit::circuit::document::read(&format!("a: \"{quoted}\"\n")).unwrap();
    let halfsplit::circuit::document::Node::Map(entries) = tree.node else { panic!() };
    let halfsplit::circuit::document::Node::Scalar(text) = &entries[0].value.node else { panic!() };
    text.clone()
}

fn shop(number: usize, trick: &str) -> Shop {
    let home = folder(&format!("hostile-{number}"));
    std::fs::write(home.join("c.yaml"), circuit(trick)).unwrap();
    let settings = home.join(".config/halfsplit");
    std::fs::create_dir_all(&settings).unwrap();
    let text = format!("\"{trick}\": x\nlook: \"{trick}\"\nkit: [\"{trick}\"]\n");
    std::fs::write(settings.join("settings.yaml"), text).unwrap();
    std::fs::create_dir(home.join("class")).unwrap();
    std::fs::write(home.join("class/x.drills"), score(trick)).unwrap();
    let sheet = format!(
        "sequence: 1\nname: \"{trick}\"\nsource: \"{trick}\"\ncircuit: c\nnote: \"{trick}\"\nsteps:\n\
         \x20 - {{ step: \"{trick}\", says: \"{trick}\", test: \"{trick}\", if_bad: {{ fix: \"{trick}\" }} }}\n"
    );
    std::fs::write(home.join("sheet.yaml"), sheet).unwrap();
    Shop { home }
}

#[test]
fn no_command_passes_on_what_a_name_tries() {
    std::thread::scope(|scope| {
        for (number, trick) in TRICKS.iter().enumerate() {
            scope.spawn(move || every_command(&shop(number, trick), trick));
        }
    });
}

fn every_command(shop: &Shop, trick: &str) {
    let checked = shop.clean(&["check", "c.yaml", "--apart"], "");
    assert!(!checked.contains("error"), "the circuit is sound: {checked}");
    shop.clean(&["check", "c.yaml", "sheet.yaml", "--json"], "");
    shop.clean(&["next", "c.yaml"], "");
    shop.clean(&["next", "c.yaml", "--json"], "");
    for format in ["text", "markdown"] {
        shop.clean(&["expect", "c.yaml", "--all", "--format", format], "");
        shop.clean(&["tree", "c.yaml", "--format", format], "");
    }
    shop.clean(&["expect", "c.yaml", "--json"], "");
    shop.clean(&["tree", "c.yaml", "--json"], "");
    shop.clean_markup(&["expect", "c.yaml", "--format", "html"]);
    shop.clean_markup(&["tree", "c.yaml", "--format", "html"]);
    shop.clean_markup(&["tree", "c.yaml", "--format", "svg"]);
    shop.clean(&["draw", "c.yaml"], "");
    shop.clean_markup(&["draw", "c.yaml", "--format", "svg"]);
    shop.clean(&["trial", "c.yaml", "--sequence", "sheet.yaml"], "");
    shop.clean(&["config"], "");
    shop.clean(&["config", "--json"], "");
    let said = serde_yaml_text(trick);
    let typed = format!("12.5\nn {said}\n{said}\nwhy\ntests\n{said}\nparts\nundo\n0.0\n?\n");
    shop.clean(&["find", "c.yaml", "--straight", "--plain", "--job", "a.job"], &typed);
    shop.clean(&["find", "c.yaml", "--plain", "--job", "b.job"], &format!("{said}\n\n\n\n\n\n"));
    jobs_and_scores(shop, &said);
}

fn jobs_and_scores(shop: &Shop, said: &str) {
    for format in ["text", "markdown"] {
        shop.clean(&["card", "a.job", "--format", format], "");
    }
    shop.clean(&["card", "a.job", "--json"], "");
    shop.clean_markup(&["card", "a.job", "--format", "html"]);
    shop.clean(&["learn", "a.job", "--history", "h"], "");
    for format in ["text", "csv", "csv-drills"] {
        shop.clean(&["class", "class", "--format", format], "");
    }
    shop.clean(&["class", "class", "--json"], "");
    shop.clean_markup(&["class", "class", "--format", "html"]);
    let orders = format!("try\nhint\n{said}\nlamp plus lamp\nopen {said}\ngive up\nyes\n");
    let drill = ["drill", "c.yaml", "--seed", "1", "--learner", said, "--record", "class"];
    shop.clean(&drill, &orders);
    shop.clean(&["drill", "c.yaml", "--sheet", "2", "--format", "markdown"], "");
    shop.clean_markup(&["drill", "c.yaml", "--sheet", "2", "--format", "html"]);
    // What was typed is told as it was typed, without its tricks.
    for words in [
        &["next", "c.yaml", "--reading", said] as &[&str],
        &["find", said, "--plain"],
        &["draw", "c.yaml", "--fault", said],
        &["card", said],
        &["learn", said],
        &["new", "--name", said],
    ] {
        let output = shop.run(words, "");
        harmless(&String::from_utf8(output.stderr).unwrap());
        harmless(&String::from_utf8(output.stdout).unwrap());
    }
    assert!(!Path::new(&shop.home).join("evil").exists());
}
