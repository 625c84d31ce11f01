//! Small circuits, one or a few kinds of part each: sound, they do what their files promise; with
//! single parts bad, they do what the trade knows of such parts.

use std::path::Path;
use std::sync::Arc;

use halfsplit::circuit::{Circuit, Element, read};
use halfsplit::job::study::complaint::sights;
use halfsplit::setup::Setup;
use halfsplit::setup::wiring::Wiring;
use halfsplit::suspect::Lineup;
use halfsplit::suspect::damage::changes;
use halfsplit::tester::expectations::Bench;
use halfsplit::tester::{enumerate, name, scope};
use halfsplit::{electric, quantity};
use serde::Deserialize;

fn load(path: &Path) -> Arc<Circuit> {
    let text = std::fs::read_to_string(path).unwrap();
    let name = path.file_name().unwrap().to_str().unwrap();
    let (circuit, problems) = read::read_text(name, &text);
    assert!(problems.is_empty(), "{name}: {problems:#?}");
    Arc::new(circuit.unwrap())
}

fn kind(name: &str) -> Arc<Circuit> {
    load(&Path::new("tests/data/kinds").join(format!("{name}.yaml")))
}

fn bench(circuit: &Arc<Circuit>) -> Bench {
    let lineup = Arc::new(Lineup::of(circuit));
    Bench::new(circuit, lineup).unwrap()
}

#[test]
fn sound_circuits_do_what_they_promise() {
    let mut files: Vec<_> =
        std::fs::read_dir("tests/data/kinds").unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    assert!(files.len() >= 10);
    for path in files {
        let circuit = load(&path);
        let bench = bench(&circuit);
        for work in &circuit.works {
            for (test, should) in sights(&circuit, work) {
                let column = bench.columns(std::slice::from_ref(&test)).unwrap().remove(0);
                let (seen, shown) = (column.likeliest(0), column.shown[0]);
                assert_eq!(seen, should, "{}: `{}`: {} {shown:?}", circuit.id, work.name, test.id);
            }
        }
    }
}

/// The likeliest outcome of a test under a suspect.
#[track_caller]
fn check(file: &str, test: &str, suspect: &str, expected: &str) {
    let circuit = kind(file);
    let bench = bench(&circuit);
    let test = name::parse(&circuit, test).unwrap_or_else(|error| panic!("{error}"));
    let column = bench.columns(&[test]).unwrap().remove(0);
    let at = bench.lineup.find(suspect).unwrap_or_else(|| panic!("no suspect `{suspect}`")).index();
    let seen = &column.outcomes[column.likeliest(at)].id;
    assert_eq!(seen, expected, "{suspect}: {:?}", column.shown[at]);
}

/// Volts between two terminals in a setup under a suspect.
fn volts(file: &str, setup: &str, suspect: &str, from: &str, to: &str) -> f64 {
    let circuit = kind(file);
    let lineup = Lineup::of(&circuit);
    let suspect = lineup.find(suspect).unwrap_or_else(|| panic!("no suspect `{suspect}`"));
    let damage = &lineup.suspects[suspect.index()].damage;
    let setup = Setup::from_id(&circuit, setup).unwrap();
    let wiring = Wiring::new(&circuit, &setup);
    let solver = electric::Solver::new(&wiring.network).unwrap();
    let case = solver.case(&changes(&circuit, &setup, &wiring, damage)).unwrap();
    let node = |at: &str| case.node_volts(wiring.node(circuit.find_terminal(at).unwrap()));
    node(from) - node(to)
}

#[track_caller]
fn close(found: f64, expected: f64, within: f64) {
    assert!((found - expected).abs() <= within, "{found}, not {expected} within {within}");
}

#[derive(Deserialize)]
struct ByCharge {
    volts_by_percent: Vec<(f64, f64)>,
}

