//! Learning from finished jobs: the formulas against published examples, the history file, the whole way.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::Arc;

use halfsplit::circuit::read;
use halfsplit::history::ledger::Ledger;
use halfsplit::history::pool::{beta_mean, dirichlet_means, gamma_mean, log_evidence};
use halfsplit::history::record::{Readings, Record};
use halfsplit::history::teach::lesson;
use halfsplit::job::event::{Answer, Event};
use halfsplit::job::state::Job;
use halfsplit::job::study::Study;
use halfsplit::plan::{Budget, Progress};
use halfsplit::tester::Instrument;
use halfsplit::trial::shop::{Shop, taught};
use serde_json::Value;

use crate::pipe::typed_into;

const LAMP: &str = "tests/data/screens/lamp.yaml";

fn published() -> Value {
    let text = std::fs::read_to_string("tests/data/learning/published.yaml").unwrap();
    serde_yaml::from_str(&text).unwrap()
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|one| one.as_f64().unwrap()).collect()
}

#[test]
fn pumps_are_pulled_as_published() {
    let pumps = &published()["pumps"];
    let (shape, rate) = (pumps["shape"].as_f64().unwrap(), pumps["rate"].as_f64().unwrap());
    let each = numbers(&pumps["failures"]).into_iter().zip(numbers(&pumps["exposure"]));
    for ((failures, exposure), mean) in each.zip(numbers(&pumps["means"])) {
        let found = gamma_mean(shape, rate, failures, exposure);
        assert!((found - mean).abs() < 1e-6, "{found} and {mean}");
    }
}

#[test]
fn an_urn_has_the_evidence_it_should() {
    let urn = &published()["urn"];
    let (means, counts) = (numbers(&urn["means"]), numbers(&urn["counts"]));
    let strength = urn["strength"].as_f64().unwrap();
    let found = log_evidence(&means, strength, &counts).exp();
    assert!((found - urn["probability"].as_f64().unwrap()).abs() < 1e-12, "{found}");
    let next = dirichlet_means(&means, strength, &counts);
    assert!((next[0] - 4.0 / 7.0).abs() < 1e-12 && (next[2] - 1.0 / 7.0).abs() < 1e-12);
}

/// Fifteen repair visits, smoothed by one pseudo-visit each way, and the posteriors that follow.
#[test]
fn repair_visits_teach_as_published() {
    let visits = &published()["visits"];
    let parents = visits["parents"].as_object().unwrap();
    let names: Vec<&str> = parents.keys().map(String::as_str).collect();
    let seen: BTreeMap<&str, Vec<bool>> = names
        .iter()
        .map(|name| (*name, numbers(&visits["seen"][name]).iter().map(|one| *one > 0.5).collect()))
        .collect();
    let of = |state: usize, name: &str| {
        state >> names.iter().position(|one| *one == name).unwrap() & 1 == 1
    };
    let chance = |state: usize, name: &str| {
        let above = parents[name].as_array().unwrap();
        let alike = (0..15).filter(|&visit| {
            above.iter().all(|one| {
                let one = one.as_str().unwrap();
                seen[one][visit] == of(state, one)
            })
        });
        let (mut tries, mut failures) = (0.0, 0.0);
        for visit in alike {
            tries += 1.0;
            failures += f64::from(u8::from(seen[name][visit]));
        }
        let bad = beta_mean(0.5, 2.0, failures, tries);
        if of(state, name) { bad } else { 1.0 - bad }
    };
    for case in visits["cases"].as_array().unwrap() {
        let evidence = case["evidence"].as_object().unwrap();
        let fits = |state: &usize| {
            evidence.iter().all(|(name, value)| of(*state, name) == (value.as_u64() == Some(1)))
        };
        let states: Vec<(usize, f64)> = (0..1 << names.len())
            .filter(fits)
            .map(|state| (state, names.iter().map(|name| chance(state, name)).product()))
            .collect();
        let total: f64 = states.iter().map(|one| one.1).sum();
        for name in ["fuse", "drum", "toner", "paper", "roller"] {
            let bad: f64 = states.iter().filter(|one| of(one.0, name)).map(|one| one.1).sum();
            let published = case[name].as_f64().unwrap();
            assert!((bad / total - published).abs() < 1e-8, "{name}: {}", bad / total);
        }
    }
}

fn study() -> Arc<Study> {
    let text = std::fs::read_to_string(LAMP).unwrap();
    let circuit = Arc::new(read::read_text(LAMP, &text).0.unwrap());
    let kit = [Instrument::Lamp, Instrument::Meter, Instrument::Senses];
    Arc::new(Study::new(&circuit, &kit, 0).unwrap())
}

