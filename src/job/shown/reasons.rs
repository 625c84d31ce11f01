//! Why this step: what it splits, what it costs, what came second; and what speaks for a suspect.

use crate::plan::Ranked;
use crate::tester::expectations::Column;

use crate::job::course::Course;
use crate::job::course::proposal::{Next, Proposal};
use crate::job::state::Job;
use crate::job::words;

/// How many parts are named on each side of a split.
const NAMED: usize = 3;
/// Minutes that make no difference between two ways.
const AS_GOOD: f64 = 0.05;
/// Parts below this share are not worth naming.
const LEAST_NAMED: f64 = 0.03;
/// What goes by the name of a part where nothing is wrong, and where the drawing does not fit.
const SOUND: &str = "nothing wrong now";
const OUTSIDE: &str = "beyond the drawing";
/// A part is ruled out by what leaves it no more than this share of its suspicion.
const RULED_OUT: f64 = 0.1;
/// Parts with less suspicion than this before are not said to be ruled out, nor so little together.
const LEAST_RULED_OUT: f64 = 0.01;

/// What an outcome would mean: the parts it would leave under suspicion.
///
/// `row` is the likelihood of the outcome under each suspect.
pub fn meaning(job: &Job, belief: &[f64], row: &[f64]) -> String {
    let after: Vec<f64> = belief.iter().zip(row).map(|(share, chance)| share * chance).collect();
    let total: f64 = after.iter().sum();
    if total < 1e-6 {
        return "would be a surprise".to_owned();
    }
    let names = named_shares(job, &after.iter().map(|one| one / total).collect::<Vec<_>>());
    if total < 0.005 { format!("unlikely; then {names}") } else { names }
}

/// The parts that carry most of a belief: `start button 62 %, C2 20 %`.
fn named_shares(job: &Job, belief: &[f64]) -> String {
    let shares = job.study().lineup().fix_shares(belief);
    let mut shares: Vec<(f64, usize)> = shares.into_iter().zip(0..).collect();
    shares.sort_by(|a, b| b.0.total_cmp(&a.0));
    let named: Vec<String> = shares
        .iter()
        .take(NAMED)
        .enumerate()
        .filter(|(at, (share, _))| *at == 0 || *share >= LEAST_NAMED)
        .map(|(_, &(share, fix))| format!("{} {:.0} %", fix_part(job, fix), share * 100.0))
        .collect();
    named.join(", ")
}

/// What an outcome takes off suspicion: `rules out battery, main fuse and 3 more (21 %)`, the share being what
/// they had before. None where that is next to nothing. That nothing is wrong, or something beyond the drawing, is
/// no part, and `rules out nothing wrong` would be read as the opposite.
///
/// Each entry is a part, its share before and its share after; a part may come more than once.
pub fn ruled_out(parts: impl IntoIterator<Item = (String, f64, f64)>) -> Option<String> {
    let mut known: Vec<(String, f64, f64)> = Vec::new();
    for (part, before, after) in
        parts.into_iter().filter(|one| ![SOUND, OUTSIDE].contains(&&*one.0))
    {
        match known.iter_mut().find(|one| one.0 == part) {
            Some(one) => (one.1, one.2) = (one.1 + before, one.2 + after),
            None => known.push((part, before, after)),
        }
    }
    known.retain(|(_, before, after)| *before >= LEAST_RULED_OUT && *after <= RULED_OUT * before);
    known.sort_by(|a, b| b.1.total_cmp(&a.1));
    let share: f64 = known.iter().map(|one| one.1).sum();
    let (named, more) = known.split_at(NAMED.min(known.len()));
    let names = named.iter().map(|one| one.0.as_str()).collect::<Vec<_>>().join(", ");
    let more = if more.is_empty() { String::new() } else { format!(" and {} more", more.len()) };
    (!named.is_empty()).then(|| format!("rules out {names}{more} ({:.0} %)", share * 100.0))
}

/// The same of an outcome by its likelihood under each suspect.
fn rules_out(job: &Job, belief: &[f64], row: &[f64], chance: f64) -> Option<String> {
    let after: Vec<f64> =
        belief.iter().zip(row).map(|(share, likely)| share * likely / chance).collect();
    let lineup = job.study().lineup();
    let shares = lineup.fix_shares(belief).into_iter().zip(lineup.fix_shares(&after)).enumerate();
    ruled_out(shares.map(|(fix, (before, after))| (fix_part(job, fix), before, after)))
}

/// What a fix is done to, in words.
pub fn fix_part(job: &Job, fix: usize) -> String {
    match job.study().lineup().fixes[fix].part {
        Some(part) => job.study().circuit().parts[part.index()].name.clone(),
        None if fix == 0 => SOUND.to_owned(),
        None => OUTSIDE.to_owned(),
    }
}

/// Why this test.
pub fn of_test(
    job: &Job,
    course: &Course<'_>,
    belief: &[f64],
    column: &Column,
    proposal: Option<&Proposal<'_>>,
) -> Vec<String> {
    let mut lines = Vec::new();
    for (outcome, row) in column.outcomes.iter().zip(&course.foretold(column)) {
        let chance: f64 = belief.iter().zip(row).map(|(share, chance)| share * chance).sum();
        if chance >= 0.03 {
            let meaning = meaning(job, belief, row);
            let rest = rules_out(job, belief, row, chance);
            let rest = rest.map_or_else(String::new, |rest| format!("; {rest}"));
            lines.push(format!("{} ({:.0} %): {meaning}{rest}", outcome.words, chance * 100.0));
        }
    }
    let own = column.test.minutes;
    let extra = course.test_minutes(&column.test) - own;
    lines.push(format!(
        "Costs {} min: {} to get there, {} to look.",
        words::show(own + extra),
        words::show(extra),
        words::show(own)
    ));
    if let Some(proposal) = proposal {
        let is_own = |next: Next<'_>| matches!(next, Next::Test(test) if test.id == column.test.id);
        lines.extend(runner_up(job, proposal, is_own));
    }
    lines
}

