//! Takes a job together for its card.

use super::{Fault, JobCard, Path, PathPart, Row, RowKind, Verdict};
use crate::job::course::Course;
use crate::job::course::taken;
use crate::job::entry::answered::evidence;
use crate::job::event::{Answer, Event};
use crate::job::fold::Folded;
use crate::job::journal::Kept;
use crate::job::shown::cautions;
use crate::job::shown::double::said as two_faults;
use crate::job::shown::ending::misread;
use crate::job::shown::material;
use crate::job::shown::present::fix_cautions;
use crate::job::shown::proof;
use crate::job::shown::rows::paths;
use crate::job::standing::{PathRow, SuspectLine};
use crate::job::state::Job;
use crate::job::words;
use crate::problem::sanitise;
use crate::report::draw::Marks;
use crate::report::draw::svg::svg;
use crate::report::plain::clean;
use crate::tester::expectations::Column;
use crate::tester::scale::{OVERLOAD_LEVEL, Scale};

/// Suspects named on the card of a job that is not proven.
const NAMED: usize = 5;
/// Faults less likely than this are not named beside a proven one.
const LEAST_FAULT: f64 = 0.01;

/// The card of a job; `kept` is the job file that `job` was replayed from.
pub fn sum_up(job: &Job, kept: &Kept) -> JobCard {
    let circuit = job.study().circuit();
    let folded = job.folded();
    let course = &folded.course;
    let belief = course.belief();
    let (rows, cautions) = rows(job);
    JobCard {
        circuit: sanitise(&circuit.name),
        machine: sanitise(&circuit.machine),
        complaint: sanitise(&job.study().work().name),
        kit: clean(kept.header.kit.clone()),
        started: when(&kept.header.started),
        rows,
        verdict: verdict(job, course, &belief, folded.cured),
        minutes: course.minutes,
        tests: course.tests,
        cautions,
        surprise: surprise(job, course, &belief, folded.cured).map(|line| sanitise(&line)),
        drawing: drawing(job, folded.cured),
        paths: drawn(job, &belief, folded.cured),
        header: kept.header.clone(),
        events: kept.events.clone(),
    }
}

/// `2026-03-01T09:12:33.5Z` as `2026-03-01 09:12 UTC`; anything else as it stands.
fn when(started: &str) -> String {
    let started = sanitise(started);
    match (started.split_once('T'), started.ends_with('Z')) {
        (Some((day, time)), true) if time.is_ascii() && time.len() >= 5 => {
            format!("{day} {} UTC", &time[..5])
        }
        _ => started,
    }
}

/// What was done, each with the minutes it added, and what had to be heeded for it.
fn rows(job: &Job) -> (Vec<Row>, Vec<String>) {
    let mut so_far = Folded::new(job.study());
    let mut rows: Vec<Row> = Vec::new();
    let mut cautions: Vec<String> = Vec::new();
    for event in job.counting() {
        for caution in clean(heed(job, &so_far.course, event)) {
            if !cautions.contains(&caution) {
                cautions.push(caution);
            }
        }
        let (found, before) = (so_far.found.len(), so_far.course.minutes);
        so_far.take(event);
        let Some(line) = so_far.found.get(found) else { continue };
        let minutes = so_far.course.minutes - before;
        rows.push(row(job, event, rows.len() + 1, (&line.what, &line.seen), minutes));
    }
    (rows, cautions)
}

/// What had to be heeded for a step when it was done.
fn heed(job: &Job, course: &Course<'_>, event: &Event) -> Vec<String> {
    let study = job.study();
    match event {
        Event::Reading { test, .. } => job.column(test).map_or_else(Vec::new, |column| {
            cautions::cautions(study, course, &column.test, &course.belief())
        }),
        Event::Tried { fix, .. } => job
            .fix(fix)
            .map_or_else(|_| Vec::new(), |fix| fix_cautions(study, fix.index(), &course.belief())),
        _ => Vec::new(),
    }
}

fn row(job: &Job, event: &Event, number: usize, said: (&str, &str), minutes: f64) -> Row {
    let mut row = Row {
        number,
        kind: RowKind::Note,
        id: String::new(),
        what: sanitise(said.0),
        setup: String::new(),
        seen: sanitise(said.1),
        sound: String::new(),
        differs: false,
        minutes,
    };
    let about = |row: &mut Row, test: &str| {
        row.id = sanitise(test);
        if let Some(column) = job.column(test) {
            let circuit = job.study().circuit();
            row.what = sanitise(&words::title(circuit, &column.test));
            row.setup = sanitise(&column.test.setup.words(circuit));
        }
    };
    match event {
        Event::Reading { test, answer } | Event::Told { test, answer } => {
            row.kind = RowKind::Reading;
            about(&mut row, test);
            if let Some(column) = job.column(test) {
                row.sound = sanitise(&sound(&column));
                row.differs = differs(job, &column, answer);
            }
        }
        Event::Skipped { test, .. } => {
            row.kind = RowKind::Skipped;
            about(&mut row, test);
        }
        Event::Tried { fix, .. } => {
            row.kind = RowKind::Repair;
            row.id = sanitise(fix);
        }
        Event::FixSkipped { fix } => {
            row.kind = RowKind::Skipped;
            row.id = sanitise(fix);
        }
        // Their words say all there is.
        Event::Battery { .. }
        | Event::Replaced { .. }
        | Event::Reach { .. }
        | Event::Equipped { .. }
        | Event::Note { .. }
        | Event::Chose { .. }
        | Event::Undone
        | Event::Redone => {}
    }
    row
}