/// A job in which a fix cured at once; `minute` is when it began and ended.
fn cured(study: &Arc<Study>, fix: &str, number: usize, minutes: f64) -> Record {
    let mut job = Job::new(Arc::clone(study));
    job.record(Event::Tried { fix: fix.to_owned(), cured: true }).unwrap();
    let started: jiff::Timestamp = format!("2026-03-{:02}T09:00:00Z", number + 1).parse().unwrap();
    let span = jiff::SignedDuration::from_secs_f64(minutes * 60.0);
    let times = [Some(started.checked_add(span).unwrap())];
    Record::of(&job, &started.to_string(), &times).unwrap()
}

/// The fix of some real part, and its share of the suspicion.
fn some_fix(study: &Study) -> (usize, String, f64) {
    let lineup = study.lineup();
    let share = |fix: usize| -> f64 {
        let of = lineup.suspects.iter().zip(&study.prior);
        of.filter(|(suspect, _)| suspect.fix.index() == fix).map(|(_, share)| share).sum()
    };
    let fix = (1..lineup.fixes.len() - 1).min_by(|a, b| share(*a).total_cmp(&share(*b))).unwrap();
    (fix, lineup.fixes[fix].id.clone(), share(fix))
}

#[test]
fn ten_jobs_do_not_drown_the_catalogue() {
    let study = study();
    let (fix, id, before) = some_fix(&study);
    let mut ledger = Ledger::default();
    for number in 0..10 {
        assert!(ledger.add(cured(&study, &id, number, 20.0)));
    }
    assert!(!ledger.add(cured(&study, &id, 3, 20.0)), "the same job counts once");
    let learned = lesson(&ledger, study.circuit()).learned;
    let circuit = Arc::clone(&study.bench.circuit);
    let after = Study::taught(&circuit, study.kit(), 0, &Arc::new(learned)).unwrap();
    let of = after.lineup().suspects.iter().zip(&after.prior);
    let now: f64 =
        of.filter(|(suspect, _)| suspect.fix.index() == fix).map(|(_, share)| share).sum();
    assert!(now > 3.0 * before && now < 0.6, "{before} became {now}");
}

#[test]
fn the_clock_teaches_how_long_a_repair_takes() {
    let study = study();
    let (fix, id, _) = some_fix(&study);
    let course = study_minutes(&study, fix);
    let minutes = study.lineup().fixes[fix].minutes;
    let mut ledger = Ledger::default();
    for number in 0..9 {
        // Twice as long, and once the phone rang.
        let took = if number == 4 { 300.0 } else { course + minutes };
        ledger.add(cured(&study, &id, number, took));
    }
    let learned = lesson(&ledger, study.circuit()).learned;
    let places: f64 = study.fix_places(&study.lineup().fixes[fix]).len() as f64;
    let expected = 1.0 + minutes / (minutes + opening(&study, fix));
    let ratio = learned.fix_minutes[&id] / minutes;
    assert!(ratio > 1.0 + 0.6 * (expected - 1.0) && ratio <= expected + 1e-9, "{ratio} {places}");
}

fn opening(study: &Study, fix: usize) -> f64 {
    let places = study.fix_places(&study.lineup().fixes[fix]);
    places.iter().map(|place| study.circuit().places[place.index()].open_minutes).sum()
}

fn study_minutes(study: &Study, fix: usize) -> f64 {
    halfsplit::job::course::Course::new(study).fix_minutes(fix)
}

#[test]
fn a_history_reads_back_and_forgets() {
    let study = study();
    let (_, id, _) = some_fix(&study);
    let (one, two) = (cured(&study, &id, 0, 10.0), cured(&study, &id, 1, 10.0));
    let line = |record: &Record| serde_json::to_string(record).unwrap() + "\n";
    let text = line(&one) + &line(&two) + &line(&one);
    assert_eq!(Ledger::parse(&text).unwrap().records(), [one.clone(), two.clone()]);
    let forgot = format!("{text}{{\"forget\":\"{}\"}}\n{{\"halfsplit_hi", one.job);
    assert_eq!(Ledger::parse(&forgot).unwrap().records(), std::slice::from_ref(&two));
    let unended = line(&one) + line(&two).trim_end();
    assert_eq!(Ledger::parse(&unended).unwrap().records(), [one.clone(), two.clone()]);
    let newer = text.replace("\"halfsplit_history\":1", "\"halfsplit_history\":9");
    let said = Ledger::parse(&newer).unwrap_err().to_string();
    assert!(said.contains("newer halfsplit (format 9"), "{said}");
    let said = Ledger::parse("somebody's shopping list").unwrap_err().to_string();
    assert!(said.starts_with("line 1 of the history"), "{said}");
    let said = Ledger::parse("{}\n").unwrap_err().to_string();
    assert!(said.starts_with("line 1 of the history"), "{said}");
}

