//! `next`: one step, no state.

use serde_json::{Map, Value, json};

use super::args::Next;
use super::exit::{CliError, End, say, say_json};
use super::{answer, load};
use crate::job::standing::{Ending, FixStep, Standing, Step, TestStep};
use crate::job::state::Job;
use crate::plan::{Budget, Progress};
use crate::problem::sanitise;

/// Runs `next`.
pub fn run(next: &Next) -> Result<End, CliError> {
    let mut job = load::new_job(&next.circuit, &next.common)?;
    for reading in &next.readings {
        let event = answer::event(&mut job, reading)?;
        job.record(event).map_err(CliError::usage)?;
    }
    let standing = job.standing(&Budget { nodes: load::STEP_NODES }, &Progress::default());
    if next.json {
        say_json(&in_json(&job, &standing))?;
    } else {
        say(&in_words(&standing))?;
    }
    Ok(End::Fine)
}

fn in_json(job: &Job, standing: &Standing) -> Value {
    let mut object = Map::new();
    let folded = job.folded();
    let belief = folded.course.belief();
    let lineup = job.study().lineup();
    let mut suspects: Vec<(f64, Value)> = lineup
        .suspects
        .iter()
        .zip(&belief)
        .map(|(suspect, share)| {
            let part = suspect.part.map(|part| &job.study().circuit().parts[part.index()].id);
            let fix = &lineup.fixes[suspect.fix.index()].id;
            let value = json!({
                "id": suspect.id, "part": part, "fault": suspect.fault, "fix": fix,
                "probability": share,
            });
            (*share, value)
        })
        .collect();
    suspects.sort_by(|a, b| b.0.total_cmp(&a.0));
    object.insert("suspects".into(), suspects.into_iter().map(|one| one.1).collect());
    let (key, value, why) = match &standing.step {
        Step::Test(test) => ("test", test_json(test), test.why.clone()),
        Step::Fix(fix) => ("fix", fix_json(fix), fix.why.clone()),
        Step::Cured(ending) => ("verdict", ending_json(ending, true), ending.lines.clone()),
        Step::Stuck(ending) => ("verdict", ending_json(ending, false), ending.lines.clone()),
    };
    object.insert(key.into(), value);
    object.insert("why".into(), json!(why));
    object.insert("surprise".into(), json!(standing.surprise));
    object.insert("setup".into(), json!(standing.setup));
    object.insert("minutes_spent".into(), json!(standing.minutes_spent));
    object.insert("expected_minutes".into(), json!(standing.minutes_left));
    Value::Object(object)
}

fn test_json(test: &TestStep) -> Value {
    let outcomes: Vec<Value> = test
        .outcomes
        .iter()
        .map(|one| {
            json!({ "id": one.id, "words": one.words, "probability": one.probability,
                    "meaning": one.meaning })
        })
        .collect();
    json!({
        "id": test.id, "title": test.title, "cautions": test.cautions, "doing": test.doing,
        "watch": test.watch, "sound": test.sound, "published": test.published, "outcomes": outcomes, "minutes": test.minutes,
        "unit": test.number.as_ref().map(|number| number.unit),
    })
}

fn fix_json(fix: &FixStep) -> Value {
    json!({
        "id": fix.id, "title": fix.title, "probability": fix.probability,
        "cautions": fix.cautions, "parts": fix.parts, "doing": fix.doing, "proof": fix.proof, "minutes": fix.minutes,
    })
}

fn ending_json(ending: &Ending, cured: bool) -> Value {
    json!({ "cured": cured, "title": ending.title, "put_back": ending.put_back })
}

fn in_words(standing: &Standing) -> String {
    let mut lines = Vec::new();
    match &standing.step {
        Step::Test(test) => {
            lines.push(format!("Test: {}", test.title));
            lines.push(format!("  id: {}", test.id));
            lines.extend(test.cautions.iter().map(|line| format!("  ! {line}")));
            lines.extend(test.doing.iter().map(|line| format!("  - {line}")));
            lines.push(format!("  - {}", test.watch));
            let limits = test.sound.iter().chain(&test.published);
            lines.extend(limits.map(|line| format!("  - {line}")));
            let ids: Vec<&str> = test.outcomes.iter().map(|one| one.id.as_str()).collect();
            lines.push(format!("  outcomes: {}", ids.join(", ")));
            lines.push("Why:".to_owned());
            lines.extend(test.why.iter().map(|line| format!("  {line}")));
        }
        Step::Fix(fix) => {
            lines.push(format!("Fix: {} ({:.0} %)", fix.title, fix.probability * 100.0));
            lines.push(format!("  id: {}", fix.id));
            lines.extend(fix.cautions.iter().map(|line| format!("  ! {line}")));
            lines.extend(fix.parts.iter().map(|line| format!("  at hand: {line}")));
            lines.extend(fix.doing.iter().map(|line| format!("  - {line}")));
            lines.extend(fix.proof.iter().map(|line| format!("  - {line}")));
            lines.extend(fix.why.iter().cloned());
        }
        Step::Cured(ending) | Step::Stuck(ending) => {
            lines.push(ending.title.clone());
            lines.extend(ending.lines.iter().map(|line| format!("  {line}")));
            lines.extend(ending.put_back.iter().map(|line| format!("  - {line}")));
        }
    }
    lines.extend(standing.surprise.clone());
    lines.push("Suspects:".to_owned());
    for suspect in standing.suspects.iter().take(8) {
        let share = suspect.probability * 100.0;
        lines.push(format!("  {share:5.1} %  {}: {}", suspect.part, suspect.fault));
    }
    let lines: Vec<String> = lines.iter().map(|line| sanitise(line)).collect();
    lines.join("\n") + "\n"
}
