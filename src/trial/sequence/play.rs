//! A sequence against one hidden suspect.

use super::{Good, Look, Repair, Sequence, Then};
use crate::job::course::Course;
use crate::job::study::Study;
use crate::setup::Setup;
use crate::suspect::SuspectId;
use crate::tester::expectations::{Column, Seen};
use crate::trial::play::Play;

/// Does what the sheet says until a check passes or the sheet ends. No step is done twice.
pub fn play(study: &Study, sequence: &Sequence, hidden: SuspectId) -> Play {
    let mut course = Course::new(study);
    let mut play = Play::default();
    let mut done = vec![false; sequence.steps.len()];
    let mut next = Some(0);
    while let Some(at) = next
        && let Some(step) = sequence.steps.get(at)
        && !std::mem::replace(&mut done[at], true)
    {
        let is_good = look(&mut course, &step.look, hidden);
        let said = if is_good { "good" } else { "bad" };
        play.steps.push((step.label.clone(), said.to_owned()));
        let then = if is_good { &step.if_good } else { &step.if_bad };
        mend(&mut course, &mut play, then, hidden);
        next = then.next.filter(|_| !play.cured);
    }
    play.tests = course.tests;
    play.minutes = course.minutes;
    play
}

/// Whether what is looked at is as it should be.
fn look(course: &mut Course<'_>, look: &Look, hidden: SuspectId) -> bool {
    match look {
        Look::Reading { column, good } => {
            let seen = column.likeliest(hidden.index());
            course.read(column, &[Seen::Outcome(seen)], seen);
            is_good(column, good, hidden)
        }
        Look::Parts { finds, minutes, places } => {
            let rest = Setup::rest(course.study.circuit());
            course.minutes += course.minutes_to(&rest, places) + minutes;
            for place in places {
                course.opened[place.index()] = true;
            }
            course.setup = rest;
            course.tests += 1;
            !finds[hidden.index()]
        }
    }
}

fn is_good(column: &Column, good: &Good, hidden: SuspectId) -> bool {
    match good {
        Good::Between { least, most } => {
            let shown = column.test.scale.number_shown(column.shown[hidden.index()].level);
            (*least..=*most).contains(&shown)
        }
        Good::Outcomes(list) => list.contains(&column.likeliest(hidden.index())),
    }
}

fn mend(course: &mut Course<'_>, play: &mut Play, then: &Then, hidden: SuspectId) {
    let study = course.study;
    let cure = study.lineup().suspects[hidden.index()].fix.index();
    for repair in &then.fixes {
        let fix = match repair {
            Repair::Fix(fix) => *fix,
            Repair::Found => cure,
        };
        if !course.allows_fix(fix) {
            continue;
        }
        let cured = fix == cure;
        course.tried(fix, cured);
        let id = study.lineup().fixes[fix].id.clone();
        play.steps.push((id, if cured { "cured" } else { "not-cured" }.to_owned()));
        if cured {
            play.cured = true;
            return;
        }
        play.wrong_fixes += 1;
    }
}
