//! What one finished job says: what it was, what was expected, how long things took, which readings were wrong.

use std::collections::BTreeMap;

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::family;
use crate::belief::doubt::mistake_probability;
use crate::job::course::Course;
use crate::job::course::taken;
use crate::job::entry::answered::evidence;
use crate::job::event::{Event, counting};
use crate::job::fold::Folded;
use crate::job::state::Job;
use crate::suspect::SuspectId;
use crate::tester::slips;

/// Format of a line of the history file; lines of a newer one are refused politely.
pub const FORMAT: u32 = 1;

/// One finished job, as a line of the history file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Record {
    /// Format of the line.
    pub halfsplit_history: u32,
    /// Which job it was; the same job is counted once.
    pub job: String,
    /// The circuit's id.
    pub circuit: String,
    /// The work that failed.
    pub complaint: String,
    /// What cured, and when the job began.
    pub cured_by: String,
    /// RFC 3339.
    pub started: String,
    /// What it was.
    pub found: Tally,
    /// What the catalogue expected of such a complaint on this circuit.
    pub expected: Tally,
    /// Places opened.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub places: Vec<Took>,
    /// Repairs done.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub fixes: Vec<Took>,
    /// Readings taken, by the family of their scale.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub readings: BTreeMap<String, Readings>,
}

/// Shares of one job, summed up in two ways; each sums to 1.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Tally {
    /// By part id, or `sound` or `outside`.
    pub parts: BTreeMap<String, f64>,
    /// By family of part, then by fault mode.
    pub modes: BTreeMap<String, BTreeMap<String, f64>>,
}

/// How long something took by the clock.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Took {
    /// The place's or fix's id.
    pub id: String,
    /// Family of the part repaired; of a place empty.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub family: String,
    /// Minutes measured over minutes reckoned by the circuit file and the catalogue.
    pub times: f64,
}

/// Readings of one family of scales.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Readings {
    /// Taken.
    pub taken: f64,
    /// Of these wrong, in all likelihood: a sum of probabilities.
    pub wrong: f64,
}

/// Why a job teaches nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoLesson {
    /// No repair cured.
    #[error("it is not finished: no repair has cured yet")]
    Open,
    /// All that was seen speaks against what cured.
    #[error("what cured is none of its suspects")]
    Unlisted,
}

/// Shares below this are left out of a line.
const LEAST: f64 = 1e-4;
/// Shares are kept in millionths: short lines, and the same number when read back.
const DIGITS: f64 = 1e6;

/// No repair takes so many times what was reckoned, and no job has so many readings.
const MOST: f64 = 1.0e6;
/// Shares are rounded to millionths, each by itself.
const ROUNDING: f64 = 1.0e-3;

impl Tally {
    fn is_shares(&self) -> bool {
        let sums_to_one = |shares: &mut dyn Iterator<Item = &f64>| {
            let (mut all, mut sum) = (true, 0.0);
            for share in shares {
                all &= *share >= 0.0;
                sum += share;
            }
            all && sum <= 1.0 + ROUNDING
        };
        let modes = self.modes.values();
        sums_to_one(&mut self.parts.values())
            && sums_to_one(&mut modes.flat_map(|family| family.values()))
    }
}

impl Record {
    /// What cannot be in a line, as one by another hand may have it: what it taught would be no share and no time.
    pub fn oddity(&self) -> Option<&'static str> {
        let timed = |took: &Took| (0.0..=MOST).contains(&took.times);
        let counted = |readings: &Readings| {
            (0.0..=MOST).contains(&readings.taken)
                && (0.0..=readings.taken + ROUNDING).contains(&readings.wrong)
        };
        if !self.found.is_shares() || !self.expected.is_shares() {
            Some("its shares do not sum to one")
        } else if !self.places.iter().chain(&self.fixes).all(timed) {
            Some("nothing takes so long")
        } else if !self.readings.values().all(counted) {
            Some("it has more wrong readings than readings")
        } else {
            None
        }
    }
}

impl Record {
    /// What `job` says.
    ///
    /// `job` is reckoned by the catalogue alone (taught nothing), so that the shop's own beliefs do not come
    /// back to it as evidence. `times` has the time of each of its events, where known.
    ///
    /// # Errors
    /// Where it is not finished.
    pub fn of(job: &Job, started: &str, times: &[Option<Timestamp>]) -> Result<Record, NoLesson> {
        let study = job.study();
        let folded = job.folded();
        let cured = folded.cured.ok_or(NoLesson::Open)?;
        let found = narrowed(&folded.course, cured).ok_or(NoLesson::Unlisted)?;
        let (places, fixes) = durations(job, started, times);
        Ok(Record {
            halfsplit_history: FORMAT,
            job: job_id(job, started),
            circuit: study.circuit().id.clone(),
            complaint: study.work().id.clone(),
            cured_by: study.lineup().fixes[cured].id.clone(),
            started: started.to_owned(),
            readings: readings(job, &found),
            found: tally(job, &found),
            expected: tally(job, &study.prior),
            places,
            fixes,
        })
    }
}