/// What the sound circuit would show.
fn sound(column: &Column) -> String {
    let level = column.shown[0].level;
    let Some(unit) = column.test.tester.unit() else {
        return column.outcomes[column.likeliest(0)].words.clone();
    };
    if column.test.scale == Scale::Ohms && level >= OVERLOAD_LEVEL {
        return "no end of ohms".to_owned();
    }
    match (unit, column.test.scale.number_shown(level)) {
        ("V", volts) if column.test.scale == Scale::Millivolts => {
            format!("{:.1} mV", volts * 1000.0)
        }
        ("V", volts) => format!("{volts:.2} V"),
        (unit, number) if number < 9.95 => format!("{number:.1} {unit}"),
        (unit, number) => format!("{number:.0} {unit}"),
    }
}

/// A reading so much less likely in the sound circuit than under the suspect it fits best is marked.
const SLIP_RATIO: f64 = 0.12;

/// The sound circuit would hardly ever show this.
fn differs(job: &Job, column: &Column, answer: &Answer) -> bool {
    let Some((said, ..)) = evidence(column, answer) else { return false };
    let likelihood = taken::reading(job.study(), column, &said).likelihood;
    let best = likelihood.iter().copied().fold(0.0, f64::max);
    likelihood[0] < SLIP_RATIO * best
}

fn verdict(job: &Job, course: &Course<'_>, belief: &[f64], cured: Option<usize>) -> Verdict {
    let study = job.study();
    let lines = job.suspect_lines(belief);
    let put_back = clean(words::put_back(course));
    let Some(fix) = cured else {
        return Verdict {
            proven: false,
            title: "Not proven yet".to_owned(),
            faults: lines.into_iter().take(NAMED).map(fault).collect(),
            repair: None,
            parts: Vec::new(),
            proof: Vec::new(),
            put_back,
        };
    };
    let repair = &study.lineup().fixes[fix];
    let mut faults: Vec<Fault> =
        lines.into_iter().filter(|line| line.fix == repair.title).map(fault).collect();
    let total: f64 = faults.iter().map(|fault| fault.probability).sum();
    for fault in &mut faults {
        fault.probability /= total;
    }
    faults.retain(|fault| fault.probability >= LEAST_FAULT);
    Verdict {
        proven: true,
        title: "Proven: it works again".to_owned(),
        faults,
        repair: Some(sanitise(&repair.title)),
        parts: clean(material::for_fix(study, fix)),
        proof: clean(proof::lines(job, course, &study.fix_setup(repair))),
        put_back,
    }
}

fn fault(line: SuspectLine) -> Fault {
    Fault {
        id: line.id,
        part: sanitise(&line.part),
        fault: sanitise(&line.fault),
        probability: line.probability,
    }
}

/// What does not fit: of a proven repair, what was likely misread on the way to it.
fn surprise(
    job: &Job,
    course: &Course<'_>,
    belief: &[f64],
    cured: Option<usize>,
) -> Option<String> {
    match cured {
        Some(_) => two_faults(job, course).or_else(|| misread(job, course)),
        None => job.surprise(course, belief),
    }
}

fn drawing(job: &Job, cured: Option<usize>) -> String {
    let bad = cured.and_then(|fix| job.study().lineup().fixes[fix].part);
    let marks = Marks { parts: bad.into_iter().collect() };
    svg(job.study().circuit(), &marks).into_string()
}

fn drawn(job: &Job, belief: &[f64], cured: Option<usize>) -> Vec<Path> {
    let study = job.study();
    let bad = cured.and_then(|fix| study.lineup().fixes[fix].part);
    let list = paths(study, belief, (&[], false), &study.check_setup());
    list.into_iter()
        .map(|path| Path {
            name: sanitise(&path.name),
            parts: once_each(path.rows)
                .map(|row| PathPart {
                    name: sanitise(&row.name),
                    thin: row.thin,
                    bad: Some(row.part) == bad,
                })
                .collect(),
        })
        .collect()
}

/// A part with several links one behind the other is named once.
fn once_each(mut rows: Vec<PathRow>) -> impl Iterator<Item = PathRow> {
    rows.dedup_by_key(|row| row.part);
    rows.into_iter()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_time_is_told_to_the_minute() {
        assert_eq!(when("2026-03-01T09:12:33.5Z"), "2026-03-01 09:12 UTC");
        assert_eq!(when("yesterday\u{1b}"), "yesterday");
        assert_eq!(when("T\u{e9}\u{e9}\u{e9}Z"), "T\u{e9}\u{e9}\u{e9}Z");
    }
}
