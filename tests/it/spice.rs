//! Every built-in circuit and the small ones of `tests/data/kinds`, in every setup, under every suspect,
//! beside a general-purpose circuit simulator: node volts within a millivolt or a thousandth, the same
//! relays pulled, the same inputs fed, the same fuses blown.
//!
//! One operating point in five of four built-in circuits, one in forty of the others is compared, all of them
//! with `HALFSPLIT_SPICE_ALL=1` or in CI; with `HALFSPLIT_SPICE_ONLY=start-car` all of that circuit.
//! The simulator is Debian's package `ngspice`. Without it nothing is compared, which is said aloud, and
//! is a failure in CI.

#![allow(clippy::print_stderr, reason = "a skipped comparison and its figures are to be seen")]

mod netlist;
pub mod settle;
pub mod simulator;
mod table;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use std::time::Instant;

use halfsplit::circuit::{Circuit, Kind, LinkId, TerminalId, builtin, read};
use halfsplit::electric::{BranchId, Case, Change, Law, RelayId, Solver, Steadiness};
use halfsplit::setup::Setup;
use halfsplit::setup::wiring::Wiring;
use halfsplit::suspect::damage::{changes, left};
use halfsplit::suspect::{Lineup, SuspectId};
use halfsplit::tester::Instrument;
use halfsplit::tester::enumerate::{setups, tests};
use halfsplit::tester::expectations::Bench;
use halfsplit::tester::scope::Scope;

use crate::agreement::hold_simulator;
use netlist::Mover;
use settle::{Walk, movers, settle};
use simulator::Simulator;
use table::{Armature, Table, tables};

/// What a node may be off: a millivolt, or a thousandth of its volts.
const LEAST_VOLTS: f64 = 1e-3;
const SHARE: f64 = 1e-3;

/// The same of a lamp's volts over its rated ones.
pub const MOST_OFF: f64 = 1e-3 / 12.0;

/// One operating point in so many is compared, all of them in CI or when this variable is set.
const ONE_IN: usize = 5;
/// Circuits of which all points are compared.
const FULLY: [&str; 4] = ["start-button", "start-interlock", "horn-relay", "trailer-lamps"];
/// Circuits with a relay or solenoid for which nobody has worked a table out by hand yet; no further one may
/// join them.
const UNTABLED: [&str; 6] =
    ["battery-drain", "cooling-fan", "fuel-pump", "headlamp", "start-car", "start-lorry-24"];
/// The same of the built-in circuits beyond four.
const ONE_BUILT_IN_IN: usize = 40;
/// Setups with something bridged, swapped or out are many and alike: so many times fewer of each, but where all is
/// compared.
const SUBSTITUTES_ONE_IN: usize = 4;
const ALL: &str = "HALFSPLIT_SPICE_ALL";
/// So far the simulator's rounding may lift an island that floats.
const LEVEL_VOLTS: f64 = 0.02;
/// Names of built-in circuits, to compare these alone, in full.
const ONLY: &str = "HALFSPLIT_SPICE_ONLY";

/// Differences told before the rest is only counted.
const MOST_TOLD: usize = 20;

/// A built-in circuit with its suspects.
struct Subject {
    circuit: Arc<Circuit>,
    lineup: Arc<Lineup>,
    bench: Bench,
}

impl Subject {
    fn builtin(name: &str) -> Subject {
        Subject::of(name, builtin::text(name).unwrap())
    }

    fn of(name: &str, text: &str) -> Subject {
        let circuit = Arc::new(read::read_text(name, text).0.unwrap());
        let lineup = Arc::new(Lineup::of(&circuit));
        let bench = Bench::new(&circuit, Arc::clone(&lineup)).unwrap();
        Subject { circuit, lineup, bench }
    }

    /// Fuses blown under each suspect once everything that should work has been tried.
    fn blown(&self, simulator: &mut Simulator) -> Vec<BTreeSet<LinkId>> {
        let mut blown = vec![BTreeSet::new(); self.lineup.suspects.len()];
        for work in &self.circuit.works {
            let setup = Setup::for_work(&self.circuit, work);
            let mut walks: Vec<Walk<'_>> =
                (0..blown.len()).map(|suspect| self.walk(&setup, suspect, &blown)).collect();
            settle(simulator, &mut walks);
            blown = walks.iter().map(|walk| walk.blown().clone()).collect();
        }
        blown
    }

