//! What the planner proposes at a point of a job.

use super::Course;
use crate::job::study::agenda::Agenda;
use crate::plan::action::{Action, Plan};
use crate::plan::bit_set::BitSet;
use crate::plan::budget::{Budget, Method, Progress};
use crate::plan::decide::{plan, plan_node};
use crate::plan::focus::Focus;
use crate::plan::problem::State;
use crate::plan::revised::{Revised, revise};
use crate::tester::scale::Shown;
use crate::tester::{Test, Tester};

/// Strangers with more than this share together are planned for like the others.
const STRANGERS: f64 = 0.02;

/// A plan, and the agenda its numbers belong to.
#[derive(Debug)]
pub struct Proposal<'a> {
    /// What is best, and what was looked at beside it.
    pub plan: Plan,
    /// What the planner was shown.
    pub agenda: &'a Agenda,
}

/// An action in the job's own terms.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Next<'a> {
    /// Take a reading.
    Test(&'a Test),
    /// Do a fix (its number in the line-up).
    Fix(usize),
    /// Nothing more.
    Stop,
}

/// So many suspects are planned with as they show themselves by now, the likeliest first.
const MOST_REVISED: usize = 10;
/// Of a problem with more chances than this, none: to lay it out anew would be felt at each step.
const MOST_ENTRIES: usize = 3_000_000;
/// Suspects with a smaller share are not.
const LEAST_REVISED: f64 = 0.01;
/// Grades with less than this part of the likeliest one's share are left out.
const SMALL_PART: f64 = 0.02;

/// The likelier grades alone; sums to 1.
fn main_part(grades: &[f64]) -> Vec<f64> {
    let most = grades.iter().copied().fold(0.0, f64::max);
    let kept = |share: &f64| if *share >= SMALL_PART * most { *share } else { 0.0 };
    let total: f64 = grades.iter().map(kept).sum();
    grades.iter().map(|share| kept(share) / total).collect()
}

impl<'a> Proposal<'a> {
    /// What is best at this point of a job, by what its study shows the planner.
    pub fn new(course: &Course<'a>, budget: &Budget, progress: &Progress) -> Proposal<'a> {
        let agenda = agenda_of(course);
        let (prepared, state) = (&agenda.prepared, state(agenda, course));
        let revised = revised(agenda, course, &state.belief);
        if revised.is_empty() {
            return Proposal { plan: plan(prepared, &state, budget, progress), agenda };
        }
        let Focus { prepared, node } = revise(prepared, &state, &revised);
        let plan = plan_node(Method::Best, &prepared, &node, budget, progress);
        Proposal { plan, agenda }
    }

    /// The best action.
    pub fn best(&self) -> Next<'a> {
        self.next(self.plan.action)
    }

    /// The test or fix of an action of the plan.
    pub fn next(&self, action: Action) -> Next<'a> {
        match action {
            Action::Test(at) => Next::Test(&self.agenda.tests[at]),
            Action::Fix(at) => Next::Fix(self.agenda.fixes[at]),
            Action::Batch(_) | Action::Stop => Next::Stop,
        }
    }
}

/// What the planner is shown at this point of a job.
///
/// Before anything was done, tests with the machine whole; then all worth planning with; and where the
/// readings point to suspects that should not give rise to the complaint, those that tell them too.
pub fn agenda_of<'a>(course: &Course<'a>) -> &'a Agenda {
    let study = course.study;
    if course.is_fresh() {
        return study.first_agenda();
    }
    let belief = course.belief();
    let strangers = belief.iter().zip(study.live()).filter(|(_, live)| !**live);
    let strangers: f64 = strangers.map(|(share, _)| share).sum();
    if strangers > STRANGERS { study.agenda_with_strangers() } else { study.whole_agenda() }
}

/// What the likelier suspects show by now whose severity some reading has told.
///
/// In the look-ahead two tests of one suspect count as independent; the next turn's plan knows better. A
/// huge problem is planned with the steps alone: laying it out anew takes too long.
fn revised(agenda: &Agenda, course: &Course<'_>, belief: &[f64]) -> Vec<Revised> {
    if agenda.prepared.entries() > MOST_ENTRIES {
        return Vec::new();
    }
    let mut likely: Vec<usize> =
        (0..belief.len()).filter(|&at| belief[at] > LEAST_REVISED).collect();
    likely.sort_by(|&a, &b| belief[b].total_cmp(&belief[a]));
    likely.truncate(MOST_REVISED);
    let revise = |suspect: usize| {
        let grades = course.grades(suspect)?;
        let graded = agenda.graded(&course.study.bench, suspect)?;
        let row = |(at, shown): (usize, &Vec<Shown>)| {
            let (test, edges) = (&agenda.tests[at], &agenda.edges[at]);
            // A connector moved about shows that a joint is bad, however bad.
            if test.tester == Tester::Wiggle {
                return Vec::new();
            }
            course.study.bench.over_grades((test, edges), shown, &main_part(&grades))
        };
        let rows = graded.iter().enumerate().map(row).collect();
        Some(Revised { hypothesis: suspect, rows })
    };
    likely.into_iter().filter_map(revise).collect()
}

/// The state of the planner's problem that a job has come to.
pub fn state(agenda: &Agenda, course: &Course<'_>) -> State {
    let places = course.opened.len();
    let open: Vec<usize> = (0..places).filter(|&at| course.opened[at]).collect();
    let shut = |at: &usize| !course.allows(&agenda.tests[*at]);
    let tried = |at: &usize| !course.allows_fix(agenda.fixes[*at]);
    State {
        belief: course.belief(),
        mode: agenda.modes.iter().position(|mode| *mode == course.setup).unwrap_or(0) as u32,
        opened: bits(places, open.into_iter()),
        used_tests: bits(agenda.tests.len(), (0..agenda.tests.len()).filter(shut)),
        used_fixes: bits(agenda.fixes.len(), (0..agenda.fixes.len()).filter(tried)),
    }
}

fn bits(room: usize, members: impl Iterator<Item = usize>) -> BitSet {
    let mut set = BitSet::with_room(room);
    for member in members {
        set.insert(member);
    }
    set
}
