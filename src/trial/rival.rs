//! Simpler ways of working, to measure the planner against.

use crate::job::course::Course;
use crate::job::paths::ways;
use crate::job::study::Study;
use crate::tester::expectations::Column;
use crate::tester::{Target, Tester, name};

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

/// What to do next: positions in the study's columns and in the line-up's fixes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Next {
    /// Take this reading.
    Test(usize),
    /// Do this fix and run the check.
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
    /// Columns in the order an end-to-end worker takes them.
    along: Vec<usize>,
}

impl Rival {
    /// `None` for the planner.
    pub fn of(way: Way, study: &Study) -> Option<Rival> {
        match way {
            Way::Planned => None,
            Way::EndToEnd => Some(Rival { way, along: along(study) }),
            Way::HalfByCount | Way::LikeliestFirst => Some(Rival { way, along: Vec::new() }),
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
            Way::HalfByCount if shares[best] < SURE => evenest(course, &belief),
            _ => None,
        };
        test.map_or(Next::Fix(best), Next::Test)
    }

    fn along_next(&self, course: &Course<'_>) -> Option<usize> {
        self.along.iter().copied().find(|&at| course.allows(&course.study.columns[at].test))
    }
}

/// Look at what should work first, then volts at each terminal the current meets, control side first.
fn along(study: &Study) -> Vec<usize> {
    let circuit = study.circuit();
    let setup = study.check_setup();
    let seen = crate::job::study::sights(circuit, study.work());
    let mut ids: Vec<String> = seen.into_iter().map(|(test, _)| test.id).collect();
    for way in ways(circuit, &setup) {
        for (_, terminal) in way.links {
            ids.push(name::id(circuit, Tester::Volts, Target::Point(terminal), &setup));
        }
    }
    let mut order = Vec::new();
    for id in ids {
        let at = study.columns.iter().position(|column| column.test.id == id);
        order.extend(at.filter(|at| !order.contains(at)));
    }
    order
}

/// The test whose largest group of live suspects is smallest; ties to the first.
fn evenest(course: &Course<'_>, belief: &[f64]) -> Option<usize> {
    let most = belief.iter().copied().fold(0.0, f64::max);
    let live: Vec<usize> = (0..belief.len()).filter(|&at| belief[at] >= LIVE * most).collect();
    let largest = |column: &Column| {
        let mut counts = vec![0usize; column.outcomes.len()];
        for &suspect in &live {
            counts[column.likeliest(suspect)] += 1;
        }
        counts.into_iter().max().unwrap_or(0)
    };
    let study = course.study;
    let allowed = study.planned.iter().filter(|&&at| course.allows(&study.columns[at].test));
    let best = allowed.map(|&at| (largest(&study.columns[at]), at)).min()?;
    (best.0 < live.len()).then_some(best.1)
}
