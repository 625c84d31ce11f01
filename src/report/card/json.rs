//! The card as JSON: the whole job, as it was kept and as it was summed up.

use serde::Serialize;
use serde_json::{Value, json};

use super::{JobCard, Row, RowKind};
use crate::job::event::Event;
use crate::job::journal::Header;
use crate::report::mark::MADE_BY;
use crate::report::plain;

#[derive(Serialize)]
struct Whole<'a> {
    made_by: &'static str,
    circuit: &'a str,
    machine: &'a str,
    complaint: &'a str,
    started: &'a str,
    kit: &'a [String],
    verdict: Value,
    readings: Vec<Value>,
    minutes: f64,
    tests: usize,
    cautions: &'a [String],
    surprise: &'a Option<String>,
    header: &'a Header,
    events: &'a [Event],
}

/// One line of JSON and a line break.
pub fn write(card: &JobCard) -> String {
    let verdict = &card.verdict;
    let faults: Vec<Value> = verdict
        .faults
        .iter()
        .map(|one| {
            json!({ "id": one.id, "part": one.part, "fault": one.fault,
                    "probability": one.probability })
        })
        .collect();
    let whole = Whole {
        made_by: MADE_BY,
        circuit: &card.circuit,
        machine: &card.machine,
        complaint: &card.complaint,
        started: &card.header.started,
        kit: &card.kit,
        verdict: json!({ "proven": verdict.proven, "title": verdict.title, "faults": faults,
            "repair": verdict.repair, "parts": verdict.parts, "proof": verdict.proof, "put_back": verdict.put_back }),
        readings: card.rows.iter().map(row).collect(),
        minutes: card.minutes,
        tests: card.tests,
        cautions: &card.cautions,
        surprise: &card.surprise,
        header: &card.header,
        events: &card.events,
    };
    plain::json(&whole) + "\n"
}

fn row(row: &Row) -> Value {
    let mut value = json!({ "number": row.number, "kind": row.kind.word(), "id": row.id,
        "what": row.what, "setup": row.setup, "seen": row.seen, "minutes": row.minutes });
    if row.kind == RowKind::Reading {
        value["expected"] = json!(row.sound);
        value["differs"] = json!(row.differs);
    }
    value
}
