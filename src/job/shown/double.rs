//! Two faults at once, in words.

use crate::job::course::Course;
use crate::job::course::pairs::share;
use crate::job::standing::SuspectLine;
use crate::job::state::Job;
use crate::suspect::{Suspect, SuspectId};

/// Two faults are named when they have more than this share of the suspicion.
const SPEAK_UP: f64 = 0.5;

/// The pairs of faults as lines of a list: pairs mended alike are one line, named by the likeliest.
pub fn lines(job: &Job, belief: &[f64]) -> Vec<SuspectLine> {
    let suspects = &job.study().lineup().suspects;
    let mut lines: Vec<(Vec<usize>, f64, usize)> = Vec::new();
    for at in (0..suspects.len()).filter(|&at| suspects[at].pair().is_some()) {
        let both = fixes(job, at);
        match lines.iter_mut().find(|(known, ..)| *known == both) {
            Some((_, share, best)) => {
                *share += belief[at];
                if belief[at] > belief[*best] {
                    *best = at;
                }
            }
            None => lines.push((both, belief[at], at)),
        }
    }
    lines.into_iter().map(|(_, share, best)| line(job, best, share)).collect()
}

fn fixes(job: &Job, at: usize) -> Vec<usize> {
    members(job, at).map(|suspect| suspect.fix.index()).collect()
}

/// The suspects a pair is made of; a single one is its own.
fn members(job: &Job, at: usize) -> impl Iterator<Item = &Suspect> {
    let suspects = &job.study().lineup().suspects;
    let own = SuspectId(at as u32);
    let (one, other) = suspects[at].pair().unwrap_or((own, own));
    let second = (one != other).then_some(other);
    std::iter::once(one).chain(second).map(move |id| &suspects[id.index()])
}

fn line(job: &Job, at: usize, share: f64) -> SuspectLine {
    let joined = |of: &dyn Fn(&Suspect) -> String| -> String {
        members(job, at).map(of).collect::<Vec<_>>().join(" and ")
    };
    SuspectLine {
        id: job.study().lineup().suspects[at].id.clone(),
        part: joined(&|one| job.part_name(one.part, one.nature)),
        fault: joined(&|one| one.fault.clone()),
        fix: joined(&|one| job.study().lineup().fixes[one.fix.index()].title.clone()),
        probability: share,
    }
}

/// Says that two faults explain what one does not, and which two, one of them mended by now or not.
pub fn said(job: &Job, course: &Course<'_>) -> Option<String> {
    let at_first = &course.believed().shares;
    if share(job.study().lineup(), at_first) < SPEAK_UP {
        return None;
    }
    let mut lines = lines(job, at_first);
    lines.sort_by(|a, b| b.probability.total_cmp(&a.probability).then(a.id.cmp(&b.id)));
    let best = lines.first()?;
    let likeliest = job.study().lineup().find(&best.id)?;
    let mended = |one: &Suspect| course.fixes.iter().any(|(fix, _)| *fix == one.fix.index());
    let named = |one: &Suspect| {
        let state = if mended(one) { "mended" } else { &one.fault };
        format!("{} ({state})", job.part_name(one.part, one.nature))
    };
    let named: Vec<String> = members(job, likeliest.index()).map(named).collect();
    let (both, percent) = (named.join(" and "), best.probability * 100.0);
    Some(format!("No one fault fits; two do: {both}, {percent:.0} %."))
}
