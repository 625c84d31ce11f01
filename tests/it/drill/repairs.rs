//! Repairs and their proofs: what a learner could know after them.

use halfsplit::drill::fault::Setting;
use halfsplit::drill::play::Drill;
use halfsplit::suspect::FixId;

use super::{LAMP, study};

#[test]
fn whoever_proves_lets_go_of_the_button_at_the_end() {
    let study = study("start-button");
    let hidden = study.lineup().find("start-button.open").unwrap();
    let mut drill =
        Drill::hiding(&study, Setting { seed: 5, level: 3, kind: None }, vec![hidden]).unwrap();
    drill.say_clear();
    assert!(drill.prove().unwrap().is_done());
    let (circuit, held) = (study.circuit(), study.proven_setup());
    assert_ne!(held, held.let_go(circuit), "the proof holds a button");
    assert_eq!(drill.course.setup, held.let_go(circuit));
}

#[test]
fn a_repair_that_failed_its_proof_is_believed_no_more() {
    let study = study(LAMP);
    let hidden = study.lineup().find("work-lamp.open").unwrap();
    let mut drill =
        Drill::hiding(&study, Setting { seed: 5, level: 3, kind: None }, vec![hidden]).unwrap();
    drill.try_it(2.0).unwrap();
    // Two good parts that can be mended as the machine stands.
    let fixes = study.lineup().fixes.iter().enumerate();
    let all = drill.course.fix_shares(&drill.course.belief());
    let wrong = study.lineup().suspects[hidden.index()].fix.index();
    let may = fixes.filter(|(at, fix)| !fix.ground_off && *at != wrong && fix.part.is_some());
    let mut may: Vec<usize> = may.map(|(at, _)| at).collect();
    may.sort_by(|a, b| all[*b].total_cmp(&all[*a]));
    let mended = [may[0], may[1]];
    let shares = |drill: &Drill<'_>| {
        let all = drill.course.fix_shares(&drill.course.belief());
        mended.map(|fix| all[fix])
    };
    let before = shares(&drill);
    assert!(before.iter().all(|share| *share > 0.005), "{before:?}");
    drill.off().unwrap();
    // Both are mended, then proven at once.
    for fix in mended {
        assert!(drill.mend(FixId(fix as u32)).unwrap().is_done());
    }
    drill.prove().unwrap();
    assert_eq!(drill.course.fixes, mended.map(|fix| (fix, false)));
    let after = shares(&drill);
    for (before, after) in before.iter().zip(after) {
        assert!(after < 0.1 * before, "{before} became {after}");
    }
}
