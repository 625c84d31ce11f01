//! What a look or a repair was worth by what was known at a moment, for the tutor, the judge and the sheets.

use super::open_set::by_part;
use crate::circuit::PartId;
use crate::job::course::Course;
use crate::job::course::proposal::Proposal;
use crate::job::study::Study;
use crate::job::study::choice::class_bits;
use crate::job::words;
use crate::plan::{Action, Budget, Progress};
use crate::suspect::Suspect;
use crate::tester::expectations::Column;

/// How far the tool looks ahead for a step.
pub const BUDGET: Budget = Budget { nodes: 100 };
/// Parts named where suspicion is told.
const NAMED: usize = 3;
/// Parts below this share are not.
const LEAST_NAMED: f64 = 0.03;

/// Bits about the fix that a look could be expected to bring.
pub fn bits_of(study: &Study, column: &Column, belief: &[f64]) -> f64 {
    let lineup = study.lineup();
    let class = |suspect: &Suspect| suspect.fix.index();
    let classes: Vec<usize> = lineup.suspects.iter().map(class).collect();
    class_bits(&column.likelihood, &classes, lineup.fixes.len(), belief)
}

/// The most bits a minute that a look in a plan brings.
pub(super) fn best_rate(proposal: &Proposal<'_>) -> f64 {
    let looks = proposal.plan.ranking.iter().filter(|one| matches!(one.action, Action::Test(_)));
    looks.map(|one| one.score).fold(0.0, f64::max)
}

/// The parts that carry most of a belief: `start button 62 %, C2 20 %`.
pub fn leaning(study: &Study, belief: &[f64]) -> String {
    let named = by_part(study, belief).into_iter().take(NAMED);
    let named = named
        .enumerate()
        .filter(|(at, (_, share))| *share >= LEAST_NAMED || *at == 0 && *share > 0.0);
    let name = |(_, (part, share)): (usize, (PartId, f64))| {
        format!("{} {:.0} %", study.circuit().part(part).name, share * 100.0)
    };
    named.map(name).collect::<Vec<_>>().join(", ")
}

/// The reading that speaks loudest against some suspects, in words; `None` where none does.
pub fn against(course: &Course<'_>, is_in: impl Fn(usize) -> bool) -> Option<String> {
    let study = course.study;
    let mut worst: Option<(f64, String)> = None;
    for taken in course.evidence() {
        let (test, reading) = (&taken.test, &taken.reading);
        let (mut own, mut own_share, mut others, mut others_share) = (0.0, 0.0, 0.0, 0.0);
        // By what was believed before any reading: two readings that say the same hide each other otherwise.
        for (at, share) in study.prior.iter().enumerate() {
            let says = share * reading.likelihood[at];
            if is_in(at) {
                own += says;
                own_share += share;
            } else {
                others += says;
                others_share += share;
            }
        }
        let ratio = (others / others_share.max(1e-12)) / (own / own_share.max(1e-12)).max(1e-12);
        let Some(column) = study.known(test) else { continue };
        if ratio > 2.0 && worst.as_ref().is_none_or(|(most, _)| ratio > *most) {
            worst = Some((ratio, words::title_in_setup(study.circuit(), &column.test)));
        }
    }
    let (ratio, title) = worst?;
    let times =
        if ratio > 100.0 { "a hundred times".to_owned() } else { format!("{ratio:.0} times") };
    Some(format!("Against it spoke: {title}; what it showed is {times} likelier elsewhere."))
}

/// What is best to do at the moment.
pub fn proposal<'a>(course: &Course<'a>) -> Proposal<'a> {
    Proposal::new(course, &BUDGET, &Progress::default())
}
