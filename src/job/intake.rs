//! What can be asked before the first step: the complaint in more detail, as the circuit itself can show it.
//!
//! Nothing here is a list of symptoms: what may be seen or heard, and whether asking for it tells anything,
//! comes out of the solver under every suspect.

use std::sync::Arc;

use super::state::Job;
use super::study::choice::class_bits;
use crate::circuit::{Circuit, Sight, Work};
use crate::setup::Setup;
use crate::tester::Target;
use crate::tester::expectations::Column;
use crate::tester::make::make;
use crate::tester::scale::Scale;
use crate::tester::shows::sense_for;

/// A question that tells less about the fix, in bits, is not worth a key.
const LEAST_BITS: f64 = 0.02;
/// An outcome less likely than this is not offered.
const LEAST_CHANCE: f64 = 0.01;

/// One thing a person may have seen or heard when it failed.
#[derive(Debug, Clone, PartialEq)]
pub struct Symptom {
    /// Id of the look.
    pub test: String,
    /// What is asked.
    pub question: String,
    /// What may have been seen: the outcome's id, its words, how likely it is.
    pub options: Vec<(String, String, f64)>,
}

/// What tells most about the fix beyond what was told already; `None` when nothing tells enough.
pub fn symptom(job: &Job) -> Option<Symptom> {
    let study = job.study();
    let circuit = study.circuit();
    let course = job.folded().course;
    let belief = course.belief();
    let setup = study.check_setup();
    let lineup = study.lineup();
    let classes: Vec<usize> = lineup.suspects.iter().map(|one| one.fix.index()).collect();
    let look = |part: crate::circuit::PartId| -> Option<Arc<Column>> {
        let tester = sense_for(&circuit.part(part).kind)?;
        study.column(&make(circuit, tester, Target::Part(part), &setup).ok()?).ok()
    };
    let worth = |column: Arc<Column>| {
        let bits = class_bits(&column.likelihood, &classes, lineup.fixes.len(), &belief);
        let asked = as_question(circuit, &belief, &column);
        (bits >= LEAST_BITS && asked.options.len() > 1).then_some((bits, asked))
    };
    circuit
        .part_ids()
        .filter_map(look)
        .filter(|column| course.allows(&column.test))
        .filter_map(worth)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, asked)| asked)
}

fn as_question(circuit: &Circuit, belief: &[f64], column: &Column) -> Symptom {
    let name = match column.test.target {
        Target::Part(part) => circuit.part(part).name.as_str(),
        _ => "machine",
    };
    let rows = column.outcomes.iter().zip(&column.likelihood);
    let options = rows
        .map(|(outcome, row)| {
            let chance: f64 = belief.iter().zip(row).map(|(a, b)| a * b).sum();
            (outcome.id.clone(), outcome.words.clone(), chance)
        })
        .filter(|(_, _, chance)| *chance >= LEAST_CHANCE)
        .collect();
    let question = format!("The {name}, with {}:", column.test.setup.words(circuit));
    Symptom { test: column.test.id.clone(), question, options }
}

/// A work as the complaint that it does not come about.
pub fn complaint(circuit: &Circuit, work: &Work) -> String {
    let setup = Setup::for_work(circuit, work).words(circuit);
    let setup = if setup.is_empty() { setup } else { format!(" ({setup})") };
    let fails: Vec<String> = work.see.iter().map(|sight| failing(circuit, work, sight)).collect();
    format!("`{}` fails: {}{setup}", work.name, fails.join(", or "))
}

/// What is seen or heard where one sight of a work is not as it should be.
fn failing(circuit: &Circuit, work: &Work, sight: &Sight) -> String {
    let part = circuit.part(sight.part);
    let name = &part.name;
    let look = sense_for(&part.kind).and_then(|tester| {
        make(circuit, tester, Target::Part(sight.part), &Setup::for_work(circuit, work)).ok()
    });
    let outcomes = look.map(|test| (test.scale, test.scale.outcomes(&test.scale.edges())));
    match (outcomes.as_ref().map(|(scale, list)| (*scale, list.as_slice())), sight.acts) {
        (Some((Scale::Click, _)), true) => format!("the {name} does not click"),
        (Some((Scale::Click, _)), false) => format!("the {name} clicks"),
        (Some((scale, [none, some, all])), acts) if scale != Scale::Drain => {
            let (one, other) = if acts { (none, some) } else { (some, all) };
            format!("the {name} {} or {}", one.words, other.words)
        }
        (_, true) => format!("the {name} does not do its work"),
        (_, false) => format!("the {name} gives more than it should"),
    }
}
