//! The figures of a way through all suspects, as data.

use serde_json::{Map, Value, json};

use crate::job::study::Study;
use crate::trial::{Outcome, cured_share, mean, worst};

/// What came of some plays: each of them, and the means.
pub(super) fn figures(study: &Study, outcomes: &[Outcome]) -> Map<String, Value> {
    let per_suspect: Vec<Value> = outcomes
        .iter()
        .map(|one| {
            json!({
                "id": study.lineup().suspects[one.suspect.index()].id,
                "tests": one.play.tests, "minutes": one.play.minutes, "cured": one.play.cured,
                "wrong_fixes": one.play.wrong_fixes, "weight": one.weight,
                "steps": one.play.steps,
            })
        })
        .collect();
    let mut map = Map::new();
    map.insert("per_suspect".into(), json!(per_suspect));
    map.insert("mean_minutes".into(), json!(mean(outcomes, |play| play.minutes)));
    map.insert("mean_tests".into(), json!(mean(outcomes, |play| play.tests as f64)));
    map.insert("worst_minutes".into(), json!(worst(outcomes, |play| play.minutes)));
    map.insert("worst_tests".into(), json!(worst(outcomes, |play| play.tests as f64)));
    map.insert("cured_share".into(), json!(cured_share(outcomes)));
    map
}
