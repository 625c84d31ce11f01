//! The questions before the first step, with the circuits, jobs and settings of this person.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::args::Find;
use super::bench::{RealBench, is_device};
use super::exit::{CliError, tell};
use super::history;
use super::job_file::{self, begin_job};
use super::keeper::Shared;
use super::load;
use super::settings::{Settings, jobs_folder};
use crate::circuit::read::{Reading, pieces::PIECE};
use crate::circuit::{Circuit, builtin, read};
use crate::job::entry::number;
use crate::job::event::{Answer, Event, SkipReason, counting};
use crate::job::intake::{Symptom, complaint, symptom};
use crate::job::journal::{self, Kept};
use crate::job::state::Job;
use crate::job::study::Study;
use crate::job::study::battery::possible_volts;
use crate::tester::Instrument;
use crate::tui::bench::Bench;
use crate::tui::intake::Desk;
use crate::tui::intake::page::Row;

/// Unfinished jobs offered at most.
const OFFERED: usize = 5;
/// Job files looked through for them, newest first.
const LOOKED_AT: usize = 100;
/// Questions about how it fails at most.
const MOST_SYMPTOMS: usize = 3;
/// Files of one's own folder that are read at most.
const MOST_FILES: usize = 500;

/// A circuit to choose from.
struct Known {
    circuit: Arc<Circuit>,
    from: String,
}

/// What is known while the questions go on.
pub struct RealDesk {
    find: Find,
    keeper: Shared,
    known: Vec<Known>,
    chosen: Option<Arc<Circuit>>,
    complaint: usize,
    kit: Vec<Instrument>,
    study: Option<Arc<Study>>,
    asked: Vec<Symptom>,
    seen: BTreeMap<usize, Event>,
    volts: Option<f64>,
    renewed: Vec<String>,
    unfinished: Vec<PathBuf>,
}

impl RealDesk {
    /// Before the first question.
    ///
    /// # Errors
    /// Where a circuit was named that cannot be read, or a complaint it does not have.
    pub fn new(find: &Find, settings: &Settings, keeper: Shared) -> Result<RealDesk, CliError> {
        let chosen = find.circuit.as_deref().map(load::circuit).transpose()?;
        let complaint = match (&chosen, &find.common.complaint) {
            (Some(circuit), Some(wanted)) => load::complaint(circuit, Some(wanted))?,
            _ => 0,
        };
        let known = if chosen.is_some() { Vec::new() } else { all_circuits(settings) };
        Ok(RealDesk {
            kit: find.common.kit().to_vec(),
            find: find.clone(),
            keeper,
            known,
            chosen,
            complaint,
            study: None,
            asked: Vec::new(),
            seen: BTreeMap::new(),
            volts: find.common.battery_volts,
            renewed: Vec::new(),
            unfinished: Vec::new(),
        })
    }

    /// Reckons the circuit through, once for each complaint and kit.
    fn study(&mut self) -> Result<Arc<Study>, String> {
        let circuit = self.chosen.clone().ok_or("no circuit was chosen")?;
        if self.study.is_none() {
            let learned = history::learned(&self.find.common, &circuit);
            let learned = learned.map_err(|error| error.to_string())?;
            let study = Study::taught(&circuit, &self.kit, self.complaint, &learned);
            self.study = Some(Arc::new(study.map_err(|error| error.to_string())?));
        }
        self.study.clone().ok_or_else(|| "no circuit was chosen".to_owned())
    }

    fn forget(&mut self) {
        self.study = None;
        self.asked.clear();
        self.seen.clear();
    }

    fn new_job(&mut self) -> Result<Box<dyn Bench>, String> {
        let mut job = Job::new(self.study()?);
        let volts = self.volts.map(|volts| Event::Battery { volts });
        let renewed = self.renewed.iter().map(|part| Event::Replaced { part: part.clone() });
        let events: Vec<Event> =
            volts.into_iter().chain(renewed).chain(self.seen.values().cloned()).collect();
        for event in events {
            job.record(event).map_err(|error| error.to_string())?;
        }
        begin_job(&job, &self.kit, &self.find, &self.keeper).map_err(|error| error.to_string())?;
        Ok(Box::new(RealBench::new(job, self.keeper.clone())))
    }

