//! Simpler ways of working, to measure the planner against.

use std::collections::HashSet;
use std::sync::Arc;

use crate::job::course::Course;
use crate::job::study::Study;
use crate::job::study::complaint::sights;
use crate::job::study::paths::ways;
use crate::tester::expectations::Column;
use crate::tester::make::make;
use crate::tester::{Instrument, Target, Test, Tester};

/// A way of working.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Way {
    /// The planner.
    Planned,
    /// Volts at every point along the current paths, from the supply end, until a fault shows.
    EndToEnd,
    /// The test that parts the live suspects most evenly by count, whatever it costs.
    HalfByCount,
    /// No tests: the likeliest part first, then the next.
    LikeliestFirst,
}

impl Way {
    /// The ways to compare, the planner first.
    pub const ALL: [Way; 4] = [Way::Planned, Way::EndToEnd, Way::HalfByCount, Way::LikeliestFirst];

    /// Key in JSON.
    pub fn id(self) -> &'static str {
        match self {
            Way::Planned => "planned",
            Way::EndToEnd => "end_to_end",
            Way::HalfByCount => "half_split_by_count",
            Way::LikeliestFirst => "likeliest_first",
        }
    }

    /// For a person.
    pub fn words(self) -> &'static str {
        match self {
            Way::Planned => "halfsplit",
            Way::EndToEnd => "point by point from the supply end",
            Way::HalfByCount => "half-split by count",
            Way::LikeliestFirst => "likeliest part first",
        }
    }
}

/// What to do next.
#[derive(Debug, Clone, PartialEq)]
pub enum Next {
    /// Take this reading.
    Test(Arc<Column>),
    /// Do this fix, by its number in the line-up, and run the check.
    Fix(usize),
    /// Nothing is left.
    Stop,
}

/// One part is so suspect that this way of working repairs it.
const SURE: f64 = 0.8;
/// Suspects below this share of the likeliest one are no longer counted as live.
const LIVE: f64 = 0.02;

/// A simpler way of working, ready for one study.
#[derive(Debug)]
pub struct Rival {
    way: Way,
    /// The tests it takes from, in the order in which an end-to-end worker takes them.
    tests: Vec<Arc<Column>>,
}

impl Rival {
    /// `None` for the planner.
    pub fn of(way: Way, study: &Study) -> Option<Rival> {
        match way {
            Way::Planned => None,
            Way::EndToEnd => Some(Rival { way, tests: along(study) }),
            Way::HalfByCount => Some(Rival { way, tests: planned(study) }),
            Way::LikeliestFirst => Some(Rival { way, tests: Vec::new() }),
        }
    }

    /// What to do next.
    pub fn next(&self, course: &Course<'_>) -> Next {
        let belief = course.belief();
        let shares = course.fix_shares(&belief);
        let open = (0..shares.len()).filter(|&fix| course.allows_fix(fix));
        let Some(best) = open.max_by(|&a, &b| shares[a].total_cmp(&shares[b])) else {
            return Next::Stop;
        };
        let test = match self.way {
            Way::EndToEnd if shares[best] < SURE => self.along_next(course),
            Way::HalfByCount if shares[best] < SURE => self.evenest(course, &belief),
            _ => None,
        };
        test.map_or(Next::Fix(best), Next::Test)
    }

    fn along_next(&self, course: &Course<'_>) -> Option<Arc<Column>> {
        self.tests.iter().find(|column| course.allows(&column.test)).cloned()
    }

    /// The test whose largest group of live suspects is smallest; ties to the first.
    fn evenest(&self, course: &Course<'_>, belief: &[f64]) -> Option<Arc<Column>> {
        let most = belief.iter().copied().fold(0.0, f64::max);
        let live: Vec<usize> = (0..belief.len()).filter(|&at| belief[at] >= LIVE * most).collect();
        let largest = |column: &Column| {
            let mut counts = vec![0usize; column.outcomes.len()];
            for &suspect in &live {
                counts[column.likeliest(suspect)] += 1;
            }
            counts.into_iter().max().unwrap_or(0)
        };
        let allowed = self.tests.iter().filter(|column| course.allows(&column.test));
        let (count, best) =
            allowed.map(|column| (largest(column), column)).min_by_key(|(count, _)| *count)?;
        (count < live.len()).then(|| Arc::clone(best))
    }
}

/// The tests the planner is shown.
fn planned(study: &Study) -> Vec<Arc<Column>> {
    study.whole_agenda().tests.iter().filter_map(|test| study.column(test).ok()).collect()
}

/// Look at what should work first, then volts at each terminal the current meets, control side first.
fn along(study: &Study) -> Vec<Arc<Column>> {
    let circuit = study.circuit();
    let setup = study.check_setup();
    let sights = sights(circuit, study.work());
    let mut order: Vec<Test> = sights.into_iter().map(|(test, _)| test).collect();
    for (_, terminal) in ways(circuit, &setup).into_iter().flat_map(|way| way.links) {
        order.extend(make(circuit, Tester::Volts, Target::Point(terminal), &setup));
    }
    let at_hand = |one| one == Instrument::Senses || study.kit().contains(&one);
    order.retain(|test| test.instruments().all(at_hand));
    let mut seen = HashSet::new();
    order.retain(|test| seen.insert(test.id.clone()));
    order.iter().filter_map(|test| study.column(test).ok()).collect()
}
