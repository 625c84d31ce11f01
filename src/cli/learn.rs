//! `learn`: what finished jobs teach, and what follows from it.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::Path;

use serde_json::{Value, json};

use super::args::Learn;
use super::exit::{CliError, End, say, say_json};
use super::{history, load};
use crate::circuit::Circuit;
use crate::history::ledger::{Forget, Ledger};
use crate::history::record::Record;
use crate::history::teach::{self, Lesson, lesson};
use crate::job::journal::{self, Kept};
use crate::problem::sanitise;
use crate::report::plain::count;
use crate::tester::slips;

/// Runs `learn`.
pub fn run(learn: &Learn) -> Result<End, CliError> {
    let path = history::path(learn.history.as_deref().unwrap_or_default())?;
    let mut changes = Changes::new(history::read(&path)?);
    for file in &learn.merge {
        if !file.exists() {
            return Err(CliError::usage(format!("there is no history `{}`", file.display())));
        }
        changes.merge(&history::read(file)?);
    }
    for job in &learn.jobs {
        if let Err(error) = changes.job(job) {
            let named = sanitise(&job.display().to_string());
            changes.passed_over.push((named, sanitise(&error.to_string())));
        }
    }
    for job in &learn.forget {
        changes.forget(job)?;
    }
    if !learn.dry_run && changes.any() {
        changes.keep(&path)?;
    }
    let circuits = changes.told_of();
    if learn.json {
        say_json(&changes.in_json(&circuits))?;
    } else {
        let path = sanitise(&path.display().to_string());
        say(&changes.in_words(&path, &circuits, learn.dry_run))?;
    }
    Ok(if changes.passed_over.is_empty() { End::Fine } else { End::Finding })
}

/// What this run adds to a history.
struct Changes {
    before: Ledger,
    after: Ledger,
    added: Vec<Record>,
    forgotten: Vec<String>,
    /// Jobs that taught nothing, and why.
    passed_over: Vec<(String, String)>,
    circuits: BTreeMap<String, Circuit>,
}

impl Changes {
    fn new(before: Ledger) -> Changes {
        let after = before.clone();
        Changes {
            before,
            after,
            added: Vec::new(),
            forgotten: Vec::new(),
            passed_over: Vec::new(),
            circuits: BTreeMap::new(),
        }
    }

    fn any(&self) -> bool {
        !self.added.is_empty() || !self.forgotten.is_empty()
    }

    fn merge(&mut self, other: &Ledger) {
        for record in other.records() {
            if self.after.add(record.clone()) {
                self.added.push(record.clone());
            }
        }
    }

    /// Adds the job in a file, reckoned by the catalogue alone.
    fn job(&mut self, path: &Path) -> Result<(), CliError> {
        let (mut kept, _) = journal::read(path).map_err(CliError::failed)?;
        kept.header.learned = crate::job::study::learned::Learned::default();
        let named = sanitise(&path.display().to_string());
        let job = load::job(path, &kept)?;
        let circuit = job.study().circuit().clone();
        self.circuits.insert(circuit.id.clone(), circuit);
        let Kept { header, times, .. } = &kept;
        match Record::of(&job, &header.started, times) {
            Ok(record) if self.after.add(record.clone()) => self.added.push(record),
            Ok(_) => self.passed_over.push((named, "it was learnt from before".to_owned())),
            Err(why) => self.passed_over.push((named, why.to_string())),
        }
        Ok(())
    }

    fn forget(&mut self, job: &str) -> Result<(), CliError> {
        let id = if job == "last" {
            self.after.records().last().map_or_else(String::new, |record| record.job.clone())
        } else {
            job.to_owned()
        };
        if !self.after.forget(&id) {
            let message = format!("no job `{job}` in the history; `halfsplit learn` lists them");
            return Err(CliError::usage(message));
        }
        self.forgotten.push(id);
        Ok(())
    }

    fn keep(&self, path: &Path) -> Result<(), CliError> {
        let mut held = history::Held::open(path)?;
        let new = |record: &&Record| !held.ledger.holds(&record.job);
        let added: Vec<&Record> = self.added.iter().filter(new).collect();
        held.append(&added)?;
        let forgotten: Vec<Forget> =
            self.forgotten.iter().map(|job| Forget { forget: job.clone() }).collect();
        held.append(&forgotten)
    }

    /// Circuits of which this history can say something: those of the jobs given, and the built-in ones.
    fn told_of(&self) -> Vec<Circuit> {
        let touched = self.after.circuits();
        let touched = touched.into_iter().chain(self.before.circuits());
        let mut all: BTreeMap<&str, Circuit> = BTreeMap::new();
        for id in touched {
            let given = self.circuits.get(id).cloned();
            let known = given.or_else(|| load::built_in(id).map(|circuit| (*circuit).clone()));
            if let Some(circuit) = known {
                all.insert(id, circuit);
            }
        }
        all.into_values().collect()
    }

