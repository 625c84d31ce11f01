//! What every built-in circuit must hold: it reads without a word, and sound, it works.

use std::sync::Arc;

use halfsplit::circuit::{Circuit, Kind, builtin, read};
use halfsplit::job::course::Course;
use halfsplit::job::shown::cautions::machine_cautions;
use halfsplit::job::study::Study;
use halfsplit::job::study::complaint::sights;
use halfsplit::setup::Setup;
use halfsplit::suspect::Lineup;
use halfsplit::tester::expectations::Bench;

fn circuits() -> Vec<Arc<Circuit>> {
    builtin::names()
        .into_iter()
        .map(|name| {
            let (circuit, problems) = read::read_text(name, builtin::text(name).unwrap());
            assert!(problems.is_empty(), "{name}: {problems:?}");
            Arc::new(circuit.unwrap())
        })
        .collect()
}

#[test]
fn sound_circuits_work() {
    for circuit in circuits() {
        let lineup = Arc::new(Lineup::of(&circuit));
        let bench = Bench::new(&circuit, lineup).unwrap();
        for work in &circuit.works {
            for (test, should) in sights(&circuit, work) {
                let column = bench.columns(std::slice::from_ref(&test)).unwrap().remove(0);
                assert_eq!(
                    column.likeliest(0),
                    should,
                    "{}: `{}` does not come true: {} shows {:?}",
                    circuit.id,
                    work.name,
                    test.id,
                    column.shown[0]
                );
            }
        }
    }
}

/// With nothing operated, nothing is on: that is what `at rest` and `everything switched off` mean.
#[test]
fn what_can_be_off_is_off_at_rest() {
    for circuit in circuits() {
        // A lorry is parked with its isolator in, a boat with its pump on automatic.
        let left_on = ["isolator handle", "panel knob"];
        let controls = circuit.controls.iter();
        for control in controls.filter(|control| !left_on.contains(&control.name.as_str())) {
            let rest = &control.positions[control.rest];
            let has_off = control.positions.iter().any(|position| position == "off");
            assert!(!has_off || rest == "off", "{}: {} rests {rest}", circuit.id, control.name);
        }
    }
}

#[test]
fn each_is_written_out_for_a_learner() {
    for circuit in circuits() {
        let name = &circuit.id;
        assert!(!circuit.machine.is_empty() && !circuit.notes.is_empty(), "{name}");
        let usual = |part: &&halfsplit::circuit::Part| part.trouble > 1.0;
        assert!(
            circuit.parts.iter().filter(usual).count() >= 2,
            "{name}: what is its usual trouble?"
        );
        for part in &circuit.parts {
            if let Kind::Wire { colour, .. } = &part.kind {
                assert!(!colour.is_empty(), "{name}: {} has no colour", part.name);
            }
        }
    }
}

/// What to heed in a setup of a built-in circuit, before anything was read.
fn heeded(name: &str, setup: &str) -> Vec<String> {
    let circuit = Arc::new(read::read_text(name, builtin::text(name).unwrap()).0.unwrap());
    let study = Study::new(&circuit, &[], 0).unwrap();
    let setup = Setup::from_id(&circuit, setup).unwrap();
    machine_cautions(&study, &setup, &Course::new(&study).belief())
}

#[test]
fn what_may_run_is_warned_of() {
    assert_eq!(
        heeded("cooling-fan", "key.on+coolant.hot"),
        ["The fan motor may run: hands and sleeves clear of it."]
    );
    let engine = heeded("charging-magnet", "key.on+engine.fast");
    assert!(engine[0].starts_with("Engine running:"), "{engine:?}");
    assert_eq!(heeded("horn-relay", "key.on+horn-button.pressed"), [""; 0]);
}