    /// What the program makes of a suspect in a setup, fuses blown before included.
    fn changes(&self, setup: &Setup, wiring: &Wiring, suspect: usize) -> Vec<Change> {
        let damage = left(&self.circuit, setup, &self.lineup.suspects[suspect].damage);
        let mut list = changes(&self.circuit, setup, wiring, &damage);
        let blown = self.blown_before(setup, suspect).into_iter();
        list.extend(blown.map(|branch| Change::Law { branch, law: Law::Open }));
        list
    }

    /// Fuses that the program has blown before, but for those just swapped.
    fn blown_before(&self, setup: &Setup, suspect: usize) -> Vec<BranchId> {
        let part = |fuse: &BranchId| self.circuit.link(LinkId::new(fuse.0 as usize)).part;
        let mut blown = self.bench.blown(SuspectId(suspect as u32)).to_vec();
        blown.retain(|fuse| !setup.swapped.contains(&part(fuse)));
        blown
    }

    /// A setup under a suspect.
    fn walk<'a>(
        &'a self,
        setup: &'a Setup,
        suspect: usize,
        blown: &[BTreeSet<LinkId>],
    ) -> Walk<'a> {
        let damage = &self.lineup.suspects[suspect].damage;
        Walk::new(&self.circuit, setup, damage, &blown[suspect])
    }
}

/// What was compared, and how far apart it was.
#[derive(Default)]
struct Tally {
    points: usize,
    nodes: usize,
    worst_volts: f64,
    worst_at: String,
    differences: Vec<String>,
}

impl Tally {
    fn node(&mut self, place: impl Fn() -> String, program: f64, simulator: f64) {
        self.nodes += 1;
        let off_volts = (program - simulator).abs();
        if off_volts.is_nan() || off_volts > f64::max(LEAST_VOLTS, SHARE * simulator.abs()) {
            let place = place();
            self.differences.push(format!("{place}: {program} V, simulator {simulator} V"));
        } else if off_volts > self.worst_volts {
            self.worst_volts = off_volts;
            self.worst_at = place();
        }
    }

    fn same<T: PartialEq + std::fmt::Debug>(&mut self, place: &str, program: &T, simulator: &T) {
        if program != simulator {
            self.differences.push(format!("{place}: {program:?}, simulator {simulator:?}"));
        }
    }
}

