//! The planner on the same machine: what a drill is measured against.

use super::DrillError;
use super::fault::{Setting, level};
use super::play::Drill;
use super::tutor::{Advice, advice};
use super::weigh::BUDGET;
use crate::job::course::Course;
use crate::job::course::doubt::doubted;
use crate::job::course::proposal::Proposal;
use crate::job::study::Study;
use crate::plan::Progress;
use crate::setup::Setup;
use crate::suspect::{FixId, SuspectId};
use crate::tester::expectations::BenchError;

/// Steps after which a play has lost its way.
const MOST_STEPS: usize = 60;
/// Plays where chance has a hand in what is seen; the middle one counts.
const PLAYS: u64 = 3;

/// What the planner took.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Par {
    /// Minutes on this very fault, the look at the complaint included.
    pub minutes: f64,
    /// Looks, that one included.
    pub tests: usize,
    /// It found it.
    pub solved: bool,
    /// Minutes it expects from the start, over all faults that give this complaint.
    pub expected_minutes: f64,
}

/// Plays the planner on the machine of a drill.
///
/// # Errors
/// Where the machine has no operating point.
pub fn par(study: &Study, setting: Setting, hidden: &[SuspectId]) -> Result<Par, DrillError> {
    let by_chance = level(setting.level).number >= 4;
    let mut plays = Vec::new();
    for play in 0..if by_chance { PLAYS } else { 1 } {
        let mut drill = Drill::once_more(study, setting, hidden.to_vec(), play)?;
        play_on(&mut drill)?;
        let looks = drill.course.tests;
        plays.push((drill.minutes() - drill.resting_minutes, looks, drill.is_mended()));
    }
    plays.sort_by(|a, b| b.2.cmp(&a.2).then(a.0.total_cmp(&b.0)));
    let (minutes, tests, solved) = plays[(plays.len() - 1) / 2];
    let start = Course::new(study);
    let expected_minutes =
        Proposal::new(&start, &BUDGET, &Progress::default()).plan.expected_minutes;
    Ok(Par { minutes, tests, solved, expected_minutes })
}

/// Lets the planner play a drill to its end.
///
/// # Errors
/// Where the machine has no operating point.
pub fn play_on(drill: &mut Drill<'_>) -> Result<(), BenchError> {
    drill.say_clear();
    drill.try_it(1.0)?;
    for _ in 0..MOST_STEPS {
        let passed = match advice(drill) {
            Advice::Test(test) => {
                let told = drill.take(&test)?;
                if told.stopped.is_some() {
                    drill.rest();
                    drill.take(&test)?;
                }
                repeat_the_doubtful(drill)?;
                false
            }
            Advice::Fix(fix) => mend_and_prove(drill, fix)?,
            Advice::Stop => return Ok(()),
        };
        if passed {
            return Ok(());
        }
    }
    Ok(())
}

fn repeat_the_doubtful(drill: &mut Drill<'_>) -> Result<(), BenchError> {
    let Some(doubt) = doubted(&drill.course) else { return Ok(()) };
    let times = drill.course.spent.iter().filter(|id| **id == doubt.test).count();
    if times < 2
        && let Some(column) = drill.study.known(&doubt.test)
    {
        drill.take(&column.test)?;
    }
    Ok(())
}

/// Does a repair in the safe order, and proves it; whether it is proven.
///
/// # Errors
/// Where the machine has no operating point.
pub fn mend_and_prove(drill: &mut Drill<'_>, fix: usize) -> Result<bool, BenchError> {
    let repair = &drill.study.lineup().fixes[fix];
    if let Some(part) = repair.part {
        drill.claim(part);
    }
    let stand: Setup = drill.study.fix_setup(repair);
    drill.go(&stand)?;
    drill.mend(FixId(fix as u32))?;
    drill.say_clear();
    drill.prove()?;
    Ok(matches!(
        drill.log.last().map(|entry| &entry.what),
        Some(super::log::What::Proof { passed: true })
    ))
}