/// Why this fix, now.
pub fn of_fix(
    job: &Job,
    course: &Course<'_>,
    belief: &[f64],
    fix: usize,
    proposal: &Proposal<'_>,
) -> Vec<String> {
    let share = course.fix_shares(belief)[fix];
    let mut lines = vec![format!("Left under suspicion: {}.", named_shares(job, belief))];
    let minutes = words::show(course.fix_minutes(fix));
    let half = course.half_cured(belief, fix);
    let alone = (share - half) * 100.0;
    lines.push(format!("Cures with {alone:.0} %, for {minutes} min with its check."));
    if half >= LEAST_NAMED {
        lines.push(format!(
            "With {:.0} % it is one of two faults: then its check still fails, and the other is next.",
            half * 100.0
        ));
    }
    lines.extend(runner_up(job, proposal, |next| next == Next::Fix(fix)));
    lines
}

/// What came second, and by how much it lost.
fn runner_up(
    job: &Job,
    proposal: &Proposal<'_>,
    is_own: impl Fn(Next<'_>) -> bool,
) -> Option<String> {
    let is_own = |ranked: &&Ranked| is_own(proposal.next(ranked.action));
    let ranking = &proposal.plan.ranking;
    let own = ranking.iter().find(is_own)?;
    let second = ranking.iter().find(|ranked| !is_own(ranked))?;
    let name = match proposal.next(second.action) {
        Next::Test(test) => words::title_in_setup(job.study().circuit(), test),
        Next::Fix(fix) => job.study().lineup().fixes[fix].title.clone(),
        Next::Stop => "handing the job on".to_owned(),
    };
    let loss = second.expected_minutes - own.expected_minutes;
    let lost = if loss < AS_GOOD {
        "as good, as far as it was reckoned".to_owned()
    } else {
        format!("{loss:+.1} min to the end")
    };
    Some(format!("Runner-up: {name} ({lost})."))
}

/// What speaks for and against a suspect: each reading, and how many times likelier or less likely it
/// made the suspect beside all others.
pub fn for_and_against(job: &Job, suspect: &str) -> Vec<String> {
    let folded = job.folded();
    let course = &folded.course;
    let lineup = job.study().lineup();
    let Some(id) = lineup.find(suspect) else {
        return vec![format!("`{suspect}` is no suspect of this circuit")];
    };
    let at = id.index();
    let belief = course.belief();
    let mut lines = vec![format!(
        "{}: {:.1} % now, {:.1} % before the first reading.",
        lineup.suspects[at].fault,
        belief[at] * 100.0,
        job.study().prior[at] * 100.0
    )];
    match course.renewal_of(at) {
        times if times < 1.0 => {
            lines.push(format!("against: replaced lately ({:.1} times less likely)", 1.0 / times));
        }
        times if times > 1.0 => {
            lines.push(format!(
                "for: pulled about when a part was replaced ({times:.1} times likelier)"
            ));
        }
        _ => {}
    }
    for taken in course.evidence() {
        let (test, reading) = (&taken.test, &taken.reading);
        let Some(column) = job.column(test) else { continue };
        let without = course.belief_without(test);
        let others: f64 = (0..without.len())
            .filter(|&other| other != at)
            .map(|other| without[other] * reading.likelihood[other])
            .sum::<f64>()
            / (1.0 - without[at]).max(1e-12);
        let ratio = reading.likelihood[at] / others.max(1e-30);
        let title = words::title(job.study().circuit(), &column.test);
        lines.push(if ratio >= 1.0 {
            format!("for: {title} ({ratio:.1} times likelier)")
        } else {
            format!("against: {title} ({:.1} times less likely)", 1.0 / ratio)
        });
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::{OUTSIDE, SOUND, ruled_out};

    #[track_caller]
    fn check(parts: &[(&str, f64, f64)], expected: Option<&str>) {
        let parts = parts.iter().map(|&(part, before, after)| (part.to_owned(), before, after));
        assert_eq!(ruled_out(parts).as_deref(), expected);
    }

    #[test]
    fn what_loses_nearly_all_suspicion_is_ruled_out() {
        check(&[("fuse", 0.3, 0.02), ("relay", 0.7, 0.98)], Some("rules out fuse (30 %)"));
        check(&[("fuse", 0.3, 0.2), ("relay", 0.7, 0.8)], None);
        check(&[("fuse", 0.005, 0.0), ("relay", 0.995, 1.0)], None);
        check(&[(SOUND, 0.3, 0.0), (OUTSIDE, 0.1, 0.0)], None);
    }

    #[test]
    fn a_part_with_two_repairs_is_one_part_and_the_least_suspected_are_counted() {
        check(&[("fuse", 0.1, 0.0), ("fuse", 0.2, 0.2)], None);
        let parts = [
            ("wire", 0.05, 0.0),
            ("pin", 0.02, 0.001),
            ("fuse", 0.1, 0.0),
            ("fuse", 0.2, 0.01),
            ("lamp", 0.1, 0.0),
            ("splice", 0.06, 0.0),
        ];
        check(&parts, Some("rules out fuse, lamp, splice and 2 more (53 %)"));
    }
}