#[test]
fn battery_volts_follow_the_published_table() {
    let text = std::fs::read_to_string("tests/data/physics/batteries.yaml").unwrap();
    let table: ByCharge = serde_yaml::from_str(&text).unwrap();
    assert_eq!(table.volts_by_percent.len(), 5);
    for (volts, percent) in table.volts_by_percent {
        let text = std::fs::read_to_string("tests/data/kinds/battery-by-charge.yaml").unwrap();
        let shown = quantity::show(percent, quantity::Unit::Percent);
        let text = text.replace("charge: 50 %", &format!("charge: {shown}"));
        let circuit = read::read_text("battery", &text).0.unwrap();
        let setup = Setup::rest(&circuit);
        let wiring = Wiring::new(&circuit, &setup);
        let solver = electric::Solver::new(&wiring.network).unwrap();
        let case = solver.case(&[]).unwrap();
        let node = |at| case.node_volts(wiring.node(at));
        close(node(circuit.positive()) - node(circuit.negative()), volts, 1e-6);
    }
}

#[test]
fn a_surface_charge_shows_only_under_load() {
    let [rest, loaded] = ["rest", "lamp-switch.on"].map(|setup| {
        volts("battery-by-charge", setup, "battery.surface", "battery.+", "battery.-")
    });
    assert!(rest > 12.4, "{rest}");
    assert!(loaded < rest - 0.3, "{loaded}");
}

#[test]
fn a_charging_source_lifts_the_battery_and_blocks_at_rest() {
    let battery = |setup: &str, suspect: &str| {
        volts("charging-source", setup, suspect, "battery.+", "battery.-")
    };
    close(battery("rest", "sound"), 12.6, 0.01);
    let charging = battery("engine.fast", "sound");
    // The published range with the engine turning: 13 to 15.5 V (US Army TM 5-3805-254-20-1).
    assert!((13.5..15.5).contains(&charging), "{charging}");
    let idling = battery("engine.idle+head-switch.on", "sound");
    assert!((13.0..charging).contains(&idling), "{idling}");
    close(battery("engine.fast", "alternator.dead"), 12.6, 0.02);
    assert!(battery("engine.fast", "alternator.over") > 15.5);
    assert!(battery("engine.idle+head-switch.on", "alternator.weak") < 12.7);
    check("charging-source", "watch/charge-lamp/key.on+engine.idle", "alternator.dead", "lit");
    check(
        "charging-source",
        "watch/charge-lamp/key.on+engine.idle",
        "alternator.rectifier-open",
        "dark",
    );
}

#[test]
fn two_windings_pull_together_and_one_holds() {
    let start = "key.start";
    let hear = format!("hear/solenoid/{start}");
    let watch = format!("watch/starter/{start}");
    let file = "two-winding-solenoid";
    // Without its holding winding the pull-in winding closes the contact which takes its own volts away.
    check(file, &hear, "solenoid.coil-open", "chatter");
    check(file, &watch, "solenoid.coil-open", "still");
    // Without the pull-in winding the holding one never moves the plunger.
    check(file, &hear, "solenoid.pull-open", "silence");
    // A blown starter takes the pull-in winding its ground.
    check(file, &hear, "starter.open", "silence");
}

#[test]
fn a_pull_in_winding_lets_go_when_the_signal_goes() {
    // Held by a jumper from stud to stud the starter runs; its volts go back through both windings in
    // series, whose pulls cancel.
    let circuit = kind("two-winding-solenoid");
    let setup = Setup::from_id(&circuit, "key.on").unwrap();
    let wiring = Wiring::new(&circuit, &setup);
    let solver = electric::Solver::new(&wiring.network).unwrap();
    let case = solver.case(&[]).unwrap();
    let node = |at: &str| wiring.node(circuit.find_terminal(at).unwrap());
    let law = electric::Law::Resistor { ohms: 0.001 };
    let jumper = case.with_load(node("solenoid.battery"), node("solenoid.motor"), &law).unwrap();
    assert!(jumper.amps > 100.0, "{}", jumper.amps);
    assert_eq!(jumper.moved_relays, []);
}

#[test]
fn a_lost_lamp_puts_a_flasher_out_of_time() {
    check("flashers", "hear/left-flasher/left-lever.on", "left-rear.open", "uneven");
    check("flashers", "hear/left-flasher/left-lever.on", "left-flasher.steady", "silent");
    check("flashers", "watch/left-front/left-lever.on", "left-flasher.steady", "lit");
    // The electronic one needs its own ground.
    check("flashers", "watch/right-front/right-lever.on", "right-flasher--ground.open", "dark");
}