/// The belief in what was wrong at first, once the fix that cured is known.
fn narrowed(course: &Course<'_>, cured: usize) -> Option<Vec<f64>> {
    let suspects = &course.study.lineup().suspects;
    let done = |at: SuspectId| {
        let fix = suspects[at.index()].fix.index();
        course.fixes.iter().any(|(one, _)| *one == fix)
    };
    let mut shares = course.believed().shares.clone();
    for (at, share) in shares.iter_mut().enumerate() {
        let at = SuspectId(at as u32);
        let both = suspects[at.index()].pair().is_none_or(|(one, other)| done(one) && done(other));
        if !(both && course.study.lineup().mends(cured, at)) {
            *share = 0.0;
        }
    }
    let total: f64 = shares.iter().sum();
    for share in &mut shares {
        *share /= total;
    }
    (total > 0.0).then_some(shares)
}

/// Sums shares up by part and by mode of each family; of two faults at once each has half.
fn tally(job: &Job, shares: &[f64]) -> Tally {
    let (circuit, lineup) = (job.study().circuit(), job.study().lineup());
    let mut tally = Tally::default();
    let mut alone = vec![0.0; shares.len()];
    for (at, share) in shares.iter().enumerate() {
        let (one, other) =
            lineup.suspects[at].pair().map_or((at, at), |(a, b)| (a.index(), b.index()));
        alone[one] += 0.5 * share;
        alone[other] += 0.5 * share;
    }
    for (share, suspect) in alone.iter().zip(&lineup.suspects).filter(|(share, _)| **share > LEAST)
    {
        let family = family::of_suspect(circuit, suspect);
        let part = suspect.part.map_or(family, |part| circuit.parts[part.index()].id.as_str());
        *tally.parts.entry(part.to_owned()).or_default() += share;
        let modes = tally.modes.entry(family.to_owned()).or_default();
        *modes.entry(family::mode(suspect).to_owned()).or_default() += share;
    }
    let modes = tally.modes.values_mut().flat_map(BTreeMap::values_mut);
    for share in tally.parts.values_mut().chain(modes) {
        *share = (*share * DIGITS).round() / DIGITS;
    }
    tally
}

/// Readings taken and those likely wrong, where `found` is what it was.
fn readings(job: &Job, found: &[f64]) -> BTreeMap<String, Readings> {
    let mut list: BTreeMap<String, Readings> = BTreeMap::new();
    for event in job.counting() {
        let Event::Reading { test, answer } = event else { continue };
        let Some(column) = job.column(test) else { continue };
        let Some((said, ..)) = evidence(&column, answer) else { continue };
        let reading = taken::reading(job.study(), &column, &said);
        let entry = list.entry(slips::family(column.test.scale).to_owned()).or_default();
        entry.taken += 1.0;
        entry.wrong += mistake_probability(found, &reading);
    }
    list
}

/// Longer pauses than so many times the reckoned minutes are no work.
const LONGEST: f64 = 10.0;

/// How long places and repairs took, by the time between an event and the one before it.
fn durations(job: &Job, started: &str, times: &[Option<Timestamp>]) -> (Vec<Took>, Vec<Took>) {
    let study = job.study();
    let (mut so_far, mut stale) = (Folded::new(study), false);
    let mut last = started.parse::<Timestamp>().ok();
    let (mut places, mut fixes) = (Vec::new(), Vec::new());
    let at = times.iter().copied().chain(std::iter::repeat(None));
    for (number, (event, at)) in job.events().iter().zip(at).enumerate() {
        let measured = at.zip(last).map(|(at, last)| at.duration_since(last).as_secs_f64() / 60.0);
        last = at;
        if matches!(event, Event::Undone | Event::Redone) {
            stale = true;
            continue;
        }
        if stale && !event.is_note() {
            so_far = Folded::new(study);
            counting(&job.events()[..number]).0.into_iter().for_each(|event| so_far.take(event));
            stale = false;
        }
        let (opened, minutes) = (so_far.course.opened.clone(), so_far.course.minutes);
        so_far.take(event);
        let fix = match event {
            Event::Reading { .. } => None,
            Event::Tried { fix, .. } => job.fix(fix).ok(),
            _ => continue,
        };
        let newly = |at: &usize| so_far.course.opened[*at] && !opened[*at];
        let newly: Vec<usize> = (0..opened.len()).filter(newly).collect();
        let circuit = study.circuit();
        let opening: f64 = newly.iter().map(|at| circuit.places[*at].open_minutes).sum();
        let repair = fix.map(|fix| &study.lineup().fixes[fix.index()]);
        let learnable = opening + repair.map_or(0.0, |fix| fix.minutes);
        let rest = so_far.course.minutes - minutes - learnable;
        let Some(measured) = measured else { continue };
        let times = (measured - rest) / learnable;
        if learnable <= 0.0 || times <= 0.0 || times > LONGEST {
            continue;
        }
        places.extend(newly.iter().map(|at| Took {
            id: circuit.places[*at].id.clone(),
            family: String::new(),
            times,
        }));
        fixes.extend(repair.map(|fix| Took {
            id: fix.id.clone(),
            family:
                fix.part.map_or_else(String::new, |part| family::of_part(circuit, part).to_owned()),
            times,
        }));
    }
    (places, fixes)
}

/// The same events on the same circuit, begun at the same time, are the same job: a hash of them (FNV-1a,
/// 64 bits, by its authors' public description, from memory).
fn job_id(job: &Job, started: &str) -> String {
    let study = job.study();
    let mut hash = 0xcbf2_9ce4_8422_2325_u64;
    let events = serde_json::to_string(job.events()).unwrap_or_default();
    for byte in [study.circuit().id.as_str(), started, &events].join("\n").bytes() {
        hash = (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
    }
    format!("{hash:016x}")
}