    fn go_on(&mut self, at: usize) -> Result<Box<dyn Bench>, String> {
        let path = self.unfinished.get(at).ok_or("there is no such job")?;
        let resumed = job_file::resumed(path, self.find.common.battery_volts);
        let (job, mut keeper, torn) = resumed.map_err(|error| error.to_string())?;
        if torn && self.find.plain {
            job_file::tell_torn();
        }
        // The screen is in front: told when it is left.
        keeper.torn = torn && !self.find.plain;
        self.keeper.set(keeper);
        Ok(Box::new(RealBench::new(job, self.keeper.clone())))
    }
}

impl Desk for RealDesk {
    fn unfinished(&mut self) -> Vec<String> {
        if self.find.job.is_some() {
            return Vec::new();
        }
        let text = self.chosen.as_ref().map(|circuit| circuit.source.as_str());
        let jobs = unfinished(text);
        self.unfinished = jobs.iter().map(|(path, _)| path.clone()).collect();
        jobs.into_iter().map(|(_, words)| words).collect()
    }

    fn circuits(&mut self) -> Vec<Row> {
        self.known.iter().map(|known| row(&known.circuit, &known.from)).collect()
    }

    fn about(&mut self) -> String {
        let words = |circuit: &Arc<Circuit>| format!("{}, {}", circuit.machine, circuit.name);
        self.chosen.as_ref().map(words).unwrap_or_default()
    }

    fn choose(&mut self, circuit: usize) {
        self.chosen = self.known.get(circuit).map(|known| Arc::clone(&known.circuit));
        self.complaint = 0;
        self.volts = self.find.common.battery_volts;
        self.renewed.clear();
        self.forget();
    }

    fn complaints(&mut self) -> Vec<Row> {
        let Some(circuit) = self.chosen.as_ref().filter(|_| self.find.common.complaint.is_none())
        else {
            return Vec::new();
        };
        circuit.works.iter().map(|work| Row::new(complaint(circuit, work))).collect()
    }

    fn complain(&mut self, complaint: usize) {
        self.complaint = complaint;
        self.forget();
    }

    fn testers(&mut self) -> Vec<(String, bool)> {
        if self.find.common.kit.is_some() && self.find.circuit.is_some() {
            return Vec::new();
        }
        let one = |one: Instrument| (one.words().to_owned(), self.kit.contains(&one));
        Instrument::KIT.into_iter().map(one).collect()
    }

    fn equip(&mut self, at_hand: &[bool]) {
        let kit = Instrument::KIT.into_iter().zip(at_hand);
        let kit: Vec<Instrument> = kit.filter(|(_, on)| **on).map(|(one, _)| one).collect();
        if kit != self.kit {
            self.kit = kit;
            self.forget();
        }
    }

    fn symptom(&mut self, number: usize) -> Option<(String, Vec<String>)> {
        if number >= MOST_SYMPTOMS {
            return None;
        }
        self.asked.truncate(number);
        self.seen.retain(|question, _| *question < number);
        // A circuit that cannot be reckoned says so when the job begins.
        let mut job = Job::new(self.study().ok()?);
        for event in self.seen.values() {
            job.record(event.clone()).ok()?;
        }
        // What nobody looked at is not asked again.
        let passed = self.asked.iter().enumerate().filter(|(at, _)| !self.seen.contains_key(at));
        for (_, one) in passed {
            let because = SkipReason::NotThis;
            job.record(Event::Skipped { test: one.test.clone(), because }).ok()?;
        }
        let asked = symptom(&job)?;
        let options = asked.options.iter().map(|(_, words, _)| words.clone()).collect();
        let question = asked.question.clone();
        self.asked.push(asked);
        Some((question, options))
    }

    fn seen(&mut self, question: usize, option: usize) {
        let Some(symptom) = self.asked.get(question) else { return };
        let Some((outcome, _, _)) = symptom.options.get(option) else { return };
        let answer = Answer::Named(outcome.clone());
        self.seen.insert(question, Event::Told { test: symptom.test.clone(), answer });
    }

    fn battery(&mut self) -> Option<f64> {
        if self.find.common.battery_volts.is_some() {
            return None;
        }
        let circuit = self.chosen.as_ref()?;
        crate::job::study::battery::test(circuit)?;
        Some(circuit.system_volts * 1.05)
    }

    fn measured(&mut self, typed: &str) -> Result<(), String> {
        if typed.trim().is_empty() {
            self.volts = self.find.common.battery_volts;
            return Ok(());
        }
        let volts = number::read(typed, "V").map_err(|error| error.to_string())?;
        let Some(circuit) = &self.chosen else { return Ok(()) };
        let (least, most) = possible_volts(circuit);
        if !(least..=most).contains(&volts) {
            return Err(format!(
                "{volts} V? A battery of this system has {least:.1} to {most:.1} V at rest"
            ));
        }
        self.volts = Some(volts);
        Ok(())
    }

