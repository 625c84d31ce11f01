//! What the played machine shows, beside the table of expected readings (the same solver, another path) and
//! beside a circuit simulator.

use std::collections::BTreeSet;

use halfsplit::drill::fault::Setting;
use halfsplit::drill::fault::cases;
use halfsplit::drill::machine::{Machine, Plan};
use halfsplit::drill::play::Drill;
use halfsplit::job::event::Answer;
use halfsplit::job::study::Study;
use halfsplit::suspect::SuspectId;
use halfsplit::tester::expectations::Bench;
use halfsplit::tester::{Target, Test, Tester};

use super::{LAMP, study};
use crate::spice::is_ready;
use crate::spice::settle::{Walk, settle};
use crate::spice::simulator::Simulator;

/// Levels of the played machine and of the table may differ by rounding.
const MOST_OFF: f64 = 1e-9;

fn plan<'a>(study: &'a Study, hidden: &'a [SuspectId]) -> Plan<'a> {
    Plan { circuit: study.circuit(), lineup: study.lineup(), hidden, seed: 1, misses: 0.0, play: 0 }
}

/// One test in so many, so that each tester and setup has its share.
fn sample(study: &Study, every: usize) -> Vec<Test> {
    let columns = study.columns().unwrap();
    columns.iter().step_by(every).map(|column| column.test.clone()).collect()
}

#[test]
fn a_machine_as_filed_shows_what_expect_says_of_its_fault() {
    let mut compared = 0;
    for (name, every) in [(LAMP, 1), ("horn-relay", 23)] {
        let study = study(name);
        let tests = sample(&study, every);
        for hidden in cases(&study, false).into_iter().step_by(if every == 1 { 1 } else { 5 }) {
            let list = [hidden];
            let mut machine = Machine::nominal(plan(&study, &list)).unwrap();
            for test in &tests {
                let expected = study.column(test).unwrap().shown[hidden.index()];
                let seen = machine.look(test).unwrap();
                let id = &study.lineup().suspects[hidden.index()].id;
                let off = (seen.level - expected.level).abs();
                assert!(off <= MOST_OFF, "{id} {}: {} and {}", test.id, seen.level, expected.level);
                compared += 1;
            }
        }
    }
    assert!(compared > 1_000, "only {compared} were compared");
}

#[test]
fn a_machine_within_its_tolerances_reads_as_likely_as_expect_says() {
    // Of readings that are spread as reckoned, few lie beyond three deviations.
    let study = study(LAMP);
    let tests = sample(&study, 1);
    let (mut far, mut all) = (0, 0);
    for seed in 0..12 {
        for hidden in cases(&study, false) {
            let list = [hidden];
            let mut machine = Machine::new(Plan { seed, ..plan(&study, &list) }).unwrap();
            for test in tests.iter().filter(|test| test.tester == Tester::Volts) {
                let shown = study.column(test).unwrap().shown[hidden.index()];
                let Answer::Number(read) = machine.look(test).unwrap().answer else {
                    panic!("volts")
                };
                let deviation = shown.spread.hypot(test.scale.blur(shown.level)).hypot(0.005);
                far += usize::from((read - shown.level).abs() > 3.0 * deviation);
                all += 1;
            }
        }
    }
    assert!(all > 500 && far * 50 < all, "{far} of {all} are beyond three deviations");
}

#[test]
fn node_volts_of_the_played_machine_are_those_of_a_circuit_simulator() {
    if !is_ready() {
        return;
    }
    let study = study("horn-relay");
    let circuit = study.circuit();
    let bench = &study.bench;
    let tests: Vec<Test> =
        sample(&study, 1).into_iter().filter(|test| test.tester == Tester::Volts).collect();
    let hidden: Vec<SuspectId> = cases(&study, false).into_iter().step_by(9).collect();
    let tests: Vec<&Test> = tests.iter().step_by(11).collect();
    let mut simulator = Simulator::default();
    let mut compared = 0;
    for one in hidden {
        let blown: BTreeSet<_> = Bench::blown(bench, one)
            .iter()
            .map(|fuse| halfsplit::circuit::LinkId::new(fuse.0 as usize))
            .collect();
        let damage = &study.lineup().suspects[one.index()].damage;
        let mut walks: Vec<Walk<'_>> =
            tests.iter().map(|test| Walk::new(circuit, &test.setup, damage, &blown)).collect();
        settle(&mut simulator, &mut walks);
        let list = [one];
        let mut machine = Machine::nominal(plan(&study, &list)).unwrap();
        for (test, walk) in tests.iter().zip(&walks) {
            let Target::Point(at) = test.target else { continue };
            let (read, volts) = (machine.look(test).unwrap().level, walk.node_volts(at));
            let id = &study.lineup().suspects[one.index()].id;
            // The meter's own ten megohms are not in the netlist.
            let allowed = 0.002 + 0.002 * volts.abs();
            assert!((read - volts).abs() < allowed, "{id} {}: {read} and {volts}", test.id);
            compared += 1;
        }
    }
    assert!(compared > 50, "only {compared} were compared");
}

#[test]
fn a_new_fuse_before_a_short_blows_again_and_the_right_repair_renews_it() {
    let study = study("horn-relay");
    let is_short = |id: &SuspectId| {
        study.lineup().suspects[id.index()].id.split_once('.').is_some_and(|id| id.1 == "short")
    };
    let shorts: Vec<SuspectId> = cases(&study, false).into_iter().filter(is_short).collect();
    let fuse_of = |id: SuspectId| {
        let fuse = study.bench.blown(id).first()?;
        let part = study.circuit().link(halfsplit::circuit::LinkId::new(fuse.0 as usize)).part;
        study.lineup().fixes.iter().position(|fix| fix.part == Some(part))
    };
    let (short, fuse) =
        shorts.iter().find_map(|id| Some((*id, fuse_of(*id)?))).expect("a short that blows");
    let setting = Setting { seed: 3, level: 3, kind: None };
    let mut drill = Drill::hiding(&study, setting, vec![short]).unwrap();
    drill.say_clear();
    let mend = |drill: &mut Drill<'_>, fix: usize| {
        let stand = study.fix_setup(&study.lineup().fixes[fix]);
        drill.go(&stand).unwrap();
        drill.mend(halfsplit::suspect::FixId(fix as u32)).unwrap();
        drill.say_clear();
        drill.prove().unwrap()
    };
    let told = mend(&mut drill, fuse);
    assert!(!drill.is_mended(), "{told:?}");
    let flashes = drill.log.iter().any(|entry| entry.seen.contains("has blown"));
    assert!(flashes, "{told:?}");
    let fails = told.lines.iter().any(|line| line.contains("not as it should"));
    assert!(fails, "{told:?}");
    let right = study.lineup().suspects[short.index()].fix.index();
    let told = mend(&mut drill, right);
    assert!(drill.is_mended());
    assert!(told.lines.iter().any(|line| line.contains("Everything does")), "{told:?}");
}
