//! What a job that is stuck would need: the tester or the place whose best test would say most.

use std::sync::Arc;

use crate::circuit::PlaceId;
use crate::job::course::Course;
use crate::job::state::Job;
use crate::job::words;
use crate::tester::Instrument;
use crate::tester::enumerate::tests;
use crate::tester::expectations::Column;

/// Things named at most.
const MOST: usize = 3;
/// A test that makes the right repair surer by less is not worth fetching anything for.
const LEAST_GAIN: f64 = 0.05;
/// In larger circuits only places are thought of: each tester would be a table of its own.
const MOST_PARTS: usize = 300;

/// What would help, best first, a line each.
pub fn needs(job: &Job, course: &Course<'_>, belief: &[f64]) -> Vec<String> {
    let now = surest(course, belief, None);
    let mut list: Vec<(f64, String)> = Vec::new();
    let mut offer = |what: String, columns: Vec<Arc<Column>>| {
        let circuit = job.study().circuit();
        let best = columns
            .iter()
            .filter(|column| !course.spent.contains(&column.test.id))
            .map(|column| (surest(course, belief, Some(column)), column))
            .max_by(|a, b| a.0.total_cmp(&b.0));
        if let Some((after, column)) = best.filter(|(after, _)| *after >= now + LEAST_GAIN) {
            let title = words::title_in_setup(circuit, &column.test);
            let words = format!(
                "Would help: {what} ({title}); the right repair would be known with {:.0} %, now {:.0} %.",
                after * 100.0,
                now * 100.0
            );
            list.push((after, words));
        }
    };
    for instrument in absent(job, course) {
        offer(instrument.words().to_owned(), with_tester(job, course, instrument));
    }
    for &place in &course.unreachable {
        let name = job.study().circuit().places[place.index()].name.clone();
        offer(format!("a way to reach {name}"), at_place(job, course, place));
    }
    list.sort_by(|a, b| b.0.total_cmp(&a.0));
    list.into_iter().take(MOST).map(|(_, words)| words).collect()
}

/// Probability that the repair done next would be the right one, on average over what `column` may show.
fn surest(course: &Course<'_>, belief: &[f64], column: Option<&Arc<Column>>) -> f64 {
    let best = |row: Option<&Vec<f64>>| {
        let joint = |(at, share): (usize, &f64)| share * row.map_or(1.0, |row| row[at]);
        let joint: Vec<f64> = belief.iter().enumerate().map(joint).collect();
        course.fix_shares(&joint).into_iter().fold(0.0, f64::max)
    };
    column.map_or_else(|| best(None), |one| one.likelihood.iter().map(|row| best(Some(row))).sum())
}

fn absent(job: &Job, course: &Course<'_>) -> Vec<Instrument> {
    if job.study().circuit().parts.len() > MOST_PARTS {
        return Vec::new();
    }
    let at_hand =
        |one: &Instrument| job.study().kit().contains(one) && !course.missing.contains(one);
    Instrument::KIT.into_iter().filter(|one| !at_hand(one)).collect()
}

fn reachable(course: &Course<'_>, column: &Column) -> bool {
    !column.test.places.iter().any(|place| course.unreachable.contains(place))
}

fn with_tester(job: &Job, course: &Course<'_>, instrument: Instrument) -> Vec<Arc<Column>> {
    let study = job.study();
    let list = tests(study.circuit(), study.scope(), &[instrument]);
    let with_it: Vec<_> =
        list.into_iter().filter(|test| test.instruments().any(|one| one == instrument)).collect();
    let columns = study.bench.columns(&with_it).unwrap_or_default();
    columns.into_iter().map(Arc::new).filter(|one| reachable(course, one)).collect()
}

fn at_place(job: &Job, course: &Course<'_>, place: PlaceId) -> Vec<Arc<Column>> {
    let others = |column: &Column| {
        let places = column.test.places.iter();
        places.clone().any(|one| *one == place)
            && !places.clone().any(|one| *one != place && course.unreachable.contains(one))
            && !column.test.instruments().any(|one| course.missing.contains(&one))
    };
    let columns = job.study().columns().unwrap_or_default();
    columns.iter().filter(|column| others(column)).cloned().collect()
}
