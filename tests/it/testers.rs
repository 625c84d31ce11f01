//! Testers for shorts, drains and joints that come and go: what they show, and what is refused.

use std::sync::Arc;

use halfsplit::circuit::{Circuit, builtin, read};
use halfsplit::setup::Setup;
use halfsplit::suspect::Lineup;
use halfsplit::tester::enumerate::tests;
use halfsplit::tester::expectations::{Bench, Column};
use halfsplit::tester::scope::Scope;
use halfsplit::tester::{Instrument, name};

const ALL: [Instrument; 8] = [
    Instrument::Lamp,
    Instrument::Led,
    Instrument::Meter,
    Instrument::OldMeter,
    Instrument::Clamp,
    Instrument::Bulb,
    Instrument::Jumper,
    Instrument::Spares,
];

fn kind(name: &str) -> Arc<Circuit> {
    let text = match builtin::text(name) {
        Some(text) => text.to_owned(),
        None => std::fs::read_to_string(format!("tests/data/kinds/{name}.yaml")).unwrap(),
    };
    Arc::new(read::read_text(name, &text).0.unwrap())
}

fn bench(circuit: &Arc<Circuit>) -> Bench {
    Bench::new(circuit, Arc::new(Lineup::of(circuit))).unwrap()
}

fn column(bench: &Bench, test: &str) -> Column {
    let test = name::parse(&bench.circuit, test).unwrap_or_else(|error| panic!("{error}"));
    bench.columns(&[test]).unwrap().remove(0)
}

#[track_caller]
fn check(file: &str, test: &str, suspect: &str, expected: &str) {
    let bench = bench(&kind(file));
    let column = column(&bench, test);
    let at = bench.lineup.find(suspect).unwrap_or_else(|| panic!("no suspect `{suspect}`")).index();
    let seen = &column.outcomes[column.likeliest(at)].id;
    assert_eq!(seen, expected, "{test} under {suspect}: {:?}", column.shown[at]);
}

/// What a tester reads as a number when all is sound.
fn number(file: &str, test: &str) -> f64 {
    let bench = bench(&kind(file));
    let column = column(&bench, test);
    column.test.scale.number_shown(column.shown[0].level)
}

#[track_caller]
fn refused(file: &str, test: &str, because: &str) {
    let error = name::parse(&kind(file), test).unwrap_err().to_string();
    assert!(error.contains(because), "{error}");
}

#[test]
fn ids_of_all_testers_are_read_back() {
    for name in builtin::names() {
        let circuit = read::read_text(name, builtin::text(name).unwrap()).0.unwrap();
        let all = tests(&circuit, &Scope::whole(), &ALL);
        let mut met = std::collections::HashSet::new();
        for test in &all {
            assert!(met.insert(&test.id), "{} is listed twice", test.id);
            assert_eq!(name::parse(&circuit, &test.id).as_ref(), Ok(test));
        }
        // Without the new testers' kit nothing but moving a connector about and millivolts is added.
        let usual = tests(&circuit, &Scope::whole(), &[Instrument::Lamp, Instrument::Meter]);
        let added = usual
            .iter()
            .filter(|test| test.id.starts_with("wiggle/") || test.id.starts_with("millivolts/"));
        assert!(added.count() * 10 <= usual.len(), "{name}");
    }
}

