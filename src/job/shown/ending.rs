//! How a job ends: what the verdict rests on, or what is known and what it would need.

use super::material;
use super::proof::drops;
use crate::job::course::Course;
use crate::job::course::doubt::{Doubt, doubted, weakest};
use crate::job::entry::answered::evidence;
use crate::job::event::Event;
use crate::job::standing::{Ending, FoundLine};
use crate::job::state::Job;
use crate::job::words;
use crate::suspect::{SuspectId, fix};

/// Readings named as what a verdict rests on.
const READINGS: usize = 3;
/// A reading that made the fault less than so many times likelier carries nothing.
const LEAST_RATIO: f64 = 1.3;
/// A fault less likely than this is not named beside the one that was mended.
const LEAST_FAULT: f64 = 0.01;
/// Suspects named where the job is stuck.
const NAMED: usize = 5;

/// The end of a job that is proven by its check.
pub fn cured(job: &Job, course: &Course<'_>, fix: usize, found: &[FoundLine]) -> Ending {
    let lineup = job.study().lineup();
    let repair = &lineup.fixes[fix];
    let mut lines: Vec<String> = job
        .suspect_lines(&course.settled(fix))
        .into_iter()
        .filter(|line| line.probability >= LEAST_FAULT)
        .take(2)
        .map(|line| format!("{}: {} ({:.0} %).", line.part, line.fault, line.probability * 100.0))
        .collect();
    lines.push(format!("{}: it cured.", repair.title));
    let parts = material::for_fix(job.study(), fix);
    lines.extend((!parts.is_empty()).then(|| format!("Parts: {}.", parts.join("; "))));
    lines.extend(rests_on(job, course, fix));
    lines.extend(misread(job, course));
    let drops = drops(job.study(), course);
    if !drops.is_empty() {
        lines.push("Before it is handed over, the volts lost while it works, by which a second fault would show:".to_owned());
        lines.extend(drops.iter().map(|drop| format!("{}.", drop.words())));
    }
    let steps = found.len().saturating_sub(1);
    lines.push(format!(
        "{steps} step{} before it, {} minutes reckoned.",
        if steps == 1 { "" } else { "s" },
        words::show(course.minutes)
    ));
    Ending { title: "Proven: it works again.".to_owned(), lines, put_back: words::put_back(course) }
}

/// What was likely read wrong on the way to a proven repair.
pub fn misread(job: &Job, course: &Course<'_>) -> Option<String> {
    let doubt = doubted(course)?;
    let column = job.column(&doubt.test)?;
    let title = words::title(job.study().circuit(), &column.test);
    Some(format!("Likely misread on the way: {title} ({:.0} %).", doubt.probability * 100.0))
}

/// The readings that point to what this fix cures, the strongest first.
fn rests_on(job: &Job, course: &Course<'_>, fix: usize) -> Vec<String> {
    let study = job.study();
    let lineup = study.lineup();
    let ids = (0..lineup.suspects.len() as u32).map(SuspectId);
    let is_cured: Vec<bool> = ids.map(|at| lineup.mends(fix, at)).collect();
    let mut list: Vec<(f64, String)> = Vec::new();
    for taken in course.evidence() {
        let (test, reading) = (&taken.test, &taken.reading);
        let (Some(column), Some(seen)) = (job.column(test), seen(job, test, taken.stage)) else {
            continue;
        };
        // What was read is held against what was wrong at first, of two faults also where one is mended.
        let without = course.believed_without(test).shares;
        let mean = |wanted: bool| {
            let mut sums = (0.0, 0.0);
            for at in (0..without.len()).filter(|&at| is_cured[at] == wanted) {
                sums.0 += without[at] * reading.likelihood[at];
                sums.1 += without[at];
            }
            sums.0 / sums.1.max(1e-12)
        };
        let ratio = mean(true) / mean(false).max(1e-12);
        if ratio >= LEAST_RATIO {
            let title = words::title_in_setup(study.circuit(), &column.test);
            let times = if ratio > 99.0 { "over 99".to_owned() } else { format!("{ratio:.1}") };
            list.push((ratio, format!("Rests on: {title}: {seen} ({times} times likelier so).")));
        }
    }
    list.sort_by(|a, b| b.0.total_cmp(&a.0));
    list.into_iter().take(READINGS).map(|(_, words)| words).collect()
}

/// What was seen last in a test after so many repairs; what was told before the job is of before them all.
fn seen(job: &Job, wanted: &str, stage: usize) -> Option<String> {
    let (mut repairs, mut last) = (0, None);
    for event in job.counting() {
        match event {
            Event::Tried { .. } => repairs += 1,
            Event::Reading { test, answer } if test == wanted && repairs == stage => {
                last = Some(answer);
            }
            Event::Told { test, answer } if test == wanted && stage == 0 => last = Some(answer),
            _ => {}
        }
    }
    let column = job.column(wanted)?;
    evidence(&column, last?).map(|(_, _, words)| words)
}

/// The end of a job in which no test or repair is left that would pay.
///
/// `needs` is what would help; to find that out is dear, so that only who shows it asks for it.
pub fn stuck(job: &Job, course: &Course<'_>, belief: &[f64], needs: Vec<String>) -> Ending {
    let mut lines = vec!["No test or repair left here would pay. What is known:".to_owned()];
    lines.extend(
        job.suspect_lines(belief)
            .into_iter()
            .take(NAMED)
            .map(|line| format!("{:.0} % {}: {}", line.probability * 100.0, line.part, line.fault)),
    );
    lines.extend(needs);
    lines.extend(weakest(course).and_then(|doubt| once_more(job, course, &doubt)));
    let put_off = |at: &&usize| job.study().lineup().fixes[**at].work == fix::Work::Repair;
    for at in course.put_off.iter().filter(put_off) {
        lines.push(format!("Put off: {}.", job.study().lineup().fixes[*at].title));
    }
    lines.push("Then: compare the drawing with the machine; the service manual.".to_owned());
    Ending {
        title: "Not found with what is at hand.".to_owned(),
        lines,
        put_back: words::put_back(course),
    }
}

/// What is likeliest wrong, to be taken once more.
fn once_more(job: &Job, course: &Course<'_>, doubt: &Doubt) -> Option<String> {
    let column = job.column(&doubt.test)?;
    let title = words::title(job.study().circuit(), &column.test);
    let minutes = words::show(course.test_minutes(&column.test));
    let percent = doubt.probability * 100.0;
    Some(format!("Likeliest misread ({percent:.0} %): {title}; once more takes {minutes} min."))
}
