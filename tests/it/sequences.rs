//! Printed orders of checks: read, played, and the published ones on the circuits they fit.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use halfsplit::circuit::{builtin, read};
use halfsplit::job::study::Study;
use halfsplit::problem::{Source, one_line};
use halfsplit::tester::Instrument;
use halfsplit::trial::play::Play;
use halfsplit::trial::sequence::read::read_text;
use halfsplit::trial::sequence::{Sequence, outcomes};
use halfsplit::trial::{Outcome, cured_share};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/sequences")
}

fn study(name: &str, text: &str) -> Study {
    let circuit = read::read_text(name, text).0.expect("a sound circuit");
    Study::new(&Arc::new(circuit), &[Instrument::Lamp, Instrument::Meter], 0).expect("a study")
}

fn lamp() -> Study {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/screens/lamp.yaml");
    study("lamp.yaml", &fs::read_to_string(path).unwrap())
}

fn lamp_sheet() -> (Study, Sequence) {
    let study = lamp();
    let text = fs::read_to_string(folder().join("lamp/sheet.yaml")).unwrap();
    let sequence = read_text(&study, &text).expect("a sound sheet");
    (study, sequence)
}

fn play(study: &Study, all: &[Outcome], suspect: &str) -> Play {
    let of = |one: &&Outcome| study.lineup().suspects[one.suspect.index()].id == suspect;
    all.iter().find(of).unwrap_or_else(|| panic!("{suspect} is no case")).play.clone()
}

#[track_caller]
fn ends(play: &Play, expected: &[(&str, &str)], cured: bool) {
    let steps: Vec<(&str, &str)> =
        play.steps.iter().map(|(what, seen)| (what.as_str(), seen.as_str())).collect();
    assert_eq!(steps, expected);
    assert_eq!(play.cured, cured);
}

#[test]
fn a_sheet_is_played_to_its_end_as_it_stands() {
    let (study, sequence) = lamp_sheet();
    let all = outcomes(&study, &sequence);
    ends(
        &play(&study, &all, "work-lamp.open"),
        &[("1", "good"), ("replace-work-lamp", "cured")],
        true,
    );
    ends(
        &play(&study, &all, "toggle-switch.open"),
        &[("1", "bad"), ("2", "bad"), ("mend-toggle-switch", "cured")],
        true,
    );
    // The lead to the switch is on no line of the sheet.
    let lost = play(&study, &all, "battery--toggle-switch.open");
    ends(&lost, &[("1", "bad"), ("2", "good"), ("3", "good")], false);
    assert_eq!((lost.tests, lost.wrong_fixes), (3, 0));
    // 0.5 for the volts and 0.1 for the toggle; 3 to go over the switch; 0.5 again, the toggle back before it.
    let toggle = study.circuit().controls[0].minutes;
    let by_hand = (toggle + 0.5) + (toggle + 3.0) + 0.5;
    assert!((lost.minutes - by_hand).abs() < 1e-9, "{} {by_hand}", lost.minutes);
    // A repair in vain is counted, and the sheet ends behind it.
    let ground = play(&study, &all, "work-lamp--frame-ground.open");
    ends(&ground, &[("1", "good"), ("replace-work-lamp", "not-cured")], false);
    assert_eq!(ground.wrong_fixes, 1);
}

#[test]
fn what_is_wrong_with_a_sheet_is_said_at_once() {
    let text = fs::read_to_string(folder().join("lamp/broken.yaml")).unwrap();
    let problems = read_text(&lamp(), &text).expect_err("a broken sheet");
    let source = Source { name: "broken.yaml", text: &text };
    let lines: Vec<String> = problems.iter().map(|one| one_line(one, &[source])).collect();
    insta::assert_snapshot!(lines.join("\n"));
    for text in ["", "sequence: 2\nname: x\nsteps: []", "sequence: 1\nsteps: 3", "[]", "a: b"] {
        assert!(read_text(&lamp(), text).is_err(), "{text}");
    }
}

#[test]
fn published_sequences_find_some_suspects_and_miss_some() {
    let told = fs::read_to_string(folder().join("README.md")).unwrap();
    let mut played = 0;
    for entry in fs::read_dir(folder()).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|ending| ending != "yaml") {
            continue;
        }
        let text = fs::read_to_string(&path).unwrap();
        let circuit = text.lines().find_map(|line| line.strip_prefix("circuit: ")).unwrap();
        let study = study(circuit, builtin::text(circuit).unwrap());
        let sequence = read_text(&study, &text).unwrap_or_else(|problems| {
            panic!("{}: {problems:?}", path.display());
        });
        assert!(!sequence.source.is_empty(), "{} names no source", path.display());
        let all = outcomes(&study, &sequence);
        let share = cured_share(&all);
        assert!((0.05..0.95).contains(&share), "{}: finds {share}", path.display());
        let name = path.file_stem().unwrap().to_str().unwrap();
        let row = told.lines().find(|line| line.starts_with(&format!("| {name}, "))).unwrap();
        let finds = row.split(" | ").nth(2).unwrap();
        assert_eq!(finds, format!("{:.0} %", share * 100.0), "{name}, as the README tells");
        // What is found costs its repair at least, and no play is without a step.
        for one in &all {
            assert!(one.play.minutes > 0.0 && !one.play.steps.is_empty());
            assert!(one.play.tests <= sequence.steps.len());
        }
        played += 1;
    }
    assert!(played >= 6, "only {played} sequences");
}