/// A switch by the name of its control, a control by that of the battery's ground cable, positions with signs.
const ODD_NAMES: &str = "format: 1
name: Odd names
system: 12 V
controls:
  horn button: { positions: [released, pressed], springs_back: released }
  battery ground: [on, off]
  mode: [one, \"1.5\", two + more / less]
places: { bench: 0 min }
parts:
  battery: { kind: battery, at: bench }
  fuse: { kind: fuse, rating: 10 A, at: bench }
  battery ground: { kind: switch, control: battery ground, closed: on, at: bench }
  mode: { kind: switch, control: mode, closed: [\"1.5\", two + more / less], at: bench }
  horn button: { kind: switch, control: horn button, closed: pressed, at: bench }
  horn: { kind: horn, at: bench }
connectors:
  C1: { at: bench }
wires:
  - { from: battery.+, to: fuse.in }
  - { from: fuse.out, to: battery ground.in }
  - { from: battery ground.out, to: mode.in }
  - { from: mode.out, to: horn button.in }
  - { from: horn button.out, to: C1.plug }
  - { from: C1.socket, to: horn.+ }
  - { from: horn.-, to: battery.- }
works:
  sounds: { when: { horn button: pressed, mode: \"1.5\" }, see: horn sounds }
  sounds, too: { when: { horn button: pressed, mode: two + more / less }, see: horn sounds }
  sounds as before: { when: { horn button: pressed, mode: \"1.5\" }, see: horn sounds }
  is silent: { when: { battery ground: off, horn button: pressed, mode: \"1.5\" }, see: horn silent }
";

#[test]
fn ids_are_read_back_whatever_things_are_called() {
    let (circuit, problems) = read::read_text("x", ODD_NAMES);
    assert_eq!(problems, []);
    let circuit = circuit.unwrap();
    let plain = |letter: char| letter.is_ascii_alphanumeric() || "-._~/+".contains(letter);
    let mut met = std::collections::HashSet::new();
    for test in tests(&circuit, &Scope::whole(), &ALL) {
        assert!(met.insert(test.id.clone()), "{} is listed twice", test.id);
        assert!(test.id.chars().all(plain), "{}", test.id);
        assert_eq!(name::parse(&circuit, &test.id).as_ref(), Ok(&test));
    }
    // Job files of before had positions as they are written.
    let before = Setup::from_id(&circuit, "mode.ONE+c1.parted+c1.parted").unwrap();
    assert_eq!(before.id(&circuit), "c1.parted");
    assert_eq!(Setup::from_id(&circuit, "fuse.lifted"), None, "no heavy cable");
}

#[test]
fn an_old_meter_loads_what_it_measures() {
    let text = "format: 1
name: High ohms
system: 12 V
places: { bench: 0 min }
parts:
  battery: { kind: battery, at: bench }
  feed: { kind: resistor, ohms: 300k, at: bench }
  end: { kind: resistor, ohms: 1 Mohm, at: bench }
  lamp: { kind: lamp, at: bench }
wires:
  - { from: battery.+, to: feed.1 }
  - { from: feed.2, to: end.1 }
  - { from: end.2, to: battery.- }
  - { from: battery.+, to: lamp.+ }
  - { from: lamp.-, to: battery.- }
works:
  lights: { see: lamp lit }
";
    let (circuit, problems) = read::read_text("x", text);
    assert_eq!(problems, []);
    let bench = bench(&Arc::new(circuit.unwrap()));
    let read = |test: &str| column(&bench, test).shown[0].level;
    // 20 kilohm a volt on 15 V is 300 kilohm: 12.6 * (300 || 1000) / (300 + (300 || 1000)) = 5.48 V, and
    // 10 megohm: 12.6 * 909.1 / 1209.1 = 9.47 V.
    assert!((read("old-drop/end.1~end.2/rest") - 5.478).abs() < 0.01);
    assert!((read("drop/end.1~end.2/rest") - 9.474).abs() < 0.01);
}

#[test]
fn a_clamp_tells_amperes_without_touching() {
    let cranking = number("two-winding-solenoid", "clamp/starter-cable/key.start");
    assert!((120.0..180.0).contains(&cranking), "{cranking}");
    let lamp = number("bundle-and-connector", "clamp/tail-wire/light-switch.on");
    assert!((lamp - 5.0 / 12.0).abs() < 0.03, "{lamp}");
    check("two-winding-solenoid", "clamp/battery-cable/key.start", "starter.jammed", "over-300A");
    check("two-winding-solenoid", "clamp/battery-cable/rest", "sound", "under-100A");
    refused("two-winding-solenoid", "clamp/starter/key.start", "around a wire");
}

#[test]
fn millivolts_across_a_fuse_tell_its_current() {
    // Two lamps of 21 W through 10 milliohm: 3.6 A, 36 mV.
    let test = "millivolts/fuse.in~fuse.out/brake.held";
    let read = number("bundle-and-connector", test);
    assert!((0.033..0.040).contains(&read), "{read}");
    check("bundle-and-connector", test, "sound", "30-to-1000mV");
    check("bundle-and-connector", test, "fuse.blown", "over-1000mV");
    check("bundle-and-connector", test, "brake-contacts.open", "under-0.3mV");
    let lamp = "millivolts/tail-lamp.plus~tail-lamp.minus/light-switch.on";
    refused("bundle-and-connector", lamp, "across a fuse");
}

#[test]
fn a_bulb_in_place_of_a_fuse_hunts_a_short() {
    let file = "bundle-and-connector";
    check(file, "bulb/fuse/fuse.out", "sound", "dark");
    check(file, "bulb/fuse/fuse.out", "fuse--brake-contacts.short", "lit");
    // Behind the connector: parting it puts the bulb out.
    check(file, "bulb/fuse/light-switch.on+fuse.out", "tail-wire.short", "lit");
    check(file, "bulb/fuse/light-switch.on+c1.parted+fuse.out", "tail-wire.short", "dark");
    let before = "light-contacts--c1-tail.short";
    check(file, "bulb/fuse/light-switch.on+c1.parted+fuse.out", before, "lit");
    refused(file, "bulb/fuse/light-switch.on", "FUSE.out");
    refused(file, "watch/tail-lamp/light-switch.on+fuse.out", "nothing parted");
    refused("protectors-and-loads", "bulb/link/link.out", "no setup");
}

#[test]
fn a_jumper_stands_in_for_a_bad_switch_and_never_for_a_load() {
    let file = "bundle-and-connector";
    let bridged = "watch/tail-lamp/light-switch.on+light-contacts.bridged";
    check(file, bridged, "sound", "lit");
    check(file, bridged, "light-contacts.open", "lit");
    check(file, bridged, "light-contacts.high-1k", "lit");
    check(file, bridged, "tail-lamp.open", "dark");
    check(file, "watch/tail-lamp/light-switch.on+c1-tail.bridged", "c1-tail.open", "lit");
    // More than its fuse bears: the starter will not run through it.
    for part in ["tail-lamp", "battery", "tail-wire", "fuse"] {
        refused(file, &format!("watch/tail-lamp/light-switch.on+{part}.bridged"), "no setup");
    }
    refused("two-winding-solenoid", "watch/starter/key.start+solenoid.bridged", "no setup");
}

#[test]
fn a_connector_moved_about_gives_its_loose_pin_away() {
    let file = "bundle-and-connector";
    let test = "wiggle/c1/light-switch.on";
    check(file, test, "c1-tail.intermittent", "comes-and-goes");
    check(file, test, "sound", "steady");
    check(file, test, "fuse.blown", "steady");
    check(file, test, "light-contacts.intermittent", "steady");
    // The stop lamp's pin is not in the tail lamp's way.
    check(file, test, "c1-stop.intermittent", "steady");
    refused(file, "wiggle/c1/rest", "should");
    refused(file, "wiggle/c1/light-switch.on+c1.parted", "nothing to move");
}

#[test]
fn an_ammeter_in_place_of_a_fuse_reads_what_flows_and_bears_no_more_than_its_own() {
    // 2 W at 12 V: 0.17 A through the one lamp of the changeover relay, and 12.6 / 87.2 A through its coil
    // with the resistor across it.
    let amps = number("relay-five-pins", "amps/fuse/key.on+fuse.out");
    assert!((amps - (2.0 / 12.0 + 12.6 / 87.2)).abs() < 0.02, "{amps}");
    check("relay-five-pins", "amps/fuse/fuse.out", "sound", "under-0.1A");
    check("relay-five-pins", "amps/fuse/fuse.out", "key-switch.stuck-on", "over-0.3A");
    // A short takes the fuse in the meter, which then shows nothing.
    let short = "fuse--key-switch.short";
    check("relay-five-pins", "amps/fuse/fuse.out", short, "under-0.1A");
    refused("relay-five-pins", "amps/fuse/key.on", "FUSE.out");
    refused("bundle-and-connector", "amps/tail-lamp/rest", "is out");
    refused("start-button", "amps/main-fuse/main-fuse.out", "clamp");
}

#[test]
fn a_known_good_one_in_its_place_tells_a_bad_part_from_what_is_around_it() {
    let file = "relay-five-pins";
    let swapped = "watch/ready-lamp/key.on+changeover.swapped";
    for bad in ["coil-open", "contact-open", "jammed", "coil-turns", "contact-high-100"] {
        check(file, swapped, &format!("changeover.{bad}"), "lit");
    }
    check(file, swapped, "gearbox-switch.open", "dark");
    check(file, swapped, "sound", "lit");
    // A fresh bulb in a burnt holder stays dark, a fresh fuse on a short goes at once.
    let file = "bundle-and-connector";
    let lamp = "watch/tail-lamp/light-switch.on+tail-lamp.swapped";
    check(file, lamp, "tail-lamp.open", "lit");
    check(file, lamp, "tail-lamp.high-100", "dark");
    let fuse = "watch/tail-lamp/light-switch.on+fuse.swapped";
    check(file, fuse, "fuse.blown", "lit");
    check(file, fuse, "fuse.high-100", "dark");
    check(file, fuse, "tail-wire.short", "dark");
    check(file, "watch/stop-lamp/brake.held+fuse.swapped", "tail-wire.short", "lit");
    for part in ["light-contacts", "battery", "tail-wire"] {
        refused(file, &format!("watch/tail-lamp/light-switch.on+{part}.swapped"), "no setup");
    }
}