    fn parts(&mut self) -> Vec<Row> {
        let Some(circuit) = &self.chosen else { return Vec::new() };
        let parts = circuit.parts.iter().filter(|part| is_device(&part.kind));
        parts.map(|part| Row::new(part.name.clone())).collect()
    }

    fn replaced(&mut self, parts: &[bool]) {
        let Some(circuit) = &self.chosen else { return };
        let all = circuit.parts.iter().filter(|part| is_device(&part.kind)).zip(parts);
        self.renewed = all.filter(|(_, on)| **on).map(|(part, _)| part.id.clone()).collect();
    }

    fn begin(&mut self, unfinished: Option<usize>) -> Result<Box<dyn Bench>, String> {
        match unfinished {
            Some(at) => self.go_on(at),
            None => self.new_job(),
        }
    }
}

fn row(circuit: &Circuit, from: &str) -> Row {
    let works: Vec<&str> = circuit.works.iter().map(|work| work.name.as_str()).collect();
    let parts: Vec<&str> = circuit.parts.iter().map(|part| part.name.as_str()).collect();
    Row {
        text: circuit.name.clone(),
        detail: format!("{}; {from}: {}", circuit.machine, works.join(", ")),
        search: format!("{} {}", circuit.id, parts.join(" ")),
        on: None,
    }
}

/// One's own circuits, then the built-in ones. Files that cannot be read are left out and told; pieces that
/// others include are left out.
fn all_circuits(settings: &Settings) -> Vec<Known> {
    let mut list = Vec::new();
    let own = settings.circuits.as_deref().map(own_files).unwrap_or_default();
    for path in own {
        let name = path.display().to_string();
        let reading = load::reading(&name).ok();
        let is_piece = |reading: &Reading| reading.problems.iter().any(|one| one.id == PIECE);
        if reading.as_ref().is_some_and(is_piece) {
            continue;
        }
        if let Some((circuit, _)) = reading.and_then(|reading| reading.found) {
            list.push(Known { circuit: Arc::new(circuit), from: "your own".to_owned() });
        } else {
            tell(&format!("`{name}` is left out; `halfsplit check {name}` tells why"));
        }
    }
    for name in builtin::names() {
        let text = builtin::text(name).unwrap_or_default();
        let circuit = read::read_text(name, text).0;
        let known = |circuit| Known { circuit: Arc::new(circuit), from: "built in".to_owned() };
        list.extend(circuit.map(known));
    }
    list
}

fn own_files(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let is_yaml =
        |path: &PathBuf| path.extension().is_some_and(|ending| ending == "yaml" || ending == "yml");
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.path()).filter(is_yaml).collect();
    // Of a pipe nothing would come, for ever.
    files.retain(|path| path.is_file());
    files.sort();
    files.truncate(MOST_FILES);
    files
}

/// Jobs in the data folder that have entries and no proven repair, newest first; of the circuit with this
/// text, or of any.
fn unfinished(text: Option<&str>) -> Vec<(PathBuf, String)> {
    let folder = jobs_folder().unwrap_or_default();
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let mut files: Vec<_> = entries
        .filter(|entry| entry.path().extension().is_some_and(|ending| ending == "job"))
        .filter(|entry| entry.path().is_file())
        .filter_map(|entry| Some((entry.metadata().ok()?.modified().ok()?, entry.path())))
        .collect();
    files.sort();
    let kept = files.into_iter().rev().take(LOOKED_AT).filter_map(|(_, path)| {
        let (kept, _) = journal::read(&path).ok()?;
        let same = text.is_none_or(|text| text == kept.header.text);
        (same && is_unfinished(&kept)).then(|| (path, words(&kept)))
    });
    kept.take(OFFERED).collect()
}

fn is_unfinished(kept: &Kept) -> bool {
    let (counting, _) = counting(&kept.events);
    let cured = |event: &&Event| matches!(event, Event::Tried { cured: true, .. });
    !counting.is_empty() && !counting.iter().any(cured)
}

fn words(kept: &Kept) -> String {
    let entries = counting(&kept.events).0.len();
    let s = if entries == 1 { "y" } else { "ies" };
    let begun = job_file::moment(&kept.header.started);
    format!("{}, begun {begun}, {entries} entr{s}", kept.header.circuit)
}
