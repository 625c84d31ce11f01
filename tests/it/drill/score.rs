//! The score: the planner's own play is worth about a hundred, blind play far less; what is stopped counts.

use halfsplit::drill::fault::{Setting, cases, chosen};
use halfsplit::drill::judge::{Mark, review};
use halfsplit::drill::par::{Par, mend_and_prove, par, play_on};
use halfsplit::drill::play::Drill;
use halfsplit::drill::safety::Danger;
use halfsplit::drill::score::{Score, TIME, score};
use halfsplit::drill::weigh::BUDGET;
use halfsplit::job::study::Study;
use halfsplit::setup::moves::Act;
use halfsplit::suspect::{FixId, SuspectId};
use halfsplit::tester::enumerate::tests_in;
use halfsplit::tester::scope::Scope;
use halfsplit::tester::{Instrument, Target, Tester};
use proptest::prelude::*;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

use super::{LAMP, study};

fn setting(seed: u64) -> Setting {
    Setting { seed, level: 3, kind: None }
}

fn scored(drill: &Drill<'_>) -> Score {
    let par = par(drill.study, drill.setting, &drill.hidden).unwrap();
    score(drill, &review(drill, &BUDGET), par)
}

/// Looks and repairs drawn by chance until it works.
fn blindly(study: &Study, setting: Setting, hidden: Vec<SuspectId>) -> Drill<'_> {
    let mut dice = Pcg64Mcg::seed_from_u64(setting.seed ^ 0x63);
    let mut drill = Drill::hiding(study, setting, hidden).unwrap();
    let kit = [Instrument::Lamp, Instrument::Meter];
    let setups = [halfsplit::setup::Setup::rest(study.circuit()), study.check_setup()];
    let tests = tests_in(study.circuit(), &Scope::whole(), &kit, &setups);
    drill.say_clear();
    for _ in 0..60 {
        if dice.random::<f64>() < 0.7 {
            drill.take(&tests[dice.random_range(0..tests.len())]).unwrap();
            continue;
        }
        let fix = dice.random_range(1..study.lineup().fixes.len() - 1);
        if mend_and_prove(&mut drill, fix).unwrap() {
            break;
        }
    }
    drill
}

#[test]
fn the_planners_own_play_is_worth_about_a_hundred_and_blind_play_far_less() {
    let study = study(LAMP);
    let (mut own, mut blind, mut count) = (0.0, 0.0, 0.0);
    for (seed, hidden) in cases(&study, false).into_iter().enumerate() {
        let setting = setting(seed as u64);
        let mut drill = Drill::hiding(&study, setting, vec![hidden]).unwrap();
        play_on(&mut drill).unwrap();
        let points = scored(&drill).points.all;
        let id = &study.lineup().suspects[hidden.index()].id;
        assert!(points >= 95.0, "the planner on {id}: {points}");
        own += points;
        blind += scored(&blindly(&study, setting, vec![hidden])).points.all;
        count += 1.0;
    }
    assert!(count >= 10.0);
    assert!(own / count > 97.0, "the planner: {}", own / count);
    assert!(blind / count < 60.0, "blind play: {}", blind / count);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, ..ProptestConfig::default() })]

    #[test]
    fn points_are_within_their_bounds_and_no_drill_beats_a_hundred(seed in 0_u64..1_000) {
        let study = study(LAMP);
        let drill = Drill::new(&study, setting(seed)).unwrap();
        let hidden = drill.hidden.clone();
        let score = scored(&blindly(&study, setting(seed), hidden));
        prop_assert!((0.0..=100.0).contains(&score.points.all));
        prop_assert!(score.points.no_harm >= 0.0 && score.points.time <= 30.0);
        prop_assert!(!score.proven || score.solved);
        prop_assert!(score.look_share.is_none_or(|share| (0.0..=1.0 + 1e-9).contains(&share)));
    }

    #[test]
    fn the_same_seed_is_the_same_drill(seed in 0_u64..1_000) {
        let study = study(LAMP);
        let seen = || {
            let mut drill = Drill::new(&study, setting(seed)).unwrap();
            play_on(&mut drill).unwrap();
            drill.log.iter().map(|entry| format!("{} {}", entry.done, entry.seen)).collect::<Vec<_>>()
        };
        prop_assert_eq!(seen(), seen());
    }
}

#[test]
fn unsafe_orders_are_stopped_explained_and_counted() {
    let study = study("start-button");
    let circuit = study.circuit();
    let mut drill = Drill::new(&study, setting(1)).unwrap();
    let stopped = |drill: &mut Drill<'_>, told: halfsplit::drill::play::Told, danger: Danger| {
        assert_eq!(told.stopped, Some(danger), "{told:?}");
        assert!(told.lines.iter().any(|line| line.starts_with("STOP")), "{told:?}");
        drill.minutes()
    };
    let at = |id: &str| circuit.find_terminal(id).unwrap();
    let before = drill.minutes();
    let ohms = Target::Pair(at("solenoid.coil-in"), at("solenoid.coil-out"));
    let told = drill.look(Tester::Ohms, ohms).unwrap();
    stopped(&mut drill, told, Danger::OhmsLive);
    let heavy = Target::Pair(at("battery.plus"), at("starter.plus"));
    let told = drill.look(Tester::LampAcross, heavy).unwrap();
    stopped(&mut drill, told, Danger::LampAcrossHeavy);
    let cable = circuit.part_by_id("starter cable").unwrap();
    let told = drill.act(&Act::Lift(cable)).unwrap();
    stopped(&mut drill, told, Danger::CableLive);
    let told = drill.try_it(3.0).unwrap();
    let now = stopped(&mut drill, told, Danger::NotClear);
    // Nothing was done but what came before it.
    assert!(now - before < 0.5, "{now}");
    drill.say_clear();
    let key = circuit.control_by_id("key").unwrap().index();
    assert!(drill.act(&Act::Control(key, 1)).unwrap().is_done());
    let told = drill.act(&Act::GroundOff).unwrap();
    stopped(&mut drill, told, Danger::SwitchedOn);
    drill.off().unwrap();
    let starter = study.lineup().fixes.iter().position(|fix| fix.ground_off).unwrap();
    let told = drill.mend(FixId(starter as u32)).unwrap();
    stopped(&mut drill, told, Danger::RepairLive);
    drill.say_clear();
    let told = drill.try_it(12.0).unwrap();
    stopped(&mut drill, told, Danger::TooLong);
    let score = scored(&drill);
    assert_eq!(score.dangers.len(), 7, "{:?}", score.dangers);
    assert!(score.points.no_harm.abs() < 1e-9);
    let steps = review(&drill, &BUDGET);
    assert_eq!(steps.iter().filter(|step| step.mark == Mark::Unsafe).count(), 7);
}