#[test]
fn a_gauge_reads_low_with_its_wire_off_and_high_with_it_grounded() {
    let at = "watch/fuel-gauge/key.on+fuel.half";
    check("gauge-and-sender", at, "sound", "middle");
    check("gauge-and-sender", at, "fuel-gauge--float.open", "low");
    check("gauge-and-sender", at, "fuel-gauge--float.short", "high");
}

#[test]
fn a_control_unit_sleeps_without_its_ground_and_does_not_hear_a_dead_input() {
    let file = "control-box";
    let pumps = "watch/pump/key.on+start-button.pressed+oil-pressure.up";
    check(file, pumps, "sound", "turns");
    check(file, pumps, "unit--frame-ground.open", "still");
    check(file, pumps, "unit.start-deaf", "still");
    check(file, pumps, "button.open", "still");
    check(file, "watch/pump/key.on", "unit.pump-on", "turns");
    check(file, "watch/oil-lamp/key.on", "unit--oil-switch.open", "dark");
    check(file, "watch/oil-lamp/key.on", "unit.dead", "dark");
}

#[test]
fn what_a_control_unit_hears_goes_by_its_own_name() {
    let text = "format: 1
name: Unit in a cab
system: 12 V
controls: { key: [off, on] }
places: { cab: 1 min }
parts:
  battery: { kind: battery, at: cab }
  \"unit, inside cab\":
    kind: box
    at: cab
    inputs: { start: fed, \"oil\\e[2J\": grounded }
    outputs: { \"pump\\u202e\": { to: feed, input: start }, warn: { to: ground, input: \"oil\\e[2J\" } }
  switch: { kind: switch, control: key, closed: on, at: cab }
  lamp: { kind: lamp, watts: 5 W, at: cab }
wires:
  - { from: battery.+, to: \"unit, inside cab.feed\" }
  - { from: \"unit, inside cab.ground\", to: battery.- }
  - { from: battery.+, to: switch.in }
  - { from: switch.out, to: \"unit, inside cab.start\" }
  - { from: \"unit, inside cab.pump\", to: lamp.+ }
  - { from: \"unit, inside cab.warn\", to: lamp.- }
  - { from: \"unit, inside cab.oil[2J\", to: battery.- }
works:
  lights: { when: { key: on }, see: lamp lit }
";
    let (circuit, problems) = read::read_text("x", text);
    assert_eq!(problems, []);
    let circuit = circuit.unwrap();
    for terminal in circuit.graph.node_weights() {
        crate::hostile::harmless(&terminal.name);
    }
    let lineup = Lineup::of(&circuit);
    for fault in ["start-deaf", "oil-2j-deaf", "pump-open", "pump-on", "warn-open", "warn-on"] {
        let id = format!("unit-inside-cab.{fault}");
        assert!(lineup.find(&id).is_some(), "{id}");
    }
}

#[test]
fn a_shorted_zener_lets_the_lamp_above_its_volts_light() {
    check("zener", "watch/high-lamp/key.on", "high-zener.shorted", "lit");
    check("zener", "watch/low-lamp/key.on", "low-zener.open", "dark");
}

#[test]
fn a_breaker_opens_on_a_short_and_a_spare_heater_stays_cold() {
    let setup = "heater-switch.on";
    let watch = format!("watch/seat-heater/{setup}");
    let short = "heater-contacts--seat-heater.short";
    check("protectors-and-loads", &watch, short, "idle");
    check("protectors-and-loads", &watch, "engine-strap.high-3", "weak");
    let supply = volts("protectors-and-loads", setup, short, "link.out", "battery.-");
    assert!(supply > 20.0, "the link held: {supply}");
}

#[test]
fn shorted_turns_draw_what_blows_the_fuse() {
    let circuit = kind("two-winding-solenoid");
    let lineup = Lineup::of(&circuit);
    let suspect = lineup.find("solenoid.coil-turns").unwrap();
    let setup = Setup::from_id(&circuit, "key.start").unwrap();
    let wiring = Wiring::new(&circuit, &setup);
    let solver = electric::Solver::new(&wiring.network).unwrap();
    let damage = &lineup.suspects[suspect.index()].damage;
    let case = solver.case(&changes(&circuit, &setup, &wiring, damage)).unwrap();
    assert_eq!(case.blown().len(), 1);
    assert!(solver.case(&[]).unwrap().blown().is_empty());
}

#[test]
fn an_intermittent_pin_shows_now_this_now_that() {
    let circuit = load(Path::new("tests/data/kinds/bundle-and-connector.yaml"));
    let bench = bench(&circuit);
    let test = name::parse(&circuit, "watch/tail-lamp/light-switch.on").unwrap();
    let column = bench.columns(&[test]).unwrap().remove(0);
    let [sound, open, now_and_then] = ["sound", "c1-tail.open", "c1-tail.intermittent"]
        .map(|id| bench.lineup.find(id).unwrap().index());
    let shows = bench.lineup.suspects[now_and_then].shows;
    assert!(shows > 0.2 && shows < 0.8);
    for row in &column.likelihood {
        close(row[now_and_then], shows * row[open] + (1.0 - shows) * row[sound], 1e-12);
    }
}

#[test]
fn swapped_wires_light_the_other_lamp_and_have_a_fix_of_their_own() {
    let file = "bundle-and-connector";
    for (lamp, control, seen) in [
        ("tail-lamp", "light-switch.on", "dark"),
        ("stop-lamp", "light-switch.on", "lit"),
        ("stop-lamp", "brake.held", "dark"),
        ("tail-lamp", "brake.held", "lit"),
        ("tail-lamp", "brake.held+light-switch.on", "lit"),
    ] {
        let control = control.split('+').rev().collect::<Vec<_>>().join("+");
        check(file, &format!("watch/{lamp}/{control}"), "c1-tail.swapped", seen);
    }
    check(
        file,
        "lamp-ground/c1.tail-loom-side/light-switch.on+c1.parted",
        "c1-tail.swapped",
        "lit",
    );
    let circuit = kind(file);
    let lineup = Lineup::of(&circuit);
    let swapped = lineup.find("c1-tail.swapped").unwrap();
    let fix = &lineup.fixes[lineup.suspects[swapped.index()].fix.index()];
    assert_eq!(fix.id, "uncross-c1-tail-c1-stop");
}

#[test]
fn neighbours_of_a_bundle_chafed_through_feed_each_other() {
    let file = "bundle-and-connector";
    check(file, "watch/stop-lamp/light-switch.on", "tail-wire.touches", "lit");
    check(file, "watch/tail-lamp/light-switch.on", "tail-wire.touches", "lit");
    check(file, "watch/stop-lamp/rest", "tail-wire.touches", "dark");
    // The stop wire has the trailer's wire for a neighbour, and that is the last of its bundle.
    let circuit = kind(file);
    let lineup = Lineup::of(&circuit);
    assert!(lineup.find("stop-wire.touches").is_none(), "they end on one joint");
}

#[test]
fn a_breaker_that_resets_itself_beats_on_a_short_and_another_stays_open() {
    let file = "breakers";
    check(file, "watch/fan/fan-switch.on", "hot-wire.short", "still");
    let circuit = kind(file);
    let bench = bench(&circuit);
    let at = |id: &str| bench.lineup.find(id).unwrap();
    let part = |id: &str| circuit.links_of(circuit.part_by_id(id).unwrap())[0].index() as u32;
    let blown: Vec<u32> = bench.blown(at("hot-wire.short")).iter().map(|fuse| fuse.0).collect();
    assert_eq!(blown, [part("fan-breaker")], "it stays open after the short has been there");
    assert_eq!(bench.blown(at("cold-wire.short")), [], "it has reset itself");
    let test = name::parse(&circuit, "watch/head-lamp/light-switch.on").unwrap();
    let column = bench.columns(&[test]).unwrap().remove(0);
    assert!(column.shown[at("cold-wire.short").index()].restless);
    assert!(!column.shown[0].restless);
    // What is open without an overload behind it has a cheaper repair: reset it.
    let suspect = &bench.lineup.suspects[at("fan-breaker.tripped").index()];
    assert_eq!(bench.lineup.fixes[suspect.fix.index()].id, "reset-fan-breaker");
}

#[test]
fn a_wire_beside_the_exhaust_has_more_ohms() {
    let circuit = kind("breakers");
    let ohms = |id: &str| {
        let link = circuit.links_of(circuit.part_by_id(id).unwrap())[0];
        let Element::Resistance { ohms } = circuit.link(link).element else { panic!("{id}") };
        ohms
    };
    // Both are 3 m of 1 mm2; 100 K more by 0.00393 each.
    close(ohms("cold-wire"), 3.0 / 58.0, 1e-12);
    close(ohms("hot-wire"), 3.0 / 58.0 * 1.393, 1e-12);
}

#[test]
fn a_changeover_relay_has_two_contacts_and_its_resistor_outlives_its_coil() {
    let file = "relay-five-pins";
    let (ready, stop) = ("watch/ready-lamp/key.on", "watch/stop-lamp/key.on");
    check(file, ready, "changeover.contact-open", "dark");
    check(file, stop, "changeover.contact-open", "dark");
    check(file, stop, "changeover.coil-open", "lit");
    check(file, "watch/stop-lamp/key.on+gear-lever.in-gear", "changeover.contact-2-open", "dark");
    check(file, "watch/ready-lamp/key.on+gear-lever.in-gear", "changeover.contact-welded", "lit");
    check(file, stop, "changeover.contact-2-welded", "lit");
    check(file, ready, "gearbox-switch.open", "dark");
    check(
        file,
        "watch/ready-lamp/key.on+gear-lever.in-gear+clutch.pulled",
        "gearbox-switch.open",
        "lit",
    );
    // 100 ohm beside 680 ohm, and 680 ohm alone; in neutral a cold lamp of about 5 ohm lies beside them.
    let bench = bench(&kind(file));
    let read = |setup: &str, suspect: &str| {
        let test = format!("ohms/changeover.86~changeover.85/{setup}+battery-ground.off");
        let column =
            bench.columns(&[name::parse(&bench.circuit, &test).unwrap()]).unwrap().remove(0);
        10f64.powf(column.shown[bench.lineup.find(suspect).unwrap().index()].level)
    };
    close(read("gear-lever.in-gear", "sound"), 87.2, 0.3);
    close(read("gear-lever.in-gear", "changeover.coil-open"), 680.1, 0.3);
    close(read("clutch.pulled", "sound"), 5.17, 0.1);
}

#[test]
fn a_starter_stands_cranks_or_spins_free() {
    let (file, watch) = ("two-winding-solenoid", "watch/starter/key.start");
    check(file, watch, "sound", "turns");
    check(file, watch, "starter.jammed", "still");
    check(file, watch, "starter.free", "races");
    check(file, watch, "starter.turns", "slow");
    check(file, watch, "starter.open", "still");
    // What each of them draws, by a clamp around its cable.
    let clamp = "clamp/battery-cable/key.start";
    check(file, clamp, "sound", "100-to-300A");
    check(file, clamp, "starter.free", "30-to-100A");
    check(file, clamp, "starter.jammed", "over-300A");
    check(file, clamp, "starter.turns", "100-to-300A");
}

#[test]
fn an_ignition_coil_takes_more_amperes_the_more_of_its_turns_are_shorted() {
    // 3.4 ohm behind 0.5 ohm of ballast and some 0.13 ohm of wires and contacts.
    let file = "ignition-coil";
    let drop =
        |suspect: &str| volts(file, "key.on+points.closed", suspect, "ballast.1", "ballast.2");
    for (suspect, ohms) in
        [("sound", 3.4), ("ignition-coil.turns-50", 1.7), ("ignition-coil.turns-90", 0.34)]
    {
        let around_ohms = 12.6 * 0.5 / drop(suspect) - ohms;
        close(around_ohms, 12.6 * 0.5 / drop("sound") - 3.4, 1e-6);
    }
    let watch = "watch/ignition-coil/key.on+points.closed";
    check(file, watch, "sound", "works");
    for suspect in ["turns-20", "turns-50", "turns-90", "open"] {
        check(file, watch, &format!("ignition-coil.{suspect}"), "idle");
    }
}

#[test]
fn welded_contacts_keep_what_they_feed_and_burnt_ones_never_feed_it() {
    let (file, pressed) = ("two-winding-solenoid", "watch/starter/key.start");
    check(file, pressed, "solenoid.contact-open", "still");
    check(file, "watch/starter/rest", "solenoid.contact-welded", "turns");
    check(file, "hear/solenoid/key.start", "solenoid.contact-open", "click");
    check("switches", "watch/fan/rest", "fan-switch.stuck-on", "turns");
    check("switches", "watch/start-lamp/side-stand.up", "start-relay.diode-shorted", "dark");
}

#[test]
fn a_dead_cell_shows_at_rest_and_a_flat_battery_under_load() {
    let posts = |setup: &str, suspect: &str| {
        volts("two-winding-solenoid", setup, suspect, "battery.+", "battery.-")
    };
    close(posts("rest", "battery.cell"), 12.6 * 5.0 / 6.0, 1e-3);
    assert!(posts("rest", "battery.low") > 11.9);
    assert!(posts("rest", "battery.surface") > posts("rest", "sound"));
    // Told under load: a sound one cranks above the 9.6 V at which a battery is suspect, the others not.
    assert!(posts("key.start", "sound") > 9.6);
    for suspect in ["cell", "flat", "surface"] {
        let loaded = posts("key.start", &format!("battery.{suspect}"));
        assert!(loaded < 9.6, "{suspect}: {loaded} V");
    }
}

#[test]
fn a_blown_fuse_is_a_cause_of_its_own_and_the_trace_of_a_short() {
    let file = "bundle-and-connector";
    let bench = bench(&kind(file));
    let fuse = bench.circuit.links_of(bench.circuit.part_by_id("fuse").unwrap())[0].index() as u32;
    let blown = |id: &str| {
        let of = bench.lineup.find(id).unwrap();
        bench.blown(of).iter().map(|one| one.0).collect::<Vec<u32>>()
    };
    assert_eq!(blown("tail-wire.short"), [fuse]);
    assert_eq!(blown("sound"), [] as [u32; 0]);
    // Both leave the lamp dark, also with the short's own switch off; a bulb in the holder parts them.
    for suspect in ["fuse.blown", "tail-wire.short"] {
        check(file, "watch/stop-lamp/brake.held", suspect, "dark");
    }
    let bulb = "bulb/fuse/light-switch.on+fuse.out";
    check(file, bulb, "tail-wire.short", "lit");
    check(file, bulb, "fuse.blown", "dark");
    let fix = |id: &str| bench.lineup.suspects[bench.lineup.find(id).unwrap().index()].fix;
    assert_ne!(fix("fuse.blown"), fix("tail-wire.short"));
}

#[test]
fn semiconductors_fail_both_ways_and_resistors_drift() {
    check("switches", "watch/start-lamp/side-stand.up", "start-lamp.shorted", "dark");
    let drop =
        |suspect: &str| volts("switches", "side-stand.up", suspect, "start-lamp.+", "ground.point");
    assert!(drop("start-lamp.shorted") > 12.0);
    let ballast = |suspect: &str| {
        volts("ignition-coil", "key.on+points.closed", suspect, "ballast.1", "ballast.2")
    };
    // Twice the ohms take nearly twice the volts from the coil.
    let times = ballast("ballast.risen") / ballast("sound");
    assert!((1.7..1.9).contains(&times), "{times}");
    assert!(ballast("ballast.shorted") < 0.2);
}

#[test]
fn nanoamperes_that_a_fault_leaves_are_not_taken_for_none() {
    // With the low lamp shorted away, what holds the high lamp's junction is leaks alone: solved as a change
    // of the sound network, it has to be what the bad network is by itself.
    let circuit = kind("zener");
    let lineup = Lineup::of(&circuit);
    let setup = Setup::from_id(&circuit, "key.on").unwrap();
    let wiring = Wiring::new(&circuit, &setup);
    let solver = electric::Solver::new(&wiring.network).unwrap();
    let suspect = lineup.find("ground-cable.high-3").unwrap();
    let list = changes(&circuit, &setup, &wiring, &lineup.suspects[suspect.index()].damage);
    let mut bad = wiring.network.clone();
    for change in &list {
        let electric::Change::Law { branch, law } = change else { panic!("{change:?}") };
        bad.branches[branch.0 as usize].law = *law;
    }
    let bad = electric::Solver::new(&bad).unwrap();
    let (case, whole) = (solver.case(&list).unwrap(), bad.case(&[]).unwrap());
    for terminal in circuit.terminal_ids() {
        let node = wiring.node(terminal);
        close(case.node_volts(node), whole.node_volts(node), 1e-4);
    }
}

#[test]
fn a_battery_at_rest_is_known_by_its_amperes() {
    let file = "drain";
    // Nothing here takes between 50 and 200 mA, but what rests is judged by the first edge, so it stays.
    check(file, "amps/battery/rest", "sound", "under-0.05A");
    check(file, "amps/battery/rest", "lid-switch.stuck-on", "0.2-to-0.6A");
    // 10 mohm of fuse: 0.4 A leave 4 mV across it, and the clock alone 0.15 mV.
    let across = |suspect: &str| volts(file, "rest", suspect, "fuse.in", "fuse.out");
    close(across("lid-switch.stuck-on"), 0.0043, 2e-4);
    close(across("sound"), 0.00015, 1e-5);
    let circuit = kind(file);
    let refused = name::parse(&circuit, "amps/battery/lid.open").unwrap_err().to_string();
    assert!(refused.contains("for rest only"), "{refused}");
    // Nobody sees by it in a circuit that does not ask.
    let other = kind("flashers");
    let kit = [halfsplit::tester::Instrument::Meter];
    let all = enumerate::tests(&other, &scope::Scope::whole(), &kit);
    assert!(all.iter().all(|test| test.id != "amps/battery/rest"));
}

#[test]
fn batteries_in_series_have_their_outer_posts() {
    let circuit = kind("batteries-in-series");
    let (plus, minus) = circuit.posts().unwrap();
    assert_eq!(circuit.terminal(plus).id, "upper.plus");
    assert_eq!(circuit.terminal(minus).id, "lower.minus");
    check("batteries-in-series", "lamp-plus/ground.point/rest", "sound", "lit");
    // Measured across the row, each has its share.
    let measured = circuit.with_battery_volts(24.0).unwrap();
    let emf = |id: &str| {
        let link = measured.links_of(measured.part_by_id(id).unwrap())[0];
        let Element::Emf { volts, .. } = measured.link(link).element else { panic!("{id}") };
        volts
    };
    close(emf("upper"), 24.0 * 12.6 / 25.0, 1e-9);
    close(emf("upper") + emf("lower"), 24.0, 1e-9);
}

/// A short makes the solenoid chatter until the fuse goes. In which of its states that happens decides the end, as
/// pulled it holds itself through its own contact: the same whether the short came as a change or was there.
#[test]
fn a_fuse_that_goes_while_a_solenoid_chatters_ends_it_as_from_rest() {
    let circuit = kind("two-winding-solenoid");
    let lineup = Lineup::of(&circuit);
    let mut setup = Setup::for_work(&circuit, &circuit.works[0]);
    setup.swapped = vec![circuit.part_by_id("fuse").unwrap()];
    let wiring = Wiring::new(&circuit, &setup);
    let solver = electric::Solver::new(&wiring.network).unwrap();
    let suspect = lineup.find("key-switch--solenoid.short").unwrap();
    let list = changes(&circuit, &setup, &wiring, &lineup.suspects[suspect.index()].damage);
    let [electric::Change::Across { from, to, law }] = &list[..] else { panic!("{list:?}") };
    let mut bad = wiring.network.clone();
    bad.branches.push(electric::Branch { from: *from, to: *to, law: *law });
    let bad = electric::Solver::new(&bad).unwrap();
    let (case, whole) = (solver.case(&list).unwrap(), bad.case(&[]).unwrap());
    assert_eq!(case.blown().len(), 1);
    assert_eq!(case.blown(), whole.blown());
    for terminal in circuit.terminal_ids() {
        let node = wiring.node(terminal);
        close(case.node_volts(node), whole.node_volts(node), 1e-6);
    }
}
