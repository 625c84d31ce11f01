//! A trailer that has lost the ground its lamps share: which lamps glow how brightly in which switch
//! positions, by the program and by a circuit simulator, and what the program makes of that pattern.

use std::collections::BTreeSet;
use std::fmt::Write;
use std::process::Command;
use std::sync::Arc;

use halfsplit::circuit::{Circuit, Element, Kind, PartId, builtin, read};
use halfsplit::electric::Solver;
use halfsplit::setup::Setup;
use halfsplit::setup::wiring::Wiring;
use halfsplit::suspect::Lineup;
use halfsplit::suspect::damage::{Damage, changes};
use halfsplit::tester::expectations::{Bench, Column};
use halfsplit::tester::name;
use serde_json::Value;

use crate::spice::settle::{Walk, settle};
use crate::spice::simulator::Simulator;
use crate::spice::{MOST_OFF, is_ready};

const CIRCUIT: &str = "trailer-lamps";
/// The pin of the socket through which all trailer lamps find their ground.
const LOST: &str = "socket-3.open";
/// Parts of that ground path: pin, wires on both sides of it, and where it is bolted to the tow bar.
const GROUND_PATH: [&str; 4] =
    ["socket-3", "socket-3--tow-bar-ground", "socket-3--trailer-ground-joint", "tow-bar-ground"];

fn circuit() -> Arc<Circuit> {
    Arc::new(read::read_text(CIRCUIT, builtin::text(CIRCUIT).unwrap()).0.unwrap())
}

/// Every position of light switch, turn lever and brake pedal.
fn positions(circuit: &Circuit) -> Vec<Setup> {
    let mut all = vec![Setup::rest(circuit)];
    for (at, control) in circuit.controls.iter().enumerate() {
        let more: Vec<Setup> = all
            .iter()
            .flat_map(|setup| {
                (0..control.positions.len()).map(|position| {
                    let mut setup = setup.clone();
                    setup.positions[at] = position;
                    setup
                })
            })
            .collect();
        all = more;
    }
    all
}

fn lamps(circuit: &Circuit) -> Vec<PartId> {
    circuit.part_ids().filter(|part| circuit.part(*part).kind == Kind::Lamp).collect()
}

/// What is seen of each lamp in each position, in that order.
fn columns(bench: &Bench, setups: &[Setup]) -> Vec<Vec<Column>> {
    let circuit = &bench.circuit;
    let seen = |setup: &Setup| {
        let look = |lamp: &PartId| {
            let id = format!("watch/{}/{}", circuit.part(*lamp).id, setup.id(circuit));
            name::parse(circuit, &id).unwrap()
        };
        bench.columns(&lamps(circuit).iter().map(look).collect::<Vec<_>>()).unwrap()
    };
    setups.iter().map(seen).collect()
}

#[test]
fn lamps_glow_through_each_other_when_their_shared_ground_is_lost() {
    let circuit = circuit();
    let bench = Bench::new(&circuit, Arc::new(Lineup::of(&circuit))).unwrap();
    let lost = bench.lineup.find(LOST).unwrap().index();
    let setups = positions(&circuit);
    assert_eq!(setups.len(), 12);
    let mut table = format!("{:<54}", "");
    for lamp in lamps(&circuit) {
        write!(table, "{:<21}", circuit.part(lamp).name).unwrap();
    }
    let mut odd = 0;
    for (setup, row) in setups.iter().zip(columns(&bench, &setups)) {
        write!(table, "\n{:<54}", setup.id(&circuit)).unwrap();
        for column in row {
            let seen = |suspect: usize| &column.outcomes[column.likeliest(suspect)].id;
            let cell = format!("{:.2} {}", column.shown[lost].level, seen(lost));
            // What is not as on a sound trailer stands out.
            let is_odd = seen(lost) != seen(0);
            odd += usize::from(is_odd);
            write!(table, "{:<21}", if is_odd { format!("{cell} !") } else { cell }).unwrap();
        }
    }
    let table: Vec<&str> = table.lines().map(str::trim_end).collect();
    insta::assert_snapshot!("trailer_without_its_ground", table.join("\n"));
    assert!(odd > 20, "{odd}");
}

/// Volts across each lamp over its rated ones, by the program.
fn shares(circuit: &Circuit, setup: &Setup, damage: &[Damage]) -> Vec<f64> {
    let wiring = Wiring::new(circuit, setup);
    let solver = Solver::new(&wiring.network).unwrap();
    let case = solver.case(&changes(circuit, setup, &wiring, damage)).unwrap();
    of_rated(circuit, |terminal| case.node_volts(wiring.node(terminal)))
}