#[test]
fn a_good_part_in_exchange_on_a_guess_counts_and_the_review_says_what_was_better() {
    let study = study("start-button");
    let hidden = study.lineup().find("start-button.open").unwrap();
    let mut drill = Drill::hiding(&study, setting(2), vec![hidden]).unwrap();
    drill.say_clear();
    drill.try_it(2.0).unwrap();
    let solenoid = study.lineup().find_fix("replace-solenoid").unwrap();
    assert!(!mend_and_prove(&mut drill, solenoid.index()).unwrap());
    let steps = review(&drill, &BUDGET);
    let vain = steps.iter().find(|step| step.mark == Mark::Vain).expect("a repair in vain");
    assert!(vain.words.iter().any(|words| words.starts_with("Better: ")), "{vain:?}");
    let score = scored(&drill);
    assert!(!score.solved && score.confirmed && score.vain == 1);
}

#[test]
fn a_part_that_the_readings_rule_out_is_a_reading_misunderstood() {
    let study = study(LAMP);
    let hidden = study.lineup().find("work-lamp.open").unwrap();
    let mut drill = Drill::hiding(&study, setting(5), vec![hidden]).unwrap();
    let circuit = study.circuit();
    drill.try_it(2.0).unwrap();
    // Full volts behind the switch: the switch is well.
    let at = circuit.find_terminal("work-lamp.plus").unwrap();
    drill.look(Tester::LampGround, Target::Point(at)).unwrap();
    let switch = circuit.part_by_id("toggle switch").unwrap();
    drill.claim(switch);
    let steps = review(&drill, &BUDGET);
    let claim = steps.iter().find(|step| step.mark == Mark::Misnamed).expect("a wrong claim");
    assert!(claim.words.iter().any(|words| words.contains("ruled it out")), "{claim:?}");
    assert!(
        claim.words.iter().any(|words| words.contains("work lamp")),
        "it names the reading: {claim:?}"
    );
    let counted = scored(&drill);
    assert_eq!(counted.misread, 1);
    // By what was done, not by the words of the review.
    assert_eq!(score(&drill, &[], counted.par).misread, 1);
}

#[test]
fn where_the_planner_found_nothing_the_learner_has_all_the_time() {
    let study = study(LAMP);
    let hidden = study.lineup().find("work-lamp.open").unwrap();
    let mut drill = Drill::hiding(&study, setting(1), vec![hidden]).unwrap();
    play_on(&mut drill).unwrap();
    let own = par(&study, drill.setting, &drill.hidden).unwrap();
    let time =
        |solved: bool, minutes: f64| score(&drill, &[], Par { solved, minutes, ..own }).points.time;
    assert!((time(true, own.minutes) - TIME).abs() < 1e-9);
    assert!(time(true, 0.5 * own.minutes) < 0.6 * TIME);
    // It gave up early: that is no yardstick.
    assert!((time(false, 0.5 * own.minutes) - TIME).abs() < 1e-9);
}

#[test]
fn a_steady_fault_and_one_that_comes_and_goes_are_not_hidden_together() {
    let study = study("horn-relay");
    let suspects = &study.lineup().suspects;
    let all = cases(&study, true);
    let of = |steady: bool| {
        let found = all.iter().find(|id| (suspects[id.index()].shows >= 1.0) == steady);
        suspects[found.unwrap().index()].id.clone()
    };
    let (steady, comes) = (of(true), of(false));
    for one in [&steady, &comes] {
        assert_eq!(chosen(&study, one).unwrap().len(), 1);
    }
    let error = chosen(&study, &format!("{steady},{comes}")).unwrap_err().to_string();
    assert!(error.contains("comes and goes"), "{error}");
}

#[test]
fn every_level_hides_something_and_five_hides_two_or_what_comes_and_goes() {
    let study = study("start-button");
    let (mut pairs, mut now_and_then) = (0, 0);
    for seed in 0..40 {
        for level in 1..=5 {
            let drill = Drill::new(&study, Setting { seed, level, kind: None }).unwrap();
            let suspects = &study.lineup().suspects;
            let shows =
                drill.hidden.iter().map(|id| suspects[id.index()].shows).fold(1.0, f64::min);
            if level == 5 {
                pairs += usize::from(drill.hidden.len() == 2);
                now_and_then += usize::from(shows < 1.0);
            } else {
                assert!(drill.hidden.len() == 1 && shows >= 1.0);
            }
        }
    }
    assert!(pairs > 8 && now_and_then > 8 && pairs + now_and_then == 40, "{pairs} {now_and_then}");
}
