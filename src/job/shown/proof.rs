//! The proof of a repair: what should work is tried, and the volts lost on the way are measured, because a
//! second bad joint that the machine still works with shows itself there.

use std::borrow::Cow;

use crate::job::course::Course;
use crate::job::state::Job;
use crate::job::study::Study;
use crate::job::study::complaint::sights;
use crate::job::study::kept::Drop;
use crate::job::words;
use crate::setup::Setup;
use crate::tester::scale::Scale;
use crate::tester::{Instrument, Target};

/// How a line of a proof begins that says what is seen when all is well.
const PROVEN: &str = "Proven when";
const MEANWHILE: &str = "Meanwhile measure the volts lost";

/// The volt drops of the complaint's paths, supply side and ground side of each load; none without a meter.
pub fn drops<'a>(study: &'a Study, course: &Course<'_>) -> &'a [Drop] {
    let has_meter = study.kit().contains(&Instrument::Meter);
    if !has_meter || course.missing.contains(&Instrument::Meter) {
        return &[];
    }
    study.drops()
}

/// How a repair is proven, from how the machine stands for it: the function, then the volts lost.
pub fn lines(job: &Job, course: &Course<'_>, stand: &Setup) -> Vec<String> {
    let mut lines = proof_lines(job, stand);
    if let Some(limits) = limits(job.study(), course) {
        // While it works: what is proven after it has the machine otherwise.
        let working = lines.iter().position(|line| line.starts_with(PROVEN));
        lines.insert(working.map_or(lines.len(), |at| at + 1), format!("{MEANWHILE}; {limits}"));
    }
    lines
}

/// A line of it where many repairs stand on one paper, which has the limits on its first page.
pub fn on_paper(line: &str) -> Cow<'_, str> {
    if line.starts_with(MEANWHILE) {
        return format!("{MEANWHILE} (limits: page 1).").into();
    }
    line.into()
}

/// The volts that may be lost while the machine works: `more than this points to a second fault: ...`.
pub fn limits(study: &Study, course: &Course<'_>) -> Option<String> {
    let drops: Vec<String> = drops(study, course).iter().map(Drop::words).collect();
    let words = || format!("more than this points to a second fault: {}.", drops.join("; "));
    (!drops.is_empty()).then(words)
}

/// What is held is let go of, before anything else is moved.
fn let_go(course: &mut Course<'_>, lines: &mut Vec<String>) {
    let setup = course.stands();
    lines.extend(words::way_to(course, &setup, &[]));
    course.setup = setup;
}

/// How to prove a repair: everything that should work is tried.
pub fn proof_lines(job: &Job, stand: &Setup) -> Vec<String> {
    let study = job.study();
    let circuit = study.circuit();
    let mut course = Course::new(study);
    course.setup = stand.clone();
    let mut lines = Vec::new();
    for work in study.proof() {
        let setup = Setup::for_work(circuit, work);
        if !lines.is_empty() {
            let_go(&mut course, &mut lines);
        }
        lines.extend(words::way_to(&course, &setup, &[]));
        course.setup = setup;
        let seen: Vec<String> = sights(circuit, work)
            .iter()
            .map(|(test, should)| {
                let part = match test.target {
                    Target::Part(part) => circuit.parts[part.index()].name.as_str(),
                    _ => "it",
                };
                let outcomes = test.scale.outcomes(&test.scale.edges());
                match (test.scale, *should) {
                    (Scale::Click, 0) => format!("nothing is heard of the {part}"),
                    (Scale::Click, 1) => format!("one click is heard from the {part}"),
                    (Scale::Drain, should) => {
                        format!("the {part} gives {}", outcomes[should].words)
                    }
                    (_, should) => format!("the {part} {}", outcomes[should].words),
                }
            })
            .collect();
        lines.push(format!("{PROVEN} {}.", seen.join(" and ")));
    }
    lines
}
