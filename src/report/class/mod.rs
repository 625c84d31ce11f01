//! The record of a class: who, what kinds of fault are missed, progress; one file a format.

pub mod csv;
pub mod html;
pub mod json;
pub mod text;

use std::collections::BTreeMap;

use serde::Serialize;

use crate::drill::kind::FaultKind;
use crate::drill::record::Record;
use crate::problem::sanitise;

/// Drills at either end that progress is told by.
const ENDS: usize = 3;

/// A class, taken together. All names are sanitised.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Class {
    /// The learners, by name.
    pub learners: Vec<Learner>,
    /// The kinds of fault that were met.
    pub kinds: Vec<KindRow>,
    /// Drills in all.
    pub drills: usize,
}

/// One learner.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Learner {
    /// As typed.
    pub name: String,
    /// Drills done.
    pub drills: usize,
    /// Share solved.
    pub solved: f64,
    /// Share in which the complaint was confirmed first.
    pub confirmed: f64,
    /// Share in which the repair was proven.
    pub proven: f64,
    /// Share in which no harm was done: nothing stopped, no good part exchanged on a guess.
    pub harmless: f64,
    /// Mean points.
    pub points: f64,
    /// Of the first drills.
    pub first_points: f64,
    /// Of the last ones.
    pub last_points: f64,
    /// Points of all drills, oldest first.
    pub course: Vec<f64>,
    /// The planner's minutes over the learner's, mean over what was solved.
    pub pace: Option<f64>,
    /// Orders that were stopped.
    pub stopped: usize,
    /// Hints taken.
    pub hints: usize,
    /// Kinds of fault not solved at least once: kind, missed, met.
    pub missed: Vec<(FaultKind, usize, usize)>,
}

/// One kind of fault over the class.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KindRow {
    /// The kind.
    pub kind: FaultKind,
    /// Drills in which it was hidden.
    pub drills: usize,
    /// Share solved.
    pub solved: f64,
    /// Mean points.
    pub points: f64,
    /// Who missed it.
    pub missed_by: Vec<String>,
}

/// Takes the drills of a class together.
pub fn sum_up(records: &[Record]) -> Class {
    let mut by_name: BTreeMap<String, Vec<&Record>> = BTreeMap::new();
    for record in records {
        by_name.entry(sanitise(&record.learner)).or_default().push(record);
    }
    for drills in by_name.values_mut() {
        drills.sort_by(|a, b| a.ended.cmp(&b.ended));
    }
    Class {
        kinds: kinds(records),
        learners: by_name.into_iter().map(|(name, drills)| learner(name, &drills)).collect(),
        drills: records.len(),
    }
}

fn share(drills: &[&Record], is: impl Fn(&Record) -> bool) -> f64 {
    mean(drills.iter().map(|one| f64::from(u8::from(is(one))))).unwrap_or(0.0)
}

fn mean(numbers: impl Iterator<Item = f64>) -> Option<f64> {
    let (sum, count) = numbers.fold((0.0, 0), |(sum, count), one| (sum + one, count + 1));
    (count > 0).then(|| sum / f64::from(count))
}

fn learner(name: String, drills: &[&Record]) -> Learner {
    let course: Vec<f64> = drills.iter().map(|one| one.points.all).collect();
    // First and last drills are different ones, or nothing could be seen of progress.
    let few = ENDS.min(course.len() / 2).max(1).min(course.len());
    let missed = FaultKind::ALL.into_iter().filter_map(|kind| {
        let met: Vec<&&Record> = drills.iter().filter(|one| one.kinds.contains(&kind)).collect();
        let missed = met.iter().filter(|one| !one.solved).count();
        (missed > 0).then_some((kind, missed, met.len()))
    });
    let pace = drills.iter().filter(|one| one.solved && one.minutes > 0.0);
    Learner {
        name,
        drills: drills.len(),
        solved: share(drills, |one| one.solved),
        confirmed: share(drills, |one| one.confirmed),
        proven: share(drills, |one| one.proven),
        harmless: share(drills, |one| one.stopped.is_empty() && one.vain == 0),
        points: mean(course.iter().copied()).unwrap_or(0.0),
        first_points: mean(course[..few].iter().copied()).unwrap_or(0.0),
        last_points: mean(course[course.len() - few..].iter().copied()).unwrap_or(0.0),
        pace: mean(pace.map(|one| one.par_minutes / one.minutes)),
        stopped: drills.iter().map(|one| one.stopped.len()).sum(),
        hints: drills.iter().map(|one| one.hints).sum(),
        missed: missed.collect(),
        course,
    }
}

