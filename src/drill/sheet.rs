//! Questions on paper: a hidden fault, what was seen so far, and what that means.

use super::DrillError;
use super::fault::Setting;
use super::log::What;
use super::open_set::open_parts;
use super::play::Drill;
use super::play::looks::seen_words;
use super::weigh::{bits_of, leaning, proposal};
use crate::job::course::proposal::Next;
use crate::job::study::Study;
use crate::job::words;

/// Looks told in a question, at most.
const MOST_LOOKS: usize = 4;
/// Seeds tried for a question worth asking.
const TRIES: u64 = 20;

/// A sheet of questions.
#[derive(Debug, Clone, PartialEq)]
pub struct Questions {
    /// The circuit's name.
    pub circuit: String,
    /// The machine's.
    pub machine: String,
    /// What fails.
    pub complaint: String,
    /// The circuit file's notes.
    pub notes: Vec<String>,
    /// The paths of the current: the load that names each, and its parts from the supply to ground.
    pub paths: Vec<(String, Vec<String>)>,
    /// Seed it was made from.
    pub seed: u64,
    /// The questions.
    pub questions: Vec<Question>,
}

/// One question and its answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// What was seen, a line each: what was done, and what it showed.
    pub seen: Vec<(String, String)>,
    /// The parts still open, most suspect first, with their shares.
    pub open: Vec<(String, f64)>,
    /// The next test.
    pub next: String,
    /// Why that one.
    pub why: String,
    /// What was wrong.
    pub fault: String,
    /// What mends it.
    pub fix: String,
}

/// Makes a sheet of so many questions; the same seed makes the same sheet.
///
/// # Errors
/// Where no fault gives the complaint, or the circuit cannot be reckoned.
pub fn sheet(study: &Study, setting: Setting, count: usize) -> Result<Questions, DrillError> {
    let circuit = study.circuit();
    let mut questions: Vec<Question> = Vec::new();
    let mut seed = setting.seed.wrapping_mul(1_000);
    for _ in 0..count {
        for _ in 0..TRIES {
            seed = seed.wrapping_add(1);
            let question = question(study, Setting { seed, ..setting })?;
            if let Some(question) =
                question.filter(|one| questions.iter().all(|other| other.seen != one.seen))
            {
                questions.push(question);
                break;
            }
        }
    }
    let row = |(link, _): &(crate::circuit::LinkId, _)| {
        circuit.part(circuit.link(*link).part).name.clone()
    };
    let ways = crate::job::study::paths::ways(circuit, &study.check_setup());
    let path = |way: &crate::job::study::paths::Way| {
        let mut parts: Vec<String> = way.links.iter().map(row).collect();
        parts.dedup();
        (circuit.part(way.load).name.clone(), parts)
    };
    Ok(Questions {
        circuit: circuit.name.clone(),
        machine: circuit.machine.clone(),
        complaint: study.work().name.clone(),
        notes: circuit.notes.clone(),
        paths: ways.iter().map(path).collect(),
        seed: setting.seed,
        questions,
    })
}

/// A question, if this fault makes one: some looks, and then a next test worth asking for.
fn question(study: &Study, setting: Setting) -> Result<Option<Question>, DrillError> {
    let mut drill = Drill::new(study, setting)?;
    drill.say_clear();
    drill.try_it(1.0)?;
    let wanted = 1 + (setting.seed as usize) % (MOST_LOOKS - 1);
    let mut made = None;
    for looks in 0..=wanted {
        let proposal = proposal(&drill.course);
        let Next::Test(test) = proposal.best() else { break };
        let open = open_parts(study, &drill.course.belief());
        if looks > 0 && open.len() > 1 {
            made = Some(ask(&drill, test)?);
        }
        if !drill.take(test)?.is_done() {
            break;
        }
    }
    Ok(made)
}

fn ask(drill: &Drill<'_>, test: &crate::tester::Test) -> Result<Question, DrillError> {
    let study = drill.study;
    let circuit = study.circuit();
    let belief = drill.course.belief();
    let look = |entry: &super::log::Entry<'_>| match &entry.what {
        What::Look(look) => {
            let test = &look.column.test;
            Some((
                words::title_in_setup(circuit, test),
                seen_words(circuit, test, on_paper(&entry.seen)),
            ))
        }
        _ => None,
    };
    let column = study.column(test)?;
    let outcomes = column.outcomes.iter().zip(&column.likelihood);
    let splits: Vec<String> = outcomes
        .filter_map(|(outcome, row)| {
            let after: Vec<f64> =
                belief.iter().zip(row).map(|(share, chance)| share * chance).collect();
            let total: f64 = after.iter().sum();
            let left: Vec<f64> = after.iter().map(|one| one / total.max(1e-12)).collect();
            (total >= 0.05).then(|| {
                format!("{} ({:.0} %): {}", outcome.words, total * 100.0, leaning(study, &left))
            })
        })
        .collect();
    let lineup = study.lineup();
    let hidden: Vec<_> = drill.hidden.iter().map(|id| &lineup.suspects[id.index()]).collect();
    let part = |part: Option<crate::circuit::PartId>| {
        part.map_or("", |part| circuit.part(part).name.as_str())
    };
    let faults: Vec<String> =
        hidden.iter().map(|one| format!("{}: {}", part(one.part), one.fault)).collect();
    let fixes: Vec<&str> =
        hidden.iter().map(|one| lineup.fixes[one.fix.index()].title.as_str()).collect();
    Ok(Question {
        seen: drill.log.iter().filter_map(look).collect(),
        open: open_parts(study, &belief)
            .into_iter()
            .map(|(part, share)| (circuit.part(part).name.clone(), share))
            .collect(),
        next: format!(
            "{} ({} min)",
            words::title_in_setup(circuit, test),
            words::show(drill.course.test_minutes(test))
        ),
        why: format!(
            "It brings {:.2} bits about the repair. {}.",
            bits_of(study, &column, &belief),
            splits.join("; ")
        ),
        fault: faults.join("; "),
        fix: fixes.join("; "),
    })
}

/// What is seen, without what only moves at a real meter.
fn on_paper(seen: &str) -> &str {
    seen.strip_suffix(", the last digit moving").unwrap_or(seen)
}
