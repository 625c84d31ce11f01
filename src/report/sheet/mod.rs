//! The sheet of expected readings: what a sound circuit shows, to be printed and laid beside the machine.
//!
//! `Sheet::of` takes a study's table together; the other files are a format each.

pub mod html;
pub mod markdown;

use std::sync::Arc;

use crate::circuit::{Circuit, Kind, TerminalId};
use crate::job::shown::cautions;
use crate::job::state::Job;
use crate::job::study::Study;
use crate::job::words;
use crate::problem::sanitise;
use crate::report::plain::clean;
use crate::setup::Setup;
use crate::tester::expectations::Column;
use crate::tester::limits;
use crate::tester::{Target, Tester};

/// A point that tells less about what to mend is left out, unless all are asked for.
const LEAST_BITS: f64 = 0.05;
/// Points on a sheet, unless all are asked for: about two pages.
const MOST_POINTS: usize = 48;

/// All of it, sanitised.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// The circuit's name.
    pub circuit: String,
    /// The machine's.
    pub machine: String,
    /// What should work.
    pub complaint: String,
    /// Testers at hand.
    pub kit: Vec<String>,
    /// Words for the learner.
    pub notes: Vec<String>,
    /// Setup by setup.
    pub setups: Vec<SetupSheet>,
    /// Points that were left out as they tell little.
    pub left_out: usize,
}

/// What is read with the machine in one state.
#[derive(Debug, Clone, PartialEq)]
pub struct SetupSheet {
    /// The state.
    pub words: String,
    /// What to heed.
    pub cautions: Vec<String>,
    /// Point by point.
    pub points: Vec<Point>,
}

/// One point, or two between which is measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// Where it is reached.
    pub place: String,
    /// Its name.
    pub name: String,
    /// Colours of the wires on it.
    pub colours: String,
    /// What is read there, tester by tester.
    pub readings: Vec<Reading>,
    /// What it tells of what to mend, in bits, by its best tester.
    pub bits: f64,
}

/// What one tester shows.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// The tester.
    pub tester: String,
    /// What a sound circuit shows; of numbers where 95 of a hundred lie.
    pub sound: String,
    /// A published limit, with its source.
    pub published: Option<String>,
}

impl Sheet {
    /// Takes columns together; with `all` those too that tell little.
    pub fn of(study: &Arc<Study>, columns: &[&Column], kit: Vec<String>, all: bool) -> Sheet {
        let circuit = study.circuit();
        let mut found: Vec<(&Setup, Target, Point)> = Vec::new();
        for column in columns.iter().filter(|column| column.test.tester != Tester::Wiggle) {
            let test = &column.test;
            let bits = bits(study, column);
            let known = found
                .iter_mut()
                .find(|(setup, target, _)| *setup == &test.setup && *target == test.target);
            match known {
                Some((.., point)) => {
                    point.readings.push(reading(circuit, column));
                    point.bits = point.bits.max(bits);
                }
                None => found.push((&test.setup, test.target, point(circuit, column, bits))),
            }
        }
        let before = found.len();
        if !all {
            let mut worth: Vec<f64> = found.iter().map(|(.., point)| point.bits).collect();
            worth.sort_unstable_by(|a, b| b.total_cmp(a));
            let least = worth.get(MOST_POINTS).map_or(LEAST_BITS, |last| last.max(LEAST_BITS));
            found.retain(|(.., point)| point.bits > least);
        }
        Sheet {
            circuit: sanitise(&circuit.name),
            machine: sanitise(&circuit.machine),
            complaint: sanitise(&study.work().name),
            kit: clean(kit),
            notes: clean(circuit.notes.clone()),
            left_out: before - found.len(),
            setups: by_setup(study, found, columns),
        }
    }
}