/// Compares a setup under those suspects that were walked.
fn compare(tally: &mut Tally, subject: &Subject, setup: &Setup, walks: &[(usize, Walk<'_>)]) {
    let circuit = &subject.circuit;
    let wiring = Wiring::new(circuit, setup);
    let solver = Solver::new(&wiring.network).unwrap();
    for (suspect, walk) in walks {
        let id = &subject.lineup.suspects[*suspect].id;
        let place = |what: &str| format!("{} {id} {what}", setup.id(circuit));
        let case = match solver.case(&subject.changes(setup, &wiring, *suspect)) {
            Ok(case) => case,
            Err(error) => {
                tally.differences.push(place(&error.to_string()));
                continue;
            }
        };
        tally.points += 1;
        let program = |terminal| case.node_volts(wiring.node(terminal));
        let lifted = lifted(walk, &program);
        for terminal in circuit.terminal_ids() {
            let lifted = lifted.get(&terminal).copied().unwrap_or(0.0);
            let place = || place(&circuit.terminal(terminal).id);
            tally.node(place, program(terminal), walk.node_volts(terminal) + lifted);
        }
        let (pulled, chattering) = armatures(circuit, &wiring, &case);
        tally.same(&place("pulled"), &pulled, &walk.pulled());
        tally.same(&place("chattering"), &chattering, &walk.chattering());
        let before = subject.blown_before(setup, *suspect);
        let blown: BTreeSet<LinkId> =
            before.iter().chain(case.blown()).map(|fuse| LinkId::new(fuse.0 as usize)).collect();
        tally.same(&place("blown"), &blown, walk.blown());
    }
}

/// How far the simulator has islands that float off the level at which their leaks add up to none, by terminal.
///
/// Only leaks hold such a level. What rounding leaves of the simulator's amperes, a femtoampere of ten, moves the
/// handful of terminals of an island by a millivolt; a lorry's starter's, by ten.
fn lifted(walk: &Walk<'_>, program: &impl Fn(TerminalId) -> f64) -> BTreeMap<TerminalId, f64> {
    let level = |island: Vec<TerminalId>| {
        let off = |&terminal: &TerminalId| program(terminal) - walk.node_volts(terminal);
        let mean = island.iter().map(off).sum::<f64>() / island.len() as f64;
        let lifted = if mean.abs() <= LEVEL_VOLTS { mean } else { 0.0 };
        island.into_iter().map(move |terminal| (terminal, lifted))
    };
    walk.floating().into_iter().flat_map(level).collect()
}

/// What the program has pulled (fed) for good, and what it has chattering.
fn armatures(
    circuit: &Circuit,
    wiring: &Wiring,
    case: &Case<'_>,
) -> (BTreeSet<Mover>, BTreeSet<Mover>) {
    let moving = match case.steadiness() {
        Steadiness::Steady => &[][..],
        Steadiness::Chatters { relays } => relays,
    };
    let relay = |mover: &Mover| match mover {
        Mover::Armature(part) => wiring.relay(*part),
        Mover::Input(link) => wiring.sense(*link),
    };
    let having = |is: &dyn Fn(RelayId) -> bool| {
        let all = circuit.part_ids().flat_map(|part| movers(circuit, part));
        all.filter(|mover| relay(mover).is_some_and(is)).collect()
    };
    (having(&|relay| case.pulled(relay)), having(&|relay| moving.contains(&relay)))
}

/// Whether to go on; without the simulator only CI insists.
pub fn is_ready() -> bool {
    if simulator::is_installed() {
        return true;
    }
    let how = "`ngspice` is not installed: apt-get install --no-install-recommends ngspice";
    assert!(std::env::var_os("CI").is_none(), "{how}");
    eprintln!("operating points are NOT compared with a circuit simulator: {how}");
    false
}

/// The setups of all tests, those with something bridged, swapped or out last; and how many come before.
fn all_setups(circuit: &Circuit) -> (Vec<Setup>, usize) {
    let mut all = setups(circuit, &Scope::whole());
    let usual = all.len();
    let kit = [Instrument::Meter, Instrument::Bulb, Instrument::Jumper, Instrument::Spares];
    for test in tests(circuit, &Scope::whole(), &kit) {
        if !all.contains(&test.setup) {
            all.push(test.setup);
        }
    }
    (all, usual)
}

/// Compares a circuit, one operating point in `every`, and gives back how they compare.
fn compare_circuit(subject: &Subject, every: usize) -> Tally {
    let start = Instant::now();
    let mut simulator = Simulator::default();
    let blown = subject.blown(&mut simulator);
    let (setups, usual) = all_setups(&subject.circuit);
    // Shifted from setup to setup, so that each setup and each suspect has its share.
    let taken = |at: usize| {
        let every = if at < usual || every == 1 { every } else { SUBSTITUTES_ONE_IN * every };
        (0..blown.len()).filter(move |suspect| (at + suspect).is_multiple_of(every))
    };
    let mut places = Vec::new();
    let mut walks = Vec::new();
    for (at, setup) in setups.iter().enumerate() {
        places.extend(taken(at).map(|suspect| (at, suspect)));
        walks.extend(taken(at).map(|suspect| subject.walk(setup, suspect, &blown)));
    }
    settle(&mut simulator, &mut walks);
    let simulated = start.elapsed();
    let mut tally = Tally::default();
    let mut walks = places.into_iter().zip(walks).peekable();
    for (at, setup) in setups.iter().enumerate() {
        let mut here = Vec::new();
        while let Some(((_, suspect), walk)) = walks.next_if(|((setup, _), _)| *setup == at) {
            here.push((suspect, walk));
        }
        compare(&mut tally, subject, setup, &here);
    }
    eprintln!(
        "{}: {} setups, {} suspects, {} operating points, {} node volts, {} netlists; simulator \
         {:.1} s, all {:.1} s; worst {:.1e} V of {}; {} differ",
        subject.circuit.id,
        setups.len(),
        subject.lineup.suspects.len(),
        tally.points,
        tally.nodes,
        simulator.count(),
        simulated.as_secs_f64(),
        start.elapsed().as_secs_f64(),
        tally.worst_volts,
        tally.worst_at,
        tally.differences.len(),
    );
    tally
}

#[test]
fn every_operating_point_agrees_with_a_circuit_simulator() {
    let what = "four built-in circuits, setups and suspects: node volts";
    compare_all(what, FULLY.into_iter().map(Subject::builtin), every(ONE_IN));
}

#[test]
fn operating_points_of_the_other_circuits_agree_with_a_circuit_simulator() {
    let others = builtin::names().into_iter().filter(|name| !FULLY.contains(name));
    if let Ok(only) = std::env::var(ONLY) {
        let asked: Vec<&str> = only.split(',').collect();
        assert!(asked.iter().all(|name| builtin::text(name).is_some()), "no such circuit: {only}");
        let what = "some built-in circuits in full";
        return compare_all(what, asked.into_iter().map(Subject::builtin), 1);
    }
    let what = "the other built-in circuits, setups and suspects: node volts";
    compare_all(what, others.map(Subject::builtin), every(ONE_BUILT_IN_IN));
}

#[test]
fn small_circuits_with_every_kind_of_part_agree_with_a_circuit_simulator() {
    let mut files: Vec<_> =
        std::fs::read_dir("tests/data/kinds").unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    assert!(files.len() >= 10);
    let subjects = files.iter().map(|path| {
        let text = std::fs::read_to_string(path).unwrap();
        Subject::of(path.file_stem().unwrap().to_str().unwrap(), &text)
    });
    compare_all("circuits of a few kinds of part each: node volts", subjects, every(ONE_IN));
}

/// How many operating points there are for one that is compared.
fn every(one_in: usize) -> usize {
    let all = std::env::var_os(ALL).is_some() || std::env::var_os("CI").is_some();
    if all { 1 } else { one_in }
}

fn compare_all(what: &str, subjects: impl Iterator<Item = Subject>, every: usize) {
    if !is_ready() {
        return;
    }
    let mut differences = Vec::new();
    let (mut nodes, mut worst_volts) = (0, 0.0);
    for subject in subjects {
        let tally = compare_circuit(&subject, every);
        nodes += tally.nodes;
        worst_volts = f64::max(worst_volts, tally.worst_volts);
        let found = tally.differences.into_iter();
        differences.extend(found.map(|difference| format!("{}: {difference}", subject.circuit.id)));
    }
    let told = &differences[..differences.len().min(MOST_TOLD)];
    assert!(told.is_empty(), "{} differences, such as\n{}", differences.len(), told.join("\n"));
    if std::env::var_os(ONLY).is_none() {
        hold_simulator(what, nodes, every == 1, worst_volts);
    }
}

#[test]
fn relays_do_what_the_table_worked_out_by_hand_says() {
    let tables = tables();
    let mut compared = 0;
    for name in builtin::names() {
        let subject = Subject::builtin(name);
        let table = tables.iter().find(|table| table.circuit == name);
        let has_relay = subject.circuit.parts.iter().any(|part| is_relay(&part.kind));
        let should = has_relay && !UNTABLED.contains(&name);
        assert_eq!(table.is_some(), should, "{name} in tests/data/spice/relays.yaml");
        if let Some(table) = table {
            compared += check_table(&subject, table);
        }
    }
    assert!(compared > 10_000, "only {compared} were compared");
}

fn is_relay(kind: &Kind) -> bool {
    matches!(kind, Kind::Relay | Kind::Solenoid)
}

fn check_table(subject: &Subject, table: &Table) -> usize {
    let circuit = &subject.circuit;
    for id in table.suspects() {
        assert!(subject.lineup.find(&id).is_some(), "{} has no suspect `{id}`", table.circuit);
    }
    let relay = Mover::Armature(circuit.part_by_id(&table.relay).unwrap());
    let mut compared = 0;
    let mut differences = Vec::new();
    for setup in setups(circuit, &Scope::whole()) {
        let wiring = Wiring::new(circuit, &setup);
        let solver = Solver::new(&wiring.network).unwrap();
        let id = setup.id(circuit);
        for (at, suspect) in subject.lineup.suspects.iter().enumerate() {
            let case = solver.case(&subject.changes(&setup, &wiring, at)).unwrap();
            let (pulled, chattering) = armatures(circuit, &wiring, &case);
            let does = match (pulled.contains(&relay), chattering.contains(&relay)) {
                (true, _) => Armature::Pulled,
                (false, true) => Armature::Chatters,
                (false, false) => Armature::Released,
            };
            let says = table.says(&id, &suspect.id);
            if does != says {
                differences.push(format!("{id} {}: {does:?}, table {says:?}", suspect.id));
            }
            compared += 1;
        }
    }
    let told = &differences[..differences.len().min(MOST_TOLD)];
    assert!(told.is_empty(), "{}: {}\n{}", table.circuit, differences.len(), told.join("\n"));
    compared
}
