//! The review of looks: what is idle, and what spoke against a part.

use halfsplit::drill::fault::Setting;
use halfsplit::drill::judge::review;
use halfsplit::drill::log::What;
use halfsplit::drill::play::Drill;
use halfsplit::drill::weigh::{BUDGET, against};
use halfsplit::job::course::Course;
use halfsplit::job::course::doubt::doubted;
use halfsplit::job::study::Study;
use halfsplit::suspect::FixId;
use halfsplit::tester::expectations::Seen;
use halfsplit::tester::make::make;
use halfsplit::tester::{Target, Tester};

use super::{LAMP, study};

fn fix_of(study: &Study, suspect: &str) -> usize {
    let id = study.lineup().find(suspect).unwrap();
    study.lineup().suspects[id.index()].fix.index()
}

/// What the review says of the last look.
fn words_of_last_look(drill: &Drill<'_>) -> String {
    let mut looks = drill.log.iter().filter(|entry| matches!(entry.what, What::Look(_)));
    let last = looks.next_back().unwrap().done.clone();
    let steps = review(drill, &BUDGET);
    steps.iter().rev().find(|step| step.done == last).unwrap().words.join(" ")
}

#[test]
fn a_look_repeated_is_idle_only_where_nothing_has_changed_and_nothing_was_doubtful() {
    const AGAIN: &str = "It had been read before";
    let study = study(LAMP);
    let hidden = study.lineup().find("work-lamp.open").unwrap();
    let mut drill =
        Drill::hiding(&study, Setting { seed: 5, level: 3, kind: None }, vec![hidden]).unwrap();
    let at = study.circuit().find_terminal("toggle-switch.in").unwrap();
    let look = |drill: &mut Drill<'_>| {
        drill.look(Tester::LampGround, Target::Point(at)).unwrap();
    };
    drill.try_it(2.0).unwrap();
    look(&mut drill);
    look(&mut drill);
    assert!(words_of_last_look(&drill).contains(AGAIN));
    drill.off().unwrap();
    drill.mend(FixId(fix_of(&study, "toggle-switch.open") as u32)).unwrap();
    drill.try_it(2.0).unwrap();
    look(&mut drill);
    assert!(!words_of_last_look(&drill).contains(AGAIN), "the machine is another one since");
    look(&mut drill);
    assert!(words_of_last_look(&drill).contains(AGAIN));
}

#[test]
fn where_a_probe_may_miss_touching_once_more_is_right_and_twice_more_is_idle() {
    let study = study(LAMP);
    let hidden = study.lineup().find("work-lamp.open").unwrap();
    let mut drill =
        Drill::hiding(&study, Setting { seed: 5, level: 4, kind: None }, vec![hidden]).unwrap();
    let at = study.circuit().find_terminal("toggle-switch.in").unwrap();
    drill.try_it(2.0).unwrap();
    for words in ["It left", "Touched once more", "It had been read before"] {
        drill.look(Tester::LampGround, Target::Point(at)).unwrap();
        assert!(words_of_last_look(&drill).contains(words), "{}", words_of_last_look(&drill));
    }
}

#[test]
fn to_look_again_at_what_is_doubtful_is_not_idle() {
    let study = study(LAMP);
    let hidden = study.lineup().find("work-lamp.open").unwrap();
    let mut seen = 0;
    for seed in 0..60 {
        // Here and there a probe makes no contact.
        let setting = Setting { seed, level: 4, kind: None };
        let mut drill = Drill::hiding(&study, setting, vec![hidden]).unwrap();
        drill.try_it(2.0).unwrap();
        for id in ["battery.plus", "toggle-switch.in", "toggle-switch.out", "work-lamp.plus"] {
            let at = study.circuit().find_terminal(id).unwrap();
            drill.look(Tester::Volts, Target::Point(at)).unwrap();
            let Some(doubt) = doubted(&drill.course) else { continue };
            let test = study.known(&doubt.test).unwrap().test.clone();
            drill.take(&test).unwrap();
            let words = words_of_last_look(&drill);
            assert!(!words.contains("It had been read before"), "{words}");
            seen += 1;
            break;
        }
    }
    assert!(seen > 3, "only {seen} readings were doubtful");
}

#[test]
fn what_speaks_against_a_part_is_found_beside_a_reading_nobody_knows() {
    let study = study(LAMP);
    let circuit = study.circuit();
    let rest = study.check_setup();
    let test = |tester, target| make(circuit, tester, target, &rest).unwrap();
    let at = circuit.find_terminal("work-lamp.plus").unwrap();
    let lamp = circuit.part_by_id("work lamp").unwrap();
    let mut course = Course::new(&study);
    // Reckoned beside the study, so that it does not know it.
    let unknown = study.bench.column_of(&test(Tester::Watch, Target::Part(lamp))).unwrap();
    course.read(&unknown, &[Seen::Outcome(0)], 0);
    let known = study.column(&test(Tester::LampGround, Target::Point(at))).unwrap();
    let bright = known.outcomes.len() - 1;
    course.read(&known, &[Seen::Outcome(bright)], bright);
    let switch = circuit.part_by_id("toggle switch").unwrap();
    let lineup = study.lineup();
    let words = against(&course, |at| lineup.suspects[at].part == Some(switch));
    assert!(words.is_some_and(|words| words.contains("work lamp")));
}