/// The points of each setup in order of their places, setups in the order they were met.
fn by_setup(
    study: &Arc<Study>,
    found: Vec<(&Setup, Target, Point)>,
    columns: &[&Column],
) -> Vec<SetupSheet> {
    let circuit = study.circuit();
    let mut setups: Vec<(&Setup, SetupSheet)> = Vec::new();
    for (setup, _, point) in found {
        if let Some((_, sheet)) = setups.iter_mut().find(|(known, _)| *known == setup) {
            sheet.points.push(point);
            continue;
        }
        let words = sanitise(&setup.words(circuit));
        let cautions = cautions(study, setup, columns);
        setups.push((setup, SetupSheet { words, cautions, points: vec![point] }));
    }
    for (_, sheet) in &mut setups {
        let order =
            |name: &str| circuit.places.iter().position(|place| sanitise(&place.name) == name);
        sheet.points.sort_by_key(|point| order(point.place.split(", ").next().unwrap_or_default()));
    }
    // Less is taken apart in the first ones.
    setups.sort_by_key(|(setup, _)| (!setup.is_whole(), setup.ground_off));
    setups.into_iter().map(|(_, sheet)| sheet).collect()
}

/// What to heed for the readings of a setup, the machine standing at rest before.
fn cautions(study: &Arc<Study>, setup: &Setup, columns: &[&Column]) -> Vec<String> {
    let job = Job::new(Arc::clone(study));
    let folded = job.folded();
    let mut lines: Vec<String> = Vec::new();
    for column in columns.iter().filter(|column| &column.test.setup == setup) {
        for line in cautions::cautions(study, &folded.course, &column.test, &study.prior) {
            if !lines.contains(&line) {
                lines.push(line);
            }
        }
    }
    clean(lines)
}

fn reading(circuit: &Circuit, column: &Column) -> Reading {
    let sound = limits::sound_words(column)
        .unwrap_or_else(|| column.outcomes[column.likeliest(0)].words.clone());
    Reading {
        tester: words::tester_words(column.test.tester).to_owned(),
        sound: sanitise(&sound),
        published: limits::published(circuit, column)
            .map(|limit| sanitise(&format!("{}: {}", limit.words(), limit.rule.about))),
    }
}

fn point(circuit: &Circuit, column: &Column, bits: f64) -> Point {
    let ends = match column.test.target {
        Target::Point(at) => vec![at],
        Target::Pair(a, b) => vec![a, b],
        Target::Part(_) | Target::Connector(_) => Vec::new(),
    };
    let place_of = |at: &TerminalId| {
        circuit.terminal(*at).place.map(|place| circuit.place(place).name.clone())
    };
    let mut places: Vec<String> = ends.iter().filter_map(place_of).collect();
    let name = match column.test.target {
        Target::Part(part) => {
            places.push(circuit.place(circuit.part(part).place).name.clone());
            circuit.part(part).name.clone()
        }
        Target::Connector(at) => {
            places.push(circuit.place(circuit.connector(at).place).name.clone());
            circuit.connector(at).name.clone()
        }
        _ => ends
            .iter()
            .map(|at| circuit.terminal(*at).name.clone())
            .collect::<Vec<_>>()
            .join(" and "),
    };
    places.dedup();
    Point {
        place: sanitise(&places.join(", ")),
        name: sanitise(&name),
        colours: sanitise(&colours(circuit, &ends)),
        readings: vec![reading(circuit, column)],
        bits,
    }
}

/// The colours of the wires on some terminals, each once.
fn colours(circuit: &Circuit, ends: &[TerminalId]) -> String {
    let mut colours: Vec<&str> = Vec::new();
    for at in ends {
        for (link, _) in circuit.links_at(*at) {
            if let Kind::Wire { colour, .. } = &circuit.part(circuit.link(link).part).kind
                && !colour.is_empty()
                && !colours.contains(&colour.as_str())
            {
                colours.push(colour);
            }
        }
    }
    colours.join(", ")
}

/// What a reading tells of what to mend, in bits: the information that outcome and fix share.
fn bits(study: &Study, column: &Column) -> f64 {
    let lineup = study.lineup();
    let mut bits = 0.0;
    let mut share = vec![0.0; lineup.fixes.len()];
    for (suspect, prior) in lineup.suspects.iter().zip(&study.prior) {
        share[suspect.fix.index()] += prior;
    }
    for row in &column.likelihood {
        let mut joint = vec![0.0; lineup.fixes.len()];
        for ((suspect, prior), likelihood) in lineup.suspects.iter().zip(&study.prior).zip(row) {
            joint[suspect.fix.index()] += prior * likelihood;
        }
        let total: f64 = joint.iter().sum();
        let both = joint.iter().zip(&share).filter(|(joint, _)| **joint > 0.0);
        bits += both.map(|(joint, share)| joint * (joint / (share * total)).log2()).sum::<f64>();
    }
    bits
}
