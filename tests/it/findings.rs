//! What `check` finds beyond errors: each file of `tests/data/findings` marks the lines it is told at.

use std::fs;
use std::process::Command;
use std::sync::Arc;

use halfsplit::circuit::{builtin, catalogue::ampacity, protect, read};
use halfsplit::job::findings::{apart, findings};
use halfsplit::job::study::Study;
use halfsplit::problem::Problem;
use halfsplit::quantity::{Unit, parse};
use halfsplit::tester::Instrument;

fn problems(name: &str, text: &str) -> Vec<Problem> {
    let (found, mut problems) = read::read_located(name, text);
    let (circuit, origins) = found.unwrap_or_else(|| panic!("{name}: {problems:?}"));
    protect::fuses(&circuit, &origins, &mut problems);
    protect::doubles(&circuit, &origins, &mut problems);
    protect::reach(&circuit, &origins, &mut problems);
    problems.extend(findings(&circuit, &origins));
    problems
}

#[test]
fn findings_are_told_at_the_marked_lines_and_nowhere_else() {
    let mut ids = Vec::new();
    for file in fs::read_dir("tests/data/findings").unwrap().flatten() {
        let text = fs::read_to_string(file.path()).unwrap();
        let marked = text
            .lines()
            .enumerate()
            .filter_map(|(at, line)| Some((at + 1, line.split_once("# <- ")?.1)));
        let mut expected: Vec<(usize, String)> = marked
            .flat_map(|(line, ids)| ids.split(' ').map(move |id| (line, id.to_owned())))
            .collect();
        let found = problems(&file.path().display().to_string(), &text);
        let mut told: Vec<(usize, String)> =
            found.iter().map(|one| (one.span.line, one.id.to_owned())).collect();
        expected.sort();
        told.sort();
        assert_eq!(told, expected, "{}: {found:#?}", file.path().display());
        ids.extend(told.into_iter().map(|one| one.1));
    }
    ids.sort();
    ids.dedup();
    let all = [
        "double-wire",
        "fuse-too-large",
        "no-fuse",
        "out-of-reach",
        "relay-too-weak",
        "wire-too-thin",
        "work-not-true",
    ];
    assert_eq!(ids, all);
}

#[test]
fn nothing_is_found_in_the_built_in_circuits() {
    for name in builtin::names() {
        let found = problems(name, builtin::text(name).unwrap());
        assert!(found.is_empty(), "{name}: {found:#?}");
    }
}

#[test]
fn what_wires_carry_is_as_published() {
    let text = fs::read_to_string("tests/data/wire/ampacity.yaml").unwrap();
    let rows =
        text.lines().filter_map(|line| line.trim().strip_prefix("- { awg: ")?.strip_suffix(" }"));
    let rows: Vec<(f64, f64)> = rows
        .map(|row| {
            let (gauge, amps) = row.split_once(", amps: ").unwrap();
            (parse(&format!("{gauge} AWG"), Unit::Area).unwrap(), amps.parse().unwrap())
        })
        .collect();
    assert_eq!(rows.len(), ampacity::CARRIES.len());
    for ((area, amps), (ours, ours_amps)) in rows.into_iter().zip(ampacity::CARRIES) {
        let near = |one: f64, other: f64| (one / other - 1.0).abs() < 0.005;
        assert!(near(area, ours) && near(amps, ours_amps), "{area} mm2, {ours} mm2");
    }
}

/// A lamp behind a splice that is moulded in: the wires on both sides of it look alike.
const MOULDED: &str = "\
format: 1
name: Moulded
system: 12 V
controls: { key: [off, on] }
places: { dash: 1 min }
parts:
  battery: { kind: battery, at: dash }
  fuse: { kind: fuse, rating: 10 A, at: dash }
  key switch: { kind: switch, control: key, closed: on, at: dash }
  tap: { kind: splice, at: dash, sealed: yes }
  lamp: { kind: lamp, at: dash }
  frame: { kind: ground point, at: dash }
wires:
  - { from: battery.+, to: fuse.in }
  - { from: fuse.out, to: key switch.in }
  - { name: first, from: key switch.out, to: tap }
  - { name: second, from: tap, to: lamp.+ }
  - { from: lamp.-, to: frame }
  - { from: battery.-, to: frame }
works:
  lights: { when: { key: on }, see: lamp lit }
";

#[test]
fn what_no_test_tells_apart_is_named_with_the_probe_point_that_would() {
    let circuit = Arc::new(read::read_text("moulded", MOULDED).0.unwrap());
    let study = Study::new(&circuit, &[Instrument::Meter], 0).unwrap();
    let groups = apart::groups(&study).unwrap();
    let has =
        |group: &apart::Group, word: &str| group.suspects.iter().any(|one| one.starts_with(word));
    let group = groups.iter().find(|group| has(group, "first: ") && has(group, "second: "));
    let group = group.unwrap_or_else(|| panic!("{groups:#?}"));
    assert!(
        group.help.as_deref().is_some_and(|help| help.contains("a probe point at `tap")),
        "{group:?}"
    );
    let open = MOULDED.replace(", sealed: yes", "");
    let circuit = Arc::new(read::read_text("open", &open).0.unwrap());
    let groups = apart::groups(&Study::new(&circuit, &[Instrument::Meter], 0).unwrap()).unwrap();
    let both = groups.iter().find(|group| {
        group.suspects.iter().any(|one| one == "first: open")
            && group.suspects.iter().any(|one| one == "second: open")
    });
    assert!(both.is_none(), "{both:?}");
}

#[test]
fn check_says_what_it_found_and_ends_well() {
    let output = Command::new(env!("CARGO_BIN_EXE_halfsplit"))
        .args(["check", "tests/data/findings/fuses.yaml"])
        .output()
        .unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(output.status.success() && text.contains("warning: `lamp` has no fuse"), "{text}");
}
