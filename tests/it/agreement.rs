//! The table of agreement, `tests/data/agreement.md`: for each published source the number of cases and
//! the worst deviation, computed here from the data and the library and held against what the table says.
//! Its lines about the circuit simulator are held by `spice`.

mod parts;
mod tables;
mod wires;
mod worked;

use std::collections::BTreeMap;

use serde_json::Value;

use crate::physics::Published;

/// The table as it stands.
const TABLE: &str = include_str!("../data/agreement.md");

/// How a line of the table begins when it is about the simulator.
const SIMULATOR: &str = "| ngspice |";

/// What is worst in a row.
#[derive(Debug, Clone, Copy)]
pub enum Worst {
    /// The largest share by which a computed value is off.
    Off(f64),
    /// The largest share of what a published limit allows.
    Used(f64),
    /// Nothing to measure: each case is as it should be, or the test has failed.
    Alike,
}

/// A source, what of it was compared, and how well it agrees.
#[derive(Debug, Clone)]
pub struct Row {
    source: &'static str,
    what: &'static str,
    cases: usize,
    worst: Worst,
}

impl Row {
    /// No case yet, none off.
    pub fn off(source: &'static str, what: &'static str) -> Row {
        Row { source, what, cases: 0, worst: Worst::Off(0.0) }
    }

    /// No case yet, no limit used.
    pub fn used(source: &'static str, what: &'static str) -> Row {
        Row { source, what, cases: 0, worst: Worst::Used(0.0) }
    }

    /// No case yet, each to be as it should.
    pub fn alike(source: &'static str, what: &'static str) -> Row {
        Row { source, what, cases: 0, worst: Worst::Alike }
    }

    /// A computed value beside the published one, or beside the published limit.
    #[track_caller]
    pub fn add(&mut self, found: f64, published: f64) {
        self.cases += 1;
        assert!(found.is_finite() && published != 0.0, "{found} beside {published}");
        match &mut self.worst {
            Worst::Off(worst) => *worst = worst.max((found / published - 1.0).abs()),
            Worst::Used(worst) => *worst = worst.max(found / published),
            Worst::Alike => panic!("`{}` measures nothing", self.what),
        }
    }

    /// A case that has to be so.
    #[track_caller]
    pub fn so(&mut self, holds: bool) {
        self.cases += 1;
        assert!(holds, "{}: {}, case {}", self.source, self.what, self.cases);
    }

    fn line(&self) -> String {
        let worst = match self.worst {
            Worst::Off(share) if share < 1e-9 => "none".to_owned(),
            Worst::Off(share) => format!("{} %", two_digits(100.0 * share)),
            Worst::Used(share) => format!("{} % of what is allowed", two_digits(100.0 * share)),
            Worst::Alike => "all alike".to_owned(),
        };
        format!("| {} | {} | {} | {worst} |", self.source, self.what, self.cases)
    }
}

/// Holds a line of the table about the simulator: the worst of what was compared may not be above what it
/// says, and where all was compared the cases are as many.
pub fn hold_simulator(what: &str, compared: usize, is_all: bool, worst_volts: f64) {
    let begins = format!("{SIMULATOR} {what} | ");
    let told = TABLE.lines().find_map(|line| line.strip_prefix(&begins));
    let told =
        told.unwrap_or_else(|| panic!("no line `{begins}`: {compared} cases, {worst_volts:e} V"));
    let (cases, worst) = told.split_once(" | ").unwrap();
    let most_volts = 1e-3 * worst.strip_suffix(" mV |").unwrap().parse::<f64>().unwrap();
    assert!(worst_volts <= most_volts, "`{what}` is off by {worst_volts:e} V, told {worst}");
    assert!(
        !is_all || cases == compared.to_string(),
        "`{what}` has {compared} cases, told {cases}"
    );
}

/// `0.0012`, `3.4`, `27`.
fn two_digits(value: f64) -> String {
    let value: f64 = format!("{value:.1e}").parse().unwrap();
    let decimals = (1.0 - value.abs().max(1e-12).log10().floor()).max(0.0) as usize;
    format!("{value:.decimals$}")
}

/// The published value of that name.
pub fn value(text: &str, id: &str) -> Value {
    let all: Vec<Published> = serde_yaml::from_str(text).unwrap();
    all.into_iter().find(|one| one.id == id).unwrap_or_else(|| panic!("no `{id}`")).value
}

/// Pairs of numbers.
pub fn pairs(value: &Value) -> Vec<(f64, f64)> {
    let pair = |one: &Value| (one[0].as_f64().unwrap(), one[1].as_f64().unwrap());
    value.as_array().unwrap().iter().map(pair).collect()
}

/// Numbers by name.
pub fn by_name(value: &Value) -> BTreeMap<String, f64> {
    let entry = |(name, value): (&String, &Value)| (name.clone(), value.as_f64().unwrap());
    value.as_object().unwrap().iter().map(entry).collect()
}

#[test]
fn the_table_of_agreement_is_true() {
    let rows: Vec<Row> = [worked::rows(), wires::rows(), tables::rows(), parts::rows()]
        .into_iter()
        .flatten()
        .collect();
    let computed: Vec<String> = rows.iter().map(Row::line).collect();
    let told: Vec<&str> = TABLE
        .lines()
        .filter(|line| line.starts_with("| ") && !line.starts_with(SIMULATOR))
        .skip(2)
        .collect();
    assert_eq!(computed, told, "the lines of tests/data/agreement.md are\n{}", computed.join("\n"));
    assert!(rows.iter().all(|row| row.cases > 0));
}
