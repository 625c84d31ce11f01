//! Facts of the trade about a start circuit whose button grounds the solenoid's coil
//! (common practice, no source), read off the program's own expectations.

use std::sync::Arc;

use halfsplit::circuit::{builtin, read};
use halfsplit::job::event::Event;
use halfsplit::job::shown::proof;
use halfsplit::job::standing::Step;
use halfsplit::job::state::Job;
use halfsplit::job::study::Study;
use halfsplit::job::words::act_words;
use halfsplit::plan::{Budget, Progress};
use halfsplit::setup::Setup;
use halfsplit::setup::moves::moves;
use halfsplit::suspect::Lineup;
use halfsplit::tester::Instrument;
use halfsplit::tester::expectations::{Bench, Column};
use halfsplit::tester::name;

fn bench() -> Bench {
    let text = builtin::text("start-button").unwrap();
    let circuit = Arc::new(read::read_text("start-button", text).0.unwrap());
    let lineup = Arc::new(Lineup::of(&circuit));
    Bench::new(&circuit, lineup).unwrap()
}

fn column(bench: &Bench, test: &str) -> Column {
    let test = name::parse(&bench.circuit, test).unwrap_or_else(|error| panic!("{error}"));
    bench.columns(&[test]).unwrap().remove(0)
}

/// The likeliest outcome of `test` under `suspect`.
#[track_caller]
fn check(test: &str, suspect: &str, expected: &str) {
    let bench = bench();
    let column = column(&bench, test);
    let suspect = bench.lineup.find(suspect).unwrap();
    let seen = &column.outcomes[column.likeliest(suspect.index())].id;
    assert_eq!(seen, expected, "{test} under {suspect:?}: {:?}", column.shown[suspect.index()]);
}

#[test]
fn parted_connector_shows_supply_on_the_coil_half_only() {
    check("lamp-ground/c2.loom-side/key.on+c2.parted", "sound", "lit");
    check("lamp-ground/c2.bar-side/key.on+c2.parted", "sound", "dark");
}

#[test]
fn parted_connector_with_a_broken_coil_is_dark_on_both_halves() {
    check("lamp-ground/c2.loom-side/key.on+c2.parted", "solenoid.coil-open", "dark");
}

#[test]
fn button_half_finds_ground_only_while_the_button_is_held() {
    check("lamp-plus/c2.bar-side/starter-button.pressed+c2.parted", "sound", "lit");
    check("lamp-plus/c2.bar-side/c2.parted", "sound", "dark");
    check("lamp-plus/c2.bar-side/starter-button.pressed+c2.parted", "start-button.open", "dark");
}

#[test]
fn output_stud_is_live_only_while_the_solenoid_is_pulled_in() {
    let pressed = "lamp-ground/solenoid.motor/key.on+starter-button.pressed+starter-cable.lifted";
    check(pressed, "sound", "lit");
    check("lamp-ground/solenoid.motor/key.on+starter-cable.lifted", "sound", "dark");
    check(pressed, "start-button.open", "dark");
}

#[test]
fn key_off_darkens_the_coils_supply() {
    check("lamp-ground/solenoid.coil-in/key.on", "sound", "lit");
    check("lamp-ground/solenoid.coil-in/rest", "sound", "dark");
}

#[test]
fn click_without_light_on_the_output_stud_means_the_heavy_contacts() {
    let click = "hear/solenoid/key.on+starter-button.pressed";
    let stud = "lamp-ground/solenoid.motor/key.on+starter-button.pressed+starter-cable.lifted";
    let bench = bench();
    let (heard, seen) = (column(&bench, click), column(&bench, stud));
    let outcome = |column: &Column, id: &str| {
        column.outcomes.iter().position(|outcome| outcome.id == id).unwrap()
    };
    let (clicks, dark) = (outcome(&heard, "click"), outcome(&seen, "dark"));
    let suspects = &bench.lineup.suspects;
    let weight =
        |at: usize| suspects[at].weight * heard.likelihood[clicks][at] * seen.likelihood[dark][at];
    // What can click and leave the stud dark is the contact, the cable that feeds it, or a slip.
    let all: f64 = (0..suspects.len()).map(weight).sum();
    let contacts: f64 = (0..suspects.len())
        .filter(|&at| suspects[at].id.starts_with("solenoid.contact"))
        .map(weight)
        .sum();
    let cable: f64 = (0..suspects.len())
        .filter(|&at| suspects[at].id.starts_with("battery-cable"))
        .map(weight)
        .sum();
    assert!((contacts + cable) / all > 0.7, "{contacts} {cable} {all}");
    assert!(contacts > cable, "{contacts} {cable}");
}

