//! `expect`: what each test shows, sound and under each suspect.

use serde_json::{Map, Value, json};

use super::exit::{CliError, End};
use super::report_args::{Expect, SheetFormat};
use super::{load, write};
use crate::circuit::TerminalId;
use crate::job::study::Study;
use crate::job::words;
use crate::problem::sanitise;
use crate::report::sheet::{Sheet, html, markdown};
use crate::tester::expectations::Column;
use crate::tester::limits::{self, Amount, Published};
use crate::tester::{Target, Test};

/// Runs `expect`.
pub fn run(expect: &Expect) -> Result<End, CliError> {
    write::may(expect.out.out.as_deref(), expect.out.force)?;
    let study = load::study(&expect.circuit, &expect.common)?;
    let mut columns: Vec<Column> = if expect.all {
        let all = study.columns().map_err(CliError::failed)?;
        all.iter().map(|column| (**column).clone()).collect()
    } else {
        planned(&study)?
    };
    study.over_severities(&mut columns);
    let columns: Vec<&Column> = columns.iter().collect();
    let kit = expect.common.kit().iter().map(|one| one.id().to_owned()).collect();
    let sheet = || Sheet::of(&study, &columns, kit, expect.all);
    let printed = match expect.format {
        _ if expect.json => format!("{}\n", in_json(&study, &columns)),
        SheetFormat::Text => in_words(&study, &columns),
        SheetFormat::Markdown => markdown::write(&sheet()),
        SheetFormat::Html => html::write(&sheet()),
    };
    write::out(expect.out.out.as_deref(), expect.out.force, &printed)?;
    Ok(End::Fine)
}

/// The expected readings of everything that `next` may propose, setup by setup.
fn planned(study: &Study) -> Result<Vec<Column>, CliError> {
    let agendas = [study.first_agenda(), study.whole_agenda(), study.agenda_with_strangers()];
    let mut tests: Vec<Test> = agendas.into_iter().flat_map(|one| one.tests.clone()).collect();
    tests.sort_by(|a, b| a.setup.cmp(&b.setup).then(a.target.cmp(&b.target)).then(a.id.cmp(&b.id)));
    tests.dedup_by(|a, b| a.id == b.id);
    study.bench.columns(&tests).map_err(CliError::failed)
}

fn in_json(study: &Study, columns: &[&Column]) -> Value {
    let lineup = study.lineup();
    let suspects: Vec<Value> = lineup
        .suspects
        .iter()
        .zip(&study.prior)
        .map(|(suspect, prior)| {
            let part = suspect.part.map(|part| &study.circuit().parts[part.index()].id);
            let fix = &lineup.fixes[suspect.fix.index()].id;
            json!({ "id": suspect.id, "part": part, "fault": suspect.fault, "prior": prior,
                    "fix": fix })
        })
        .collect();
    let tests: Vec<Value> = columns.iter().map(|column| test_json(study, column)).collect();
    let readings: Vec<Vec<Value>> = columns.iter().map(|column| readings_json(column)).collect();
    json!({ "suspects": suspects, "tests": tests, "readings": readings })
}

fn test_json(study: &Study, column: &Column) -> Value {
    let circuit = study.circuit();
    let terminal = |at: TerminalId| circuit.graph[at].id.as_str();
    let points = match column.test.target {
        Target::Point(at) => vec![terminal(at)],
        Target::Pair(a, b) => vec![terminal(a), terminal(b)],
        Target::Part(part) => vec![circuit.parts[part.index()].id.as_str()],
        Target::Connector(at) => vec![circuit.connectors[at.index()].id.as_str()],
    };
    json!({
        "id": column.test.id, "tester": column.test.tester.id(), "points": points,
        "setup": column.test.setup.id(circuit), "minutes": column.test.minutes,
        "unit": column.test.tester.unit(), "limits": limits_json(column),
        "published": limits::published(circuit, column).map(|limit| published_json(&limit)),
    })
}

/// Where 95 sound readings of a hundred lie: numbers where the tester shows some, else outcomes.
fn limits_json(column: &Column) -> Value {
    if let Some((low, high)) = limits::sound_numbers(column) {
        return json!({ "low": low, "high": high });
    }
    let likely = limits::sound_outcomes(column);
    let ids: Vec<&str> = likely.iter().map(|&at| column.outcomes[at].id.as_str()).collect();
    json!({ "outcomes": ids })
}

fn published_json(limit: &Published) -> Value {
    let share = match limit.rule.amount {
        Amount::Share(share) => Some(share),
        _ => None,
    };
    json!({
        "volts": limit.volts, "share": share,
        "bound": if limit.is_floor() { "at-least" } else { "at-most" },
        "about": limit.rule.about, "source": limit.rule.source,
    })
}

fn readings_json(column: &Column) -> Vec<Value> {
    column
        .shown
        .iter()
        .enumerate()
        .map(|(suspect, shown)| {
            let outcomes: Map<String, Value> = column
                .outcomes
                .iter()
                .zip(&column.likelihood)
                .map(|(outcome, row)| (outcome.id.clone(), json!(row[suspect])))
                .collect();
            json!({ "value": column.test.scale.number_shown(shown.level), "outcomes": outcomes })
        })
        .collect()
}

/// The sound circuit's readings, setup by setup.
fn in_words(study: &Study, columns: &[&Column]) -> String {
    let circuit = study.circuit();
    let mut lines = vec![format!("{} ({})", circuit.name, circuit.machine)];
    let mut setup = None;
    for column in columns {
        if setup != Some(&column.test.setup) {
            setup = Some(&column.test.setup);
            lines.push(format!("\n{}:", column.test.setup.words(circuit)));
        }
        let title = words::title(circuit, &column.test);
        let seen = limits::sound_words(column)
            .unwrap_or_else(|| column.outcomes[column.likeliest(0)].words.clone());
        lines.push(format!("  {title:<58} {seen}"));
        let published = limits::published(circuit, column);
        lines.extend(
            published
                .map(|limit| format!("    {:<56} {}: {}", "", limit.words(), limit.rule.about)),
        );
    }
    let lines: Vec<String> = lines.iter().map(|line| sanitise_lines(line)).collect();
    lines.join("\n") + "\n"
}

/// Line breaks of ours stay, all else that controls a terminal goes.
fn sanitise_lines(text: &str) -> String {
    text.split('\n').map(sanitise).collect::<Vec<_>>().join("\n")
}