fn of_rated(circuit: &Circuit, at: impl Fn(halfsplit::circuit::TerminalId) -> f64) -> Vec<f64> {
    let share = |lamp: &PartId| {
        let link = circuit.links_of(*lamp)[0];
        let Element::Lamp { volts, .. } = circuit.link(link).element else { panic!("no lamp") };
        let (from, to) = circuit.ends(link);
        (at(from) - at(to)) / volts
    };
    lamps(circuit).iter().map(share).collect()
}

#[test]
fn a_circuit_simulator_sees_the_same_lamps_glow() {
    if !is_ready() {
        return;
    }
    let circuit = circuit();
    let lineup = Lineup::of(&circuit);
    let damage = &lineup.suspects[lineup.find(LOST).unwrap().index()].damage;
    let (setups, whole) = (positions(&circuit), BTreeSet::new());
    let mut walks: Vec<Walk<'_>> =
        setups.iter().map(|setup| Walk::new(&circuit, setup, damage, &whole)).collect();
    settle(&mut Simulator::default(), &mut walks);
    for (setup, walk) in setups.iter().zip(&walks) {
        let simulated = of_rated(&circuit, |terminal| walk.node_volts(terminal));
        for (own, other) in shares(&circuit, setup, damage).into_iter().zip(simulated) {
            let off = (own - other).abs();
            assert!(off < MOST_OFF, "{}: {own} and {other} by the simulator", setup.id(&circuit));
        }
    }
}

/// `next` with what a person sees of the trailer's lamps in these positions.
fn next(complaint: &str, positions: &[&str]) -> Value {
    let circuit = circuit();
    let bench = Bench::new(&circuit, Arc::new(Lineup::of(&circuit))).unwrap();
    let lost = bench.lineup.find(LOST).unwrap().index();
    let setups: Vec<Setup> =
        positions.iter().map(|id| Setup::from_id(&circuit, id).unwrap()).collect();
    let mut command = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
    command.args(["next", CIRCUIT, "--json", "--complaint", complaint]);
    for column in columns(&bench, &setups).into_iter().flatten() {
        let seen = &column.outcomes[column.likeliest(lost)].id;
        command.args(["--reading", &format!("{}={seen}", column.test.id)]);
    }
    let output = command.output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

/// Probability of each part's suspects together, the likeliest first.
fn by_part(next: &Value) -> Vec<(String, f64)> {
    let mut parts: Vec<(String, f64)> = Vec::new();
    for suspect in next["suspects"].as_array().unwrap() {
        let part = suspect["id"].as_str().unwrap().split('.').next().unwrap();
        let probability = suspect["probability"].as_f64().unwrap();
        match parts.iter_mut().find(|(known, _)| known == part) {
            Some((_, sum)) => *sum += probability,
            None => parts.push((part.to_owned(), probability)),
        }
    }
    parts.sort_by(|one, other| other.1.total_cmp(&one.1));
    parts
}

#[test]
fn the_pattern_of_lamps_names_the_ground() {
    let next = next("stop lamps", &["brake-pedal.pressed", "turn-lever.left", "turn-lever.right"]);
    let parts = by_part(&next);
    let on_path = |part: &str| GROUND_PATH.contains(&part);
    let sum = |parts: &[(String, f64)]| -> f64 {
        parts.iter().filter(|(part, _)| on_path(part)).map(|(_, probability)| probability).sum()
    };
    let ground = sum(&parts);
    let before = sum(&by_part(&self::next("stop lamps", &[])));
    assert!(before < 0.3, "the complaint alone says it: {before}");
    assert!(ground > 0.99, "{ground}: {:?}", &parts[..6]);
    let mut first: Vec<&str> = parts[..4].iter().map(|(part, _)| part.as_str()).collect();
    first.sort_unstable();
    assert_eq!(first, GROUND_PATH, "{:?}", &parts[..6]);
    // What it has the person do next lies on that path too.
    let step = if next["fix"].is_null() { &next["test"]["id"] } else { &next["fix"]["id"] };
    let step = step.as_str().unwrap();
    assert!(
        ["socket", "tow-bar-ground", "trailer-ground"].iter().any(|at| step.contains(at)),
        "{step}"
    );
}