    fn in_json(&self, circuits: &[Circuit]) -> Value {
        let weights: serde_json::Map<String, Value> = circuits
            .iter()
            .map(|circuit| {
                let lesson = lesson(&self.after, circuit);
                let value = json!({
                    "jobs_here": lesson.jobs_here, "jobs_elsewhere": lesson.jobs_elsewhere,
                    "times_likelier": lesson.learned.times_likelier,
                    "place_minutes": lesson.learned.place_minutes,
                    "fix_minutes": lesson.learned.fix_minutes,
                });
                (circuit.id.clone(), value)
            })
            .collect();
        json!({
            "jobs": self.after.records().len(),
            "added": self.added.iter().map(|one| &one.job).collect::<Vec<_>>(),
            "forgotten": self.forgotten,
            "passed_over": self.passed_over,
            "weights": weights,
            "slips": teach::slips(&self.after),
        })
    }

    fn in_words(&self, path: &str, circuits: &[Circuit], dry: bool) -> String {
        let mut text = format!("History {path}: {}\n", count(self.after.records().len(), "job"));
        let would = if dry { "would be " } else { "" };
        for record in &self.added {
            let _ = writeln!(text, "  {would}added      {}", line(record));
        }
        for job in &self.forgotten {
            let _ = writeln!(text, "  {would}forgotten  {}", sanitise(job));
        }
        for (file, why) in &self.passed_over {
            let _ = writeln!(text, "  passed over  {file}: {why}");
        }
        if !self.any() && self.passed_over.is_empty() {
            for record in self.after.records() {
                let _ = writeln!(text, "  {}", line(record));
            }
        }
        for circuit in circuits {
            let (before, after) = (lesson(&self.before, circuit), lesson(&self.after, circuit));
            text.push_str(&told(circuit, &before, &after));
        }
        text.push_str(&self.slips());
        text
    }

    fn slips(&self) -> String {
        let learned = teach::slips(&self.after);
        let mut text = String::new();
        for (family, share) in &learned {
            let usual = slips::usual(family);
            if (share - usual).abs() > 0.0005 {
                let _ = writeln!(
                    text,
                    "Wrong readings, {family}: {:.1} % (usual {:.1} %)",
                    100.0 * share,
                    100.0 * usual
                );
            }
        }
        text
    }
}

/// A job of the history; its words may come from another shop's file.
fn line(record: &Record) -> String {
    let day = record.started.get(..10).unwrap_or(&record.started);
    let words = [&record.job, day, &record.circuit, &record.cured_by].map(sanitise);
    let [job, day, circuit, fix] = words;
    format!("{job}  {day}  {circuit}: {fix} cured")
}

/// What changed for one circuit, and why.
fn told(circuit: &Circuit, before: &Lesson, after: &Lesson) -> String {
    let mut text = format!(
        "\n{} ({} here, {} on other circuits)\n",
        sanitise(&circuit.name),
        count(after.jobs_here, "job"),
        after.jobs_elsewhere
    );
    let mut parts: Vec<_> = after.parts.iter().collect();
    parts.sort_by(|a, b| (b.times_likelier - 1.0).abs().total_cmp(&(a.times_likelier - 1.0).abs()));
    if !parts.is_empty() {
        let _ = writeln!(
            text,
            "  {:<28} {:>6} {:>9} {:>8} {:>8}",
            "part", "found", "expected", "before", "now"
        );
    }
    for part in parts.iter().take(MOST_LINES) {
        let was = before.parts.iter().find(|one| one.part == part.part);
        let name = circuit.parts.iter().find(|one| one.id == part.part);
        let name = name.map_or(part.part.as_str(), |one| one.name.as_str());
        let _ = writeln!(
            text,
            "  {:<28} {:>6.1} {:>9.1} {:>7.2}x {:>7.2}x",
            cut(&sanitise(name), 28),
            part.found,
            part.expected,
            was.map_or(1.0, |one| one.times_likelier),
            part.times_likelier
        );
    }
    if parts.len() > MOST_LINES {
        let _ = writeln!(text, "  {} parts more, changed less", parts.len() - MOST_LINES);
    }
    let minutes = |text: &mut String, what: &str, id: &str, usual: f64, now: f64| {
        if (now - usual).abs() > 0.05 {
            let _ = writeln!(text, "  {what} {id}: {now:.1} min (the file says {usual:.1})");
        }
    };
    for place in &circuit.places {
        if let Some(now) = after.learned.place_minutes.get(&place.id) {
            minutes(&mut text, "to open", &sanitise(&place.name), place.open_minutes, *now);
        }
    }
    for fix in &crate::suspect::Lineup::of(circuit).fixes {
        if let Some(now) = after.learned.fix_minutes.get(&fix.id) {
            minutes(&mut text, "repair", &fix.id, fix.minutes, *now);
        }
    }
    text
}

/// Parts told of a circuit.
const MOST_LINES: usize = 12;

fn cut(name: &str, most: usize) -> String {
    if name.chars().count() <= most {
        return name.to_owned();
    }
    name.chars().take(most - 1).chain(['…']).collect()
}