#[test]
fn a_shop_comes_closer_to_its_true_rates() {
    let shop = Shop { shops: 3, jobs: 150, spread: 1.0, seed: 7 };
    let found = taught(&study(), &shop, Budget { nodes: 20 }, &Progress::default()).unwrap();
    let [catalogue, learnt, best] = found.loss_bits;
    assert!(learnt < catalogue && best <= learnt + 1e-9, "{:?}", found.loss_bits);
    assert!((catalogue - learnt) > 0.4 * (catalogue - best), "{:?}", found.loss_bits);
}

struct Home(PathBuf);

impl Home {
    fn new(name: &str) -> Home {
        let path = std::env::temp_dir().join(format!("halfsplit-{name}-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&path);
        std::fs::create_dir_all(&path).unwrap();
        Home(path)
    }

    fn run(&self, words: &[&str], typed: &str) -> Output {
        let mut program = Command::new(env!("CARGO_BIN_EXE_halfsplit"));
        let program = program.args(words).env("HOME", &self.0).env_remove("XDG_DATA_HOME");
        typed_into(program, typed)
    }

    fn json(&self, words: &[&str]) -> Value {
        let output = self.run(words, "");
        serde_json::from_slice(&output.stdout).unwrap_or_else(|error| {
            panic!("{words:?}: {error}: {}", String::from_utf8_lossy(&output.stderr))
        })
    }
}

impl Drop for Home {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// A finished job file, made from the header of a real one.
fn finished_job(home: &Home, name: &str, fix: &str) -> PathBuf {
    let path = home.0.join(name);
    home.run(&["find", LAMP, "--plain", "--job", path.to_str().unwrap()], "q\n");
    let header = std::fs::read_to_string(&path).unwrap();
    let header = header.lines().next().unwrap();
    let tried = format!("{{\"event\":\"tried\",\"fix\":\"{fix}\",\"cured\":true}}");
    std::fs::write(&path, format!("{header}\n{tried}\n")).unwrap();
    path
}

fn prior(home: &Home, words: &[&str], fix: &str) -> f64 {
    let all = home.json(words);
    let suspects = all["suspects"].as_array().unwrap().iter();
    suspects.filter(|one| one["fix"] == fix).map(|one| one["prior"].as_f64().unwrap()).sum()
}

#[test]
fn finished_jobs_are_learnt_and_can_be_forgotten() {
    let home = Home::new("learn");
    let fixes = home.json(&["expect", LAMP, "--json"]);
    let fix = fixes["suspects"][1]["fix"].as_str().unwrap().to_owned();
    let without = prior(&home, &["expect", LAMP, "--json"], &fix);
    let job = finished_job(&home, "one.job", &fix);
    let job = job.to_str().unwrap();
    let looked = home.json(&["learn", job, "--dry-run", "--json"]);
    assert_eq!(looked["jobs"], 1);
    let history = home.0.join(".local/share/halfsplit/history");
    assert!(!Path::new(&history).exists(), "a dry run writes nothing");
    let learnt = home.json(&["learn", job, "--json"]);
    let id = learnt["added"][0].as_str().unwrap().to_owned();
    assert!(history.exists());
    let again = home.run(&["learn", job], "");
    assert_eq!(again.status.code(), Some(1));
    let said = String::from_utf8_lossy(&again.stdout).into_owned();
    assert!(said.contains("it was learnt from before"), "{said}");
    let with = prior(&home, &["expect", LAMP, "--json", "--history"], &fix);
    assert!(with > without, "{without} became {with}");
    // A job begun now keeps what was known, also where there is no history.
    let path = home.0.join("two.job");
    home.run(&["find", LAMP, "--plain", "--job", path.to_str().unwrap()], "q\n");
    let header = std::fs::read_to_string(&path).unwrap();
    assert!(header.contains("\"learned\":{\"times_likelier\""), "{header}");
    let forgot = home.json(&["learn", "--forget", &id, "--json"]);
    assert_eq!((&forgot["jobs"], forgot["forgotten"][0].as_str()), (&0.into(), Some(id.as_str())));
    let after = prior(&home, &["expect", LAMP, "--json", "--history"], &fix);
    assert!((after - without).abs() < 1e-12);
}

/// What an editor or somebody else left behind: a last line without its end, and words that colour a terminal.
#[test]
fn a_history_by_another_hand_loses_and_fools_nothing() {
    let home = Home::new("learn-by-hand");
    let study = study();
    let (_, id, _) = some_fix(&study);
    let (one, mut two) = (cured(&study, &id, 0, 10.0), cured(&study, &id, 1, 10.0));
    two.job = "\u{1b}[31mred".to_owned();
    two.readings.insert("lamp".to_owned(), Readings { taken: 100.0, wrong: 40.0 });
    let lines = [&one, &two].map(|record| serde_json::to_string(record).unwrap());
    let path = home.0.join("theirs");
    std::fs::write(&path, lines.join("\n")).unwrap();
    let path = path.to_str().unwrap();
    let told = home.run(&["learn", "--history", path], "");
    let told = String::from_utf8_lossy(&told.stdout).into_owned();
    assert!(!told.contains('\u{1b}') && told.contains("red"), "{told}");
    assert!(told.contains("Wrong readings, lamp: 21.0 %"), "{told}");
    let after = home.json(&["learn", "--history", path, "--forget", &one.job, "--json"]);
    assert_eq!(after["jobs"], 1);
    let kept = Ledger::parse(&std::fs::read_to_string(path).unwrap()).unwrap();
    assert_eq!(kept.records().len(), 1);
}

#[test]
fn shops_can_be_put_together() {
    let (one, other) = (Home::new("shop-one"), Home::new("shop-other"));
    let fixes = one.json(&["expect", LAMP, "--json"]);
    let fix = fixes["suspects"][1]["fix"].as_str().unwrap();
    for (home, name) in [(&one, "a.job"), (&other, "b.job")] {
        let job = finished_job(home, name, fix);
        home.json(&["learn", job.to_str().unwrap(), "--json"]);
    }
    let theirs = other.0.join(".local/share/halfsplit/history");
    let merged = one.json(&["learn", "--merge", theirs.to_str().unwrap(), "--json"]);
    assert_eq!(merged["jobs"], 2);
    let again = one.json(&["learn", "--merge", theirs.to_str().unwrap(), "--json"]);
    assert_eq!((&again["jobs"], again["added"].as_array().unwrap().len()), (&2.into(), 0));
}

#[test]
fn an_unfinished_job_teaches_nothing() {
    let home = Home::new("learn-open");
    let path = home.0.join("open.job");
    home.run(&["find", LAMP, "--plain", "--job", path.to_str().unwrap()], "q\n");
    let output = home.run(&["learn", path.to_str().unwrap()], "");
    assert_eq!(output.status.code(), Some(1));
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(said.contains("no repair has cured yet"), "{said}");
    let none = home.run(&["learn", "--forget", "last"], "");
    assert_eq!(none.status.code(), Some(2));
}

/// A reading that what cured does not explain counts as a wrong one, of its own family.
#[test]
fn wrong_readings_are_counted() {
    let study = study();
    let columns = study.columns().unwrap();
    let (_, id, _) = some_fix(&study);
    let at = study.lineup().find_fix(&id).unwrap();
    let suspects: Vec<usize> = (0..study.lineup().suspects.len())
        .filter(|suspect| study.lineup().suspects[*suspect].fix == at)
        .collect();
    let impossible = |column: &halfsplit::tester::expectations::Column| {
        let row = |row: &&Vec<f64>| suspects.iter().all(|suspect| row[*suspect] < 0.02);
        column.likelihood.iter().position(|one| row(&one))
    };
    let (column, outcome) =
        columns.iter().find_map(|column| Some((column, impossible(column)?))).unwrap();
    let mut job = Job::new(Arc::clone(&study));
    let answer = Answer::Named(column.outcomes[outcome].id.clone());
    job.record(Event::Reading { test: column.test.id.clone(), answer }).unwrap();
    job.record(Event::Tried { fix: id, cured: true }).unwrap();
    let record = Record::of(&job, "2026-03-01T09:00:00Z", &[]).unwrap();
    let (taken, wrong) = record
        .readings
        .values()
        .fold((0.0, 0.0), |sum, one| (sum.0 + one.taken, sum.1 + one.wrong));
    assert!(taken > 0.9 && taken < 1.1 && wrong > 0.8, "{taken} {wrong}");
}