#[test]
fn a_dirty_button_hides_from_the_led_lamp_and_shows_to_the_filament_lamp() {
    let at = "starter-button.pressed+c2.parted";
    check(&format!("led-plus/c2.bar-side/{at}"), "start-button.high-100", "lit");
    check(&format!("lamp-plus/c2.bar-side/{at}"), "start-button.high-100", "dark");
}

#[test]
fn a_lamp_across_heavy_cables_is_refused() {
    let bench = bench();
    let test = "lamp-across/battery.plus~solenoid.battery/key.on";
    assert!(name::parse(&bench.circuit, test).unwrap_err().to_string().contains("heavy"));
}

#[test]
fn ohms_on_a_live_circuit_are_refused() {
    let bench = bench();
    let test = "ohms/c2.bar-side~start-button.feed/key.on";
    assert!(name::parse(&bench.circuit, test).unwrap_err().to_string().contains("dead"));
}

/// What is done to get from rest to `work` of the circuit with an interlock, and back.
fn interlock(work: &str) -> (Vec<String>, Vec<String>) {
    let text = builtin::text("start-interlock").unwrap();
    let circuit = read::read_text("start-interlock", text).0.unwrap();
    let work = circuit.works.iter().find(|one| one.name == work).unwrap();
    let (rest, there) = (Setup::rest(&circuit), Setup::for_work(&circuit, work));
    let words = |from, to| {
        moves(&circuit, from, to).iter().map(|one| act_words(&circuit, &one.act)).collect()
    };
    (words(&rest, &there), words(&there, &rest))
}

#[test]
fn in_gear_the_clutch_is_pulled_before_the_button_is_pressed_and_let_go_of_after_it() {
    let (there, back) = interlock("cranks with the clutch");
    let there = &there[there.len() - 2..];
    assert_eq!(
        there,
        ["Have the clutch lever held: pulled.", "Have the start button held: pressed."]
    );
    assert_eq!(back[..2], ["Let go of the start button.", "Let go of the clutch lever."]);
}

#[test]
fn a_proof_says_to_measure_while_it_cranks_and_to_leave_it_out_of_gear() {
    let text = builtin::text("start-interlock").unwrap();
    let circuit = Arc::new(read::read_text("start-interlock", text).0.unwrap());
    let kit = [Instrument::Lamp, Instrument::Meter];
    let mut job = Job::new(Arc::new(Study::new(&circuit, &kit, 0).unwrap()));
    let fix = job.study().lineup().fixes.iter().position(|fix| fix.id == "replace-blocking-diode");
    let stand = job.study().fix_setup(&job.study().lineup().fixes[fix.unwrap()]);
    let proof = proof::lines(&job, &job.folded().course, &stand);
    let proven = proof.iter().position(|line| line.starts_with("Proven when")).unwrap();
    assert!(proof[proven + 1].starts_with("Meanwhile measure"), "{proof:#?}");
    job.record(Event::Tried { fix: "replace-blocking-diode".to_owned(), cured: true }).unwrap();
    let standing = job.standing(&Budget { nodes: 0 }, &Progress::default());
    let Step::Cured(ending) = standing.step else { panic!("{:?}", standing.step) };
    // The last thing proven is that the lamp stays dark in gear.
    assert!(standing.setup.contains("gear lever in gear"), "{}", standing.setup);
    assert!(!standing.setup.contains("pressed"), "{}", standing.setup);
    assert!(ending.put_back.contains(&"Set the gear lever: neutral.".to_owned()), "{ending:#?}");
}
