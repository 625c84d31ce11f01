//! Hands on the machine: what is stopped before it can crank, and what a stopped order leaves behind.

use halfsplit::drill::fault::Setting;
use halfsplit::drill::play::{Drill, Told};
use halfsplit::drill::safety::Danger;
use halfsplit::job::study::Study;
use halfsplit::setup::Setup;
use halfsplit::setup::moves::Act;
use halfsplit::tester::{Instrument, Target, Tester};

use super::circuit;

const KIT: [Instrument; 3] = [Instrument::Lamp, Instrument::Meter, Instrument::Jumper];

fn drill<'a>(study: &'a Study, hidden: &str) -> Drill<'a> {
    let hidden = study.lineup().find(hidden).unwrap_or_else(|| panic!("{hidden} is no suspect"));
    Drill::hiding(study, Setting { seed: 1, level: 3, kind: None }, vec![hidden]).unwrap()
}

#[track_caller]
fn not_clear(told: &Told) {
    assert_eq!(told.stopped, Some(Danger::NotClear), "{told:?}");
}

#[test]
fn no_hand_on_the_machine_makes_it_crank_before_all_is_clear() {
    let study = Study::new(&circuit("start-car"), &KIT, 0).unwrap();
    let find = |id: &str| study.circuit().part_by_id(id).unwrap();
    let (relay, starter) = (find("start relay"), find("starter"));
    let mut drill = drill(&study, "inhibitor-switch.open");
    not_clear(&drill.act(&Act::Bridge(relay)).unwrap());
    assert!(drill.course.setup.bridged.is_empty(), "nothing was done");
    // Bridged while nothing is live, it cranks when the ground cable goes on.
    assert!(drill.act(&Act::GroundOff).unwrap().is_done());
    assert!(drill.act(&Act::Bridge(relay)).unwrap().is_done());
    not_clear(&drill.act(&Act::GroundOn).unwrap());
    assert!(drill.course.setup.ground_off);
    drill.say_clear();
    assert!(drill.act(&Act::GroundOn).unwrap().is_done());
    drill.look(Tester::Watch, Target::Part(starter)).unwrap();
    assert!(drill.is_cranking(), "it does crank");
}

#[test]
fn a_jumper_that_is_not_at_hand_endangers_nobody() {
    let study = Study::new(&circuit("start-car"), &KIT[..2], 0).unwrap();
    let relay = study.circuit().part_by_id("start relay").unwrap();
    let told = drill(&study, "inhibitor-switch.open").act(&Act::Bridge(relay)).unwrap();
    assert!(told.refused && told.stopped.is_none(), "{told:?}");
}

#[test]
fn a_proof_that_tries_the_starter_too_is_asked_about() {
    let circuit = circuit("start-interlock");
    let shows = circuit.works.iter().position(|work| work.id == "shows-neutral").unwrap();
    let study = Study::new(&circuit, &KIT[..2], shows).unwrap();
    let mut drill = drill(&study, "neutral-lamp.open");
    let fix = study.lineup().suspects[drill.hidden[0].index()].fix;
    let told = drill.mend(fix).unwrap();
    assert!(told.lines.iter().any(|line| line.contains("`clear` before it may crank")), "{told:?}");
    not_clear(&drill.prove().unwrap());
    drill.say_clear();
    assert!(drill.prove().unwrap().is_done());
}

#[test]
fn cranking_for_too_long_leaves_key_and_button_alone() {
    let study = Study::new(&circuit("start-button"), &KIT[..2], 0).unwrap();
    let mut drill = drill(&study, "start-button.open");
    drill.say_clear();
    let told = drill.try_it(9.0).unwrap();
    assert_eq!(told.stopped, Some(Danger::TooLong), "{told:?}");
    assert_eq!(drill.course.setup, Setup::rest(study.circuit()), "it was not carried out");
}
