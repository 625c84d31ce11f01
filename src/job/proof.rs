//! The proof of a repair: what should work is tried, and the volts lost on the way are measured, because a
//! second bad joint that the machine still works with shows itself there.

use std::borrow::Cow;
use std::sync::Arc;

use super::course::Course;
use super::paths::ways;
use super::present::{PROVEN, proof_lines};
use super::study::Study;
use crate::circuit::TerminalId;
use crate::setup::Setup;
use crate::setup::wiring::{negative_post, positive_post};
use crate::tester::enumerate::make;
use crate::tester::expectations::Column;
use crate::tester::limits::sound_numbers;
use crate::tester::{Instrument, Target, Tester};

use super::state::Job;

const MEANWHILE: &str = "Meanwhile measure the volts lost";
/// Paths whose two sides are measured.
const PATHS: usize = 2;

/// Volts lost on one side of a path, and what a sound circuit loses there at most.
#[derive(Debug, Clone)]
pub struct Drop {
    /// The test and what it shows.
    pub column: Arc<Column>,
    /// From where to where.
    pub from: String,
    /// The other end.
    pub to: String,
    /// Most volts of 95 sound machines in a hundred.
    pub most: f64,
}

/// The volt drops of the complaint's paths, supply side and ground side of each load; none without a meter.
pub fn drops<'a>(study: &'a Study, course: &Course<'_>) -> &'a [Drop] {
    let has_meter = study.kit().contains(&Instrument::Meter);
    if !has_meter || course.missing.contains(&Instrument::Meter) {
        return &[];
    }
    study.drops()
}

/// The same, reckoned.
pub fn reckon(study: &Study) -> Vec<Drop> {
    let circuit = study.circuit();
    let setup = study.check_setup();
    let (Some(plus), Some(minus)) = (positive_post(circuit), negative_post(circuit)) else {
        return Vec::new();
    };
    let mut pairs = Vec::new();
    let all = ways(circuit, &setup);
    for way in all.iter().rev().take(PATHS) {
        let at = way.links.iter().position(|(link, _)| circuit.link(*link).part == way.load);
        let Some(at) = at else { continue };
        let before = if at == 0 { plus } else { way.links[at - 1].1 };
        pairs.extend([(plus, before), (way.links[at].1, minus)]);
    }
    pairs.dedup();
    let drop = |(a, b)| {
        let test = make(circuit, Tester::Drop, Target::Pair(a, b), &setup).ok()?;
        let column = study.column(&test).ok()?;
        let (_, most) = sound_numbers(&column)?;
        let name = |at: TerminalId| circuit.graph[at].name.clone();
        Some(Drop { column, from: name(a), to: name(b), most })
    };
    pairs.into_iter().filter_map(drop).collect()
}

impl Drop {
    /// `battery, + to starter, +: at most 0.42 V`.
    pub fn words(&self) -> String {
        format!("{} to {}: at most {:.2} V", self.from, self.to, self.most)
    }
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
