//! What to heed before a test or a repair: moving parts, cranking, battery gas, live circuits.

use crate::circuit::{Circuit, Control, Kind};
use crate::setup::Setup;
use crate::setup::moves::{Act, Move, moves};
use crate::tester::scale::Scale;
use crate::tester::{Test, Tester};

use crate::job::course::Course;
use crate::job::study::Study;
use crate::job::study::turns;

/// Names of controls by which a maker keeps an engine from cranking in gear.
const INTERLOCKS: [&str; 7] = ["gear", "neutral", "clutch", "stand", "seat", "selector", "brake"];

/// Cautions before a test: moving parts, cranking, battery gas, live circuits.
pub fn cautions(study: &Study, course: &Course<'_>, test: &Test, belief: &[f64]) -> Vec<String> {
    let circuit = study.circuit();
    let mut lines = Vec::new();
    if turns::may_turn(study, &test.setup, belief) {
        lines.extend(turning_cautions(circuit, &[&test.setup]));
    }
    lines.extend(machine_cautions(study, &test.setup, belief));
    let acts = moves(circuit, &course.setup, &test.setup);
    let at_battery = |step: &Move| matches!(step.act, Act::GroundOff | Act::GroundOn);
    if test.scale == Scale::Drain || acts.iter().any(at_battery) {
        lines.push("No flame or spark near the battery: its gas burns.".to_owned());
    }
    if acts.iter().any(|step| matches!(step.act, Act::Bridge(_))) {
        lines.push("A jumper with a fuse of 10 A in it, and nothing but what is named.".to_owned());
    }
    if test.tester == Tester::Bulb {
        lines.push("The bulb gets hot: keep it off paint and plastic.".to_owned());
    }
    if test.scale == Scale::Drain {
        lines.push("Switch nothing on meanwhile: the meter bears 10 A.".to_owned());
    } else if test.tester == Tester::Amps {
        lines.push("Not on a short: more than 10 A takes the meter's own fuse.".to_owned());
    }
    if test.tester == Tester::Ohms {
        lines.push("Ohms on a dead circuit only: battery ground cable off.".to_owned());
    }
    lines
}

/// Names of controls that stand in neutral, or not.
const GEARS: [&str; 3] = ["gear", "neutral", "selector"];

/// What to heed before an engine may turn in one of these setups.
pub fn turning_cautions(circuit: &Circuit, setups: &[&Setup]) -> Vec<String> {
    let called = |control: &Control, words: &[&str]| {
        words.iter().any(|word| control.name.to_lowercase().contains(word))
    };
    let has_interlock = circuit.controls.iter().any(|control| called(control, &INTERLOCKS));
    let in_gear = |setup: &&Setup| {
        let mut controls = circuit.controls.iter().zip(&setup.positions);
        controls.any(|(control, position)| *position != control.rest && called(control, &GEARS))
    };
    let may = if !has_interlock {
        "It may crank, in gear too (no interlock): neutral, chocks, stand clear"
    } else if setups.iter().any(in_gear) {
        "It may crank in gear and drive off: chocks, brake on, stand clear"
    } else {
        "It may crank: neutral, chocks, stand clear"
    };
    // 15 s, then 3 to 5 minutes: published for one truck; 5 s for each measurement in another. Short
    // is kinder to a small starter.
    vec![format!("{may}. 5 s at most, then let it rest.")]
}

/// What to heed where an engine runs, or a fan, pump or wiper may.
pub fn machine_cautions(study: &Study, setup: &Setup, belief: &[f64]) -> Vec<String> {
    let circuit = study.circuit();
    let mut lines = Vec::new();
    let runs = |(control, position): (&Control, &usize)| {
        control.by_machine
            && *position != control.rest
            && control.name.to_lowercase().contains("engine")
    };
    if circuit.controls.iter().zip(&setup.positions).any(runs) {
        lines.push("Engine running: neutral, brake on, fumes led away, clear of its belts.".into());
    }
    let motors: Vec<&str> = turns::turning(study, setup, belief, &Kind::Motor)
        .map(|part| circuit.part(part).name.as_str())
        .collect();
    if !motors.is_empty() {
        lines.push(format!("The {} may run: hands and sleeves clear of it.", motors.join(", ")));
    }
    lines
}
