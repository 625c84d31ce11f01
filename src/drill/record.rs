//! The line that is kept of a drill.

use serde::{Deserialize, Serialize};

use super::judge::{Mark, Step};
use super::kind::FaultKind;
use super::play::Drill;
use super::score::{Points, Score};

/// Version of the lines this program writes.
pub const FORMAT: u32 = 1;

/// One finished drill: a line of a score file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "four facts of a drill, independent of each other"
)]
pub struct Record {
    /// Version of the format.
    pub halfsplit_drill: u32,
    /// The learner's name, as typed.
    pub learner: String,
    /// When it ended, RFC 3339.
    pub ended: String,
    /// The circuit's short name.
    pub circuit: String,
    /// The work that failed, by its id.
    pub complaint: String,
    /// Seed of the machine.
    pub seed: u64,
    /// Level of the course.
    pub level: u8,
    /// Suspects that were hidden, by id.
    pub hidden: Vec<String>,
    /// Their parts, by name.
    pub parts: Vec<String>,
    /// Their kinds.
    pub kinds: Vec<FaultKind>,
    /// Everything was mended.
    pub solved: bool,
    /// The complaint was confirmed first.
    pub confirmed: bool,
    /// The repair was proven.
    pub proven: bool,
    /// The learner gave up.
    pub gave_up: bool,
    /// Orders that were stopped, by id.
    pub stopped: Vec<String>,
    /// Good parts mended or renewed on a guess.
    pub vain: usize,
    /// Parts named or mended against what was read.
    pub misread: usize,
    /// Hints taken.
    pub hints: usize,
    /// Looks that could tell nothing.
    pub idle: usize,
    /// Looks.
    pub tests: usize,
    /// The planner's on the same machine.
    pub par_tests: usize,
    /// Minutes, rests not counted.
    pub minutes: f64,
    /// The planner's on the same machine.
    pub par_minutes: f64,
    /// The planner's over all faults that give this complaint.
    pub expected_minutes: f64,
    /// Mean share of what the best look would have brought for the time.
    pub look_share: Option<f64>,
    /// Foretold rightly.
    pub foretold_right: usize,
    /// Foretold at all.
    pub foretold: usize,
    /// Mean score of naming what is open.
    pub open_sets: Option<f64>,
    /// Points.
    pub points: Points,
    /// What was done.
    pub steps: Vec<Line>,
}

/// One step of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Line {
    /// What was done.
    pub done: String,
    /// What was seen.
    pub seen: String,
    /// Minutes.
    pub minutes: f64,
    /// How good it was.
    pub mark: Mark,
    /// Share of what the best look would have brought for the time.
    pub share: Option<f64>,
}

/// Who did it, and when.
#[derive(Debug, Clone, PartialEq)]
pub struct Who {
    /// The learner's name, as typed.
    pub learner: String,
    /// When it ended, RFC 3339.
    pub ended: String,
    /// The learner gave up.
    pub gave_up: bool,
}

impl Record {
    /// The line of a drill that is over.
    pub fn new(drill: &Drill<'_>, steps: &[Step], score: &Score, who: Who) -> Record {
        let lineup = drill.study.lineup();
        let hidden = || drill.hidden.iter().map(|id| &lineup.suspects[id.index()]);
        let circuit = drill.study.circuit();
        Record {
            halfsplit_drill: FORMAT,
            learner: who.learner,
            ended: who.ended,
            circuit: circuit.id.clone(),
            complaint: drill.study.work().id.clone(),
            seed: drill.setting.seed,
            level: drill.setting.level,
            hidden: hidden().map(|one| one.id.clone()).collect(),
            parts: hidden()
                .filter_map(|one| one.part)
                .map(|part| circuit.part(part).name.clone())
                .collect(),
            kinds: hidden().map(FaultKind::of).collect(),
            solved: score.solved,
            confirmed: score.confirmed,
            proven: score.proven,
            gave_up: who.gave_up,
            stopped: score.dangers.clone(),
            vain: score.vain,
            misread: score.misread,
            hints: score.hints,
            idle: score.idle,
            tests: score.tests,
            par_tests: score.par.tests,
            minutes: score.minutes,
            par_minutes: score.par.minutes,
            expected_minutes: score.par.expected_minutes,
            look_share: score.look_share,
            foretold_right: score.foretold.0,
            foretold: score.foretold.2,
            open_sets: score.open_sets,
            points: score.points,
            steps: steps.iter().map(Line::of).collect(),
        }
    }
}

impl Line {
    fn of(step: &Step) -> Line {
        Line {
            done: step.done.clone(),
            seen: step.seen.clone(),
            minutes: step.minutes,
            mark: step.mark,
            share: step.share,
        }
    }
}

/// The name of a learner's file: letters and digits of the name, and where that leaves something out, a
/// number made of all of it, so that two learners never share a file.
pub fn file_name(learner: &str) -> String {
    let mut slug = String::new();
    for letter in learner.to_lowercase().chars() {
        if letter.is_ascii_alphanumeric() {
            slug.push(letter);
        } else if !slug.ends_with('-') && !slug.is_empty() {
            slug.push('-');
        }
    }
    let slug: String = slug.trim_end_matches('-').chars().take(40).collect();
    if !slug.is_empty() && slug == learner {
        return format!("{slug}.drills");
    }
    // FNV-1a, 32 bits: the same on every machine.
    let hash = learner
        .bytes()
        .fold(0x811c_9dc5_u32, |hash, byte| (hash ^ u32::from(byte)).wrapping_mul(0x0100_0193));
    let slug = if slug.is_empty() { "learner" } else { &slug };
    format!("{slug}-{hash:08x}.drills")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_name_is_harmless_and_no_two_learners_share_one() {
        assert_eq!(file_name("ana"), "ana.drills");
        let names =
            ["../../etc/passwd", "Ana", "ana ", "a\u{202e}b", "", "Žan", "žan", "..", "CON"];
        let files: std::collections::BTreeSet<String> =
            names.iter().map(|name| file_name(name)).collect();
        assert_eq!(files.len(), names.len(), "{files:?}");
        for file in files {
            let plain = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '.';
            assert!(file.chars().all(plain) && !file.starts_with(['.', '-']), "{file}");
        }
    }
}
