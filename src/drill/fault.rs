//! Which fault is hidden: by seed, by level, by kind, or the trainer's choice.

use rand::RngExt;
use rand_pcg::Pcg64Mcg;

use super::DrillError;
use super::kind::FaultKind;
use crate::job::study::Study;
use crate::suspect::{Nature, Suspect, SuspectId};
use crate::trial::noise::draw_from;

/// A suspect that shows the complaint less often than this is no case of it.
const SHOWS: f64 = 0.5;
/// An intermittent one is a case when it would show the complaint that often whenever it is there.
const SHOWS_NOW_AND_THEN: f64 = 0.25;
/// Tries at a second fault whose repair is another one.
const TRIES: usize = 50;

/// How a drill is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Setting {
    /// The same seed hides the same fault in the same machine.
    pub seed: u64,
    /// From 1, follow the tool, to 5, two faults and intermittents.
    pub level: u8,
    /// Only faults of this kind.
    pub kind: Option<FaultKind>,
}

/// What a level asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Level {
    /// Its number.
    pub number: u8,
    /// In one line.
    pub words: &'static str,
    /// Share of looks in which the probe makes no contact, in per cent.
    pub misses_percent: u8,
}

/// The levels of the course.
pub const LEVELS: [Level; 5] = [
    Level {
        number: 1,
        words: "follow the tool, say what you expect before you look",
        misses_percent: 0,
    },
    Level { number: 2, words: "choose between three tests", misses_percent: 0 },
    Level { number: 3, words: "free work", misses_percent: 0 },
    Level {
        number: 4,
        words: "free work, and a probe does not always make contact",
        misses_percent: 8,
    },
    Level { number: 5, words: "faults that come and go, and two at once", misses_percent: 0 },
];

/// The level of a number; those beyond the course are its ends.
pub fn level(number: u8) -> Level {
    LEVELS[usize::from(number.clamp(1, 5)) - 1]
}

/// Suspects that are cases of the complaint, intermittent ones only if asked for.
pub fn cases(study: &Study, intermittent: bool) -> Vec<SuspectId> {
    let suspects = study.lineup().suspects.iter().enumerate();
    let is_case = |(at, one): &(usize, &Suspect)| {
        let shows = study.shows_complaint[*at];
        one.nature == Nature::Fault
            && if one.shows < 1.0 {
                intermittent && shows >= SHOWS_NOW_AND_THEN
            } else {
                shows >= SHOWS
            }
    };
    suspects.filter(is_case).map(|(at, _)| SuspectId(at as u32)).collect()
}

/// The fault that is hidden, or two of them.
///
/// # Errors
/// Where the complaint has no cause of that kind.
pub fn hide(
    study: &Study,
    setting: Setting,
    dice: &mut Pcg64Mcg,
) -> Result<Vec<SuspectId>, DrillError> {
    let all = cases(study, true);
    let kind = |id: &SuspectId| FaultKind::of(&study.lineup().suspects[id.index()]);
    let of_level = |id: &&SuspectId| suits(kind(id), setting.level);
    let two = setting.level >= 5 && setting.kind.is_none() && dice.random::<f64>() < 0.5;
    let mut some: Vec<SuspectId> = match setting.kind {
        Some(wanted) => all.iter().filter(|id| kind(id) == wanted).copied().collect(),
        None if two => cases(study, false),
        None => all.iter().filter(of_level).copied().collect(),
    };
    if some.is_empty() && setting.kind.is_none() {
        some = cases(study, false);
    }
    if all.is_empty() && some.is_empty() {
        return Err(DrillError::NoFault);
    }
    if some.is_empty() {
        let mut known: Vec<&str> = all.iter().map(|id| kind(id).id()).collect();
        known.sort_unstable();
        known.dedup();
        return Err(DrillError::NoSuchFault { known: known.join(", ") });
    }
    let first = draw(study, &some, dice);
    let mut hidden = vec![first];
    let fix = |id: SuspectId| study.lineup().suspects[id.index()].fix;
    for _ in 0..TRIES {
        if !two || hidden.len() == 2 {
            break;
        }
        let second = draw(study, &some, dice);
        if fix(second) != fix(first) {
            hidden.push(second);
        }
    }
    Ok(hidden)
}

fn suits(kind: FaultKind, level: u8) -> bool {
    match level {
        1 => kind == FaultKind::Open,
        2 => matches!(kind, FaultKind::Open | FaultKind::Resistance | FaultKind::Stuck),
        3 | 4 => kind != FaultKind::Intermittent,
        _ => kind == FaultKind::Intermittent,
    }
}

/// One of them: likely ones more often, but not as often as on the road, or all drills would be alike.
fn draw(study: &Study, some: &[SuspectId], dice: &mut Pcg64Mcg) -> SuspectId {
    let weights: Vec<f64> = some.iter().map(|id| study.prior[id.index()].sqrt()).collect();
    some[draw_from(&weights, dice)]
}

/// The trainer's choice: suspects by their ids, separated by commas.
///
/// # Errors
/// Where an id names no suspect, nothing that gives rise to the complaint, or steady faults beside one that
/// comes and goes.
pub fn chosen(study: &Study, ids: &str) -> Result<Vec<SuspectId>, DrillError> {
    let mut list = Vec::new();
    for id in ids.split(',').map(str::trim).filter(|id| !id.is_empty()) {
        let found = study.lineup().find(id);
        list.push(found.ok_or_else(|| DrillError::Unknown { id: id.to_owned() })?);
    }
    let shows = |id: &SuspectId| study.shows_complaint[id.index()] >= SHOWS_NOW_AND_THEN;
    let fault = |id: &SuspectId| study.lineup().suspects[id.index()].nature == Nature::Fault;
    if list.is_empty() || !list.iter().all(fault) || !list.iter().any(shows) {
        return Err(DrillError::NoComplaint);
    }
    // A machine shows all that is wrong with it at the same time, or nothing of it.
    let one = |steady: bool| {
        let mut suspects = list.iter().map(|id| &study.lineup().suspects[id.index()]);
        suspects.find(|one| (one.shows >= 1.0) == steady).map(|one| one.id.clone())
    };
    match (one(true), one(false)) {
        (Some(steady), Some(other)) => Err(DrillError::Mixed { steady, other }),
        _ => Ok(list),
    }
}
