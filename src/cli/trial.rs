//! `trial`: the planner against every suspect, beside simpler ways of working.

use std::fmt::Write;

use serde_json::{Map, Value, json};

use super::args::Trial;
use super::exit::{CliError, End, say, say_json};
use super::figures::figures;
use super::{load, sequence};
use crate::job::study::Study;
use crate::plan::{Budget, Progress};
use crate::trial::desk::Desk;
use crate::trial::double::{Double, Doubles, doubles};
use crate::trial::noise::{Noise, Noisy, noisy};
use crate::trial::rival::Way;
use crate::trial::yardstick::{Yardstick, yardstick};
use crate::trial::{Series, cases, series};

/// States that the search for the optimum of a trial may examine.
const OPTIMUM_NODES: u64 = 20_000;

/// Runs `trial`.
pub fn run(trial: &Trial) -> Result<End, CliError> {
    let study = load::study(&trial.circuit, &trial.common)?;
    if cases(&study).is_empty() {
        return Err(CliError::failed(format!(
            "no fault of this circuit makes `{}` fail every time, so there is nothing to play; see what it \
             asks for under `works`, or name another with --complaint",
            study.work().name
        )));
    }
    if let Some(path) = &trial.sequence {
        return sequence::run(&study, path, trial);
    }
    let desk = Desk::new(&study, Budget { nodes: trial.nodes });
    let progress = Progress::default();
    let all: Vec<Series> = Way::ALL.iter().map(|&way| series(&desk, way, &progress)).collect();
    let yardstick = yardstick(&study, OPTIMUM_NODES).map_err(CliError::failed)?;
    let noise = Noise { jobs: trial.noisy_jobs, wrong: trial.wrong, seed: trial.seed };
    let noisy = (noise.jobs > 0).then(|| noisy(&desk, &noise, &progress));
    let two = (trial.pairs > 0).then(|| doubles(&desk, trial.pairs, trial.seed, &progress));
    let two = two.flatten();
    let taught = super::shop::play(trial, &study, &progress)?;
    if trial.json {
        let mut object = in_json(&study, &all, yardstick);
        object["noisy"] = json!(noisy);
        object["two_faults"] = two.map_or(Value::Null, |(sum, each)| two_in_json(&sum, &each));
        object["shops"] = json!(taught);
        say_json(&object)?;
    } else {
        say(&in_words(&study, &all, yardstick))?;
        if let Some(noisy) = noisy {
            say(&noisy_in_words(&noisy, trial.wrong))?;
        }
        if let Some((sum, _)) = two {
            say(&two_in_words(&sum))?;
        }
        if let Some(taught) = taught {
            say(&super::shop::in_words(trial, &taught))?;
        }
    }
    let cured = all[0].outcomes.iter().all(|one| one.play.cured);
    Ok(if cured { End::Fine } else { End::Finding })
}

fn in_json(study: &Study, all: &[Series], yardstick: Yardstick) -> Value {
    let mut object = figures(study, &all[0].outcomes);
    let others: Map<String, Value> = all[1..]
        .iter()
        .map(|series| (series.way.id().to_owned(), Value::Object(figures(study, &series.outcomes))))
        .collect();
    object.insert("other_ways".into(), Value::Object(others));
    object.insert("bound_minutes".into(), json!(yardstick.bound_minutes));
    object.insert("optimum_minutes".into(), json!(yardstick.optimum_minutes));
    Value::Object(object)
}

fn in_words(study: &Study, all: &[Series], yardstick: Yardstick) -> String {
    let mut text = format!(
        "{}: {} suspects that show `{}` failing\n\n{:<38} {:>8} {:>8} {:>8} {:>8} {:>7} {:>7}\n",
        study.circuit().name,
        all[0].outcomes.len(),
        study.work().name,
        "way of working",
        "minutes",
        "worst",
        "tests",
        "worst",
        "wrong",
        "cured"
    );
    for series in all {
        let _ = writeln!(
            text,
            "{:<38} {:>8.1} {:>8.1} {:>8.1} {:>8.0} {:>7.2} {:>5.0} %",
            series.way.words(),
            series.mean(|play| play.minutes),
            series.worst(|play| play.minutes),
            series.mean(|play| play.tests as f64),
            series.worst(|play| play.tests as f64),
            series.mean(|play| play.wrong_fixes as f64),
            series.cured_share() * 100.0
        );
    }
    text + &yardstick_in_words(yardstick)
}

fn yardstick_in_words(yardstick: Yardstick) -> String {
    let bound = format!(
        "\nIf every reading could be trusted, no way of working would need less than {:.1} minutes on average",
        yardstick.bound_minutes
    );
    match yardstick.optimum_minutes {
        Some(minutes) => format!("{bound};\nthe best one would need {minutes:.1}\n"),
        None => format!("{bound};\nthe best one was not found: too many suspects\n"),
    }
}

fn noisy_in_words(noisy: &Noisy, wrong: f64) -> String {
    format!(
        "\n{} jobs with {:.0} % of the readings wrong: cured {:.1} %, {:.1} minutes ({:+.1}), {:.1} tests, \
         {:.2} wrong fixes a job;\na wrong reading was taken in {:.0} % of the jobs, and one was named \
         in {:.0} % of those; a right one was doubted in {:.1} % of the others\n",
        noisy.jobs,
        wrong * 100.0,
        noisy.cured_share * 100.0,
        noisy.mean_minutes,
        noisy.minutes_added,
        noisy.mean_tests,
        noisy.wrong_fixes,
        noisy.lied_to_share * 100.0,
        noisy.lie_named_share * 100.0,
        noisy.false_alarm_share * 100.0
    )
}

fn two_in_words(two: &Doubles) -> String {
    format!(
        "\n{} of the {} pairs of faults that show it: cured {:.1} %, {:.1} minutes (worst {:.1}), {:.1} tests, \
         {:.2} wrong fixes a job; two faults were named in {:.0} %\n",
        two.jobs,
        two.pairs,
        two.cured_share * 100.0,
        two.mean_minutes,
        two.worst_minutes,
        two.mean_tests,
        two.wrong_fixes,
        two.named_share * 100.0
    )
}

fn two_in_json(sum: &Doubles, each: &[Double]) -> Value {
    let each: Vec<Value> = each
        .iter()
        .map(|one| {
            json!({ "id": one.id, "tests": one.play.tests, "minutes": one.play.minutes,
                    "cured": one.play.cured, "wrong_fixes": one.play.wrong_fixes,
                    "steps": one.play.steps })
        })
        .collect();
    let mut object = json!(sum);
    object["per_pair"] = json!(each);
    object
}