fn kinds(records: &[Record]) -> Vec<KindRow> {
    let row = |kind: FaultKind| {
        let met: Vec<&Record> = records.iter().filter(|one| one.kinds.contains(&kind)).collect();
        let mut missed_by: Vec<String> =
            met.iter().filter(|one| !one.solved).map(|one| sanitise(&one.learner)).collect();
        missed_by.sort_unstable();
        missed_by.dedup();
        (!met.is_empty()).then(|| KindRow {
            kind,
            drills: met.len(),
            solved: share(&met, |one| one.solved),
            points: mean(met.iter().map(|one| one.points.all)).unwrap_or(0.0),
            missed_by,
        })
    };
    FaultKind::ALL.into_iter().filter_map(row).collect()
}

/// `open, no contact 2 of 3; short 1 of 1`.
pub fn missed_words(learner: &Learner) -> String {
    let words = learner
        .missed
        .iter()
        .map(|(kind, missed, met)| format!("{} {missed} of {met}", kind.words()));
    let list: Vec<String> = words.collect();
    if list.is_empty() { "none".to_owned() } else { list.join("; ") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drill::score::Points;

    /// A drill of somebody.
    fn record(learner: &str, ended: &str, kind: FaultKind, solved: bool, all: f64) -> Record {
        Record {
            halfsplit_drill: 1,
            learner: learner.to_owned(),
            ended: ended.to_owned(),
            circuit: "lamp".to_owned(),
            complaint: "lights".to_owned(),
            seed: 1,
            level: 3,
            hidden: vec![],
            parts: vec![],
            kinds: vec![kind],
            solved,
            confirmed: true,
            proven: solved,
            gave_up: !solved,
            stopped: vec![],
            vain: 0,
            misread: 0,
            hints: 1,
            idle: 0,
            tests: 3,
            par_tests: 3,
            minutes: 10.0,
            par_minutes: 8.0,
            expected_minutes: 9.0,
            look_share: Some(0.8),
            foretold_right: 0,
            foretold: 0,
            open_sets: None,
            points: Points { all, ..Points::default() },
            steps: vec![],
        }
    }

    #[test]
    fn a_class_is_taken_together_in_the_order_of_time() {
        let records = [
            record("Bo", "2026-03-02", FaultKind::Short, true, 80.0),
            record("Bo", "2026-03-01", FaultKind::Short, false, 20.0),
            record("Al", "2026-03-01", FaultKind::Open, true, 100.0),
        ];
        let class = sum_up(&records);
        assert_eq!(
            class.learners.iter().map(|one| one.name.as_str()).collect::<Vec<_>>(),
            ["Al", "Bo"]
        );
        let bo = &class.learners[1];
        assert_eq!(bo.course, [20.0, 80.0]);
        assert_eq!(bo.missed, [(FaultKind::Short, 1, 2)]);
        assert!((bo.solved - 0.5).abs() < 1e-12 && (bo.pace.unwrap() - 0.8).abs() < 1e-12);
        let short = class.kinds.iter().find(|one| one.kind == FaultKind::Short).unwrap();
        assert_eq!((short.drills, short.missed_by.as_slice()), (2, &["Bo".to_owned()][..]));
    }

    #[test]
    fn one_of_a_thing_is_not_called_many() {
        let class = sum_up(&[record("Bo", "2026-03-02", FaultKind::Short, true, 80.0)]);
        let text = text::write(&class);
        assert!(text.contains(": 1 drill\n") && text.contains("1 hint."), "{text}");
        assert!(html::write(&class).contains("1 learner, 1 drill<"));
    }
}
