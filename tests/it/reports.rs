//! Fault trees and job cards: their figures, their formats, and names that try to be something else.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::Arc;

use halfsplit::circuit::read;
use halfsplit::job::state::Job;
use halfsplit::job::study::Study;
use halfsplit::report::page::PaperSize;
use halfsplit::report::tree::{html, markdown, svg, text};
use halfsplit::tester::Instrument;
use halfsplit::tester::expectations::Seen;
use serde_json::{Value, json};

use crate::terminal::pty::{Pty, folder};

mod canned;

/// A lamp on a switch: small enough for the debug build.
const LAMP: &str = "tests/data/screens/lamp.yaml";
/// Names made of markup, terminal commands and right-to-left writing.
const HOSTILE: &str = "tests/data/reports/hostile.yaml";

fn run(words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_halfsplit")).args(words).output().unwrap()
}

#[track_caller]
fn printed(words: &[&str]) -> String {
    let output = run(words);
    assert!(output.status.success(), "{words:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

fn parsed(words: &[&str]) -> Value {
    serde_json::from_str(&printed(words)).unwrap()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("no number: {value}"))
}

fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

/// Walks a tree by what each test shows: who would show what with which likelihood, at each severity.
struct Walk {
    job: Job,
    minutes: f64,
    tests: f64,
    worst: f64,
    cut: f64,
}

/// Probability of each suspect at each grade of its severity.
type Weights = Vec<Vec<f64>>;

impl Walk {
    fn whole(tree: &Value, study: Study) -> Walk {
        let at_first = |(at, prior): (usize, &f64)| {
            study.severity(at).iter().map(|weight| prior * weight).collect()
        };
        let priors: Weights = study.prior.iter().enumerate().map(at_first).collect();
        let job = Job::new(Arc::new(study));
        let mut walk = Walk { job, minutes: 0.0, tests: 0.0, worst: 0.0, cut: 0.0 };
        walk.branch(&tree["root"], &priors, 0.0);
        walk
    }

    fn branch(&mut self, branch: &Value, weights: &Weights, spent: f64) {
        let reached: f64 = weights.iter().flatten().sum();
        assert!((reached - number(&branch["reached"])).abs() < 1e-9, "{}", branch["id"]);
        let minutes = number(&branch["minutes"]);
        self.minutes += reached * minutes;
        let spent = spent + minutes;
        match branch["kind"].as_str().unwrap() {
            "test" => self.tests += reached,
            "end" => {
                self.worst = self.worst.max(spent);
                if branch["cut"] == true {
                    self.cut += reached;
                    self.tests += reached * number(&branch["expected_tests"]);
                }
            }
            kind => assert_eq!(kind, "fix"),
        }
        for outcome in list(&branch["outcomes"]) {
            let mut after = weights.clone();
            self.weigh(&mut after, branch, outcome["id"].as_str().unwrap());
            self.branch(&outcome["next"], &after, spent);
        }
    }

    /// Weighs by the likelihood of an outcome under each suspect, at each grade.
    fn weigh(&self, weights: &mut Weights, branch: &Value, outcome: &str) {
        let (study, id) = (self.job.study(), branch["id"].as_str().unwrap());
        if branch["kind"] == "fix" {
            let fix = study.lineup().find_fix(id).unwrap();
            for (weights, suspect) in weights.iter_mut().zip(&study.lineup().suspects) {
                if (suspect.fix == fix) != (outcome == "cured") {
                    weights.fill(0.0);
                }
            }
            return;
        }
        let column = self.job.know(id).unwrap();
        let at = column.outcomes.iter().position(|one| one.id == outcome).unwrap();
        let graded = study.graded(&column);
        for (suspect, weights) in weights.iter_mut().enumerate() {
            for (grade, weight) in weights.iter_mut().enumerate() {
                *weight *= graded.get(&suspect).map_or(column.likelihood[at][suspect], |shown| {
                    column.under(&shown[grade], Seen::Outcome(at))
                });
            }
        }
    }
}

fn lamp_study() -> Study {
    let text = std::fs::read_to_string(LAMP).unwrap();
    let circuit = Arc::new(read::read_text(LAMP, &text).0.unwrap());
    Study::new(&circuit, &[Instrument::Lamp, Instrument::Meter], 0).unwrap()
}

#[test]
fn the_figures_of_a_tree_are_those_of_its_ways() {
    let tree = parsed(&["tree", LAMP, "--json"]);
    let walk = Walk::whole(&tree, lamp_study());
    for (key, walked) in [
        ("expected_minutes", walk.minutes),
        ("expected_tests", walk.tests),
        ("worst_minutes", walk.worst),
        ("cut_probability", walk.cut),
    ] {
        assert!((number(&tree[key]) - walked).abs() < 1e-6, "{key}: {} and {walked}", tree[key]);
    }
    assert!(number(&tree["bound_minutes"]) <= number(&tree["expected_minutes"]));
    let ends = ["cured_probability", "hand_on_probability", "cut_probability"];
    let all: f64 = ends.iter().map(|key| number(&tree[*key])).sum();
    assert!((all - 1.0).abs() < 1e-6, "{all}");
    assert_eq!(tree["complete"], true);
}

#[test]
fn a_tree_does_what_next_says() {
    let tree = parsed(&["tree", LAMP, "--json"]);
    let mut branch = &tree["root"];
    let mut readings: Vec<String> = Vec::new();
    let mut steps = 0;
    while branch["kind"] != "end" {
        let mut words = vec!["next", LAMP, "--json"];
        words.extend(readings.iter().flat_map(|one| ["--reading", one.as_str()]));
        let next = parsed(&words);
        let kind = branch["kind"].as_str().unwrap();
        assert_eq!(next[kind]["id"], branch["id"], "after {readings:?}");
        assert_eq!(
            next[kind]["cautions"].as_array(),
            branch["cautions"].as_array().or(Some(&vec![]))
        );
        let outcomes = list(&branch["outcomes"]).iter();
        // Of a repair the failure: it leads on.
        let outcome = if kind == "fix" {
            outcomes.last().unwrap()
        } else {
            outcomes
                .max_by(|a, b| number(&a["probability"]).total_cmp(&number(&b["probability"])))
                .unwrap()
        };
        let (id, seen) = (branch["id"].as_str().unwrap(), outcome["id"].as_str().unwrap());
        readings.push(format!("{id}={seen}"));
        branch = &outcome["next"];
        steps += 1;
    }
    assert!(steps > 1, "{tree}");
}

#[test]
fn rare_ways_are_cut_and_marked() {
    fn check(branch: &Value, cut_below: f64) -> usize {
        let cut = branch["cut"] == true;
        assert!(!cut || number(&branch["reached"]) < cut_below, "{}", branch["reached"]);
        let below = list(&branch["outcomes"]).iter();
        usize::from(cut) + below.map(|one| check(&one["next"], cut_below)).sum::<usize>()
    }
    let coarse = parsed(&["tree", LAMP, "--json", "--cut-below", "5"]);
    let fine = parsed(&["tree", LAMP, "--json", "--cut-below", "0.1"]);
    assert!(check(&coarse["root"], 0.05) > 0);
    check(&fine["root"], 0.001);
    assert!(number(&fine["cut_probability"]) < number(&coarse["cut_probability"]));
    // What is cut counts by an estimate, so the two differ, but not by much.
    let (fine, coarse) = (number(&fine["expected_minutes"]), number(&coarse["expected_minutes"]));
    assert!((fine - coarse).abs() < 0.1 * fine, "{fine} and {coarse}");
}

fn unversioned(text: &str) -> String {
    text.replace(env!("CARGO_PKG_VERSION"), "VERSION")
}

#[test]
fn a_tree_reads_well_in_every_format() {
    let tree = canned::tree();
    insta::assert_snapshot!("tree_text", unversioned(&text::write(&tree, false)));
    insta::assert_snapshot!("tree_ascii", unversioned(&text::write(&tree, true)));
    insta::assert_snapshot!("tree_markdown", markdown::write(&tree));
    insta::assert_snapshot!("tree_drawing", svg::write(&tree, None).replace("><", ">\n<"));
    let page = html::write(&tree, PaperSize::A4);
    let body = page.split_once("<body>").unwrap().1;
    insta::assert_snapshot!("tree_page", unversioned(body).replace("><", ">\n<"));
}

#[test]
fn a_tree_in_ascii_has_nothing_else() {
    let text = printed(&["tree", LAMP, "--ascii"]);
    assert!(text.is_ascii(), "{text}");
}

/// A page with its elements closed as XML wants it, so that an XML parser can check all else.
fn closed(page: &str) -> String {
    let page = page.strip_prefix("<!DOCTYPE html>\n").expect("a page says what it is");
    let mut closed = String::new();
    let mut rest = page;
    while let Some(at) = rest.find("<meta ") {
        let end = at + rest[at..].find('>').unwrap();
        closed.push_str(&rest[..end]);
        closed.push_str("/>");
        rest = &rest[end + 1..];
    }
    closed + rest
}

/// Nothing in a report runs, loads, hides or turns.
#[track_caller]
fn harmless(text: &str) {
    for letter in text.chars() {
        let hidden = matches!(letter, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}');
        assert!(!hidden && (letter == '\n' || !letter.is_control()), "{letter:?} in {text}");
    }
}

#[track_caller]
fn harmless_markup(text: &str) {
    harmless(text);
    let document = roxmltree::Document::parse(text).unwrap();
    for node in document.descendants().filter(roxmltree::Node::is_element) {
        let name = node.tag_name().name();
        assert!(
            !["script", "img", "iframe", "object", "embed", "link", "base"].contains(&name),
            "{name}"
        );
        for attribute in node.attributes() {
            assert!(!attribute.name().starts_with("on"), "{attribute:?}");
            let link = attribute.name() == "href";
            assert!(!link || attribute.value().starts_with('#'), "{attribute:?}");
        }
    }
}

#[test]
fn hostile_names_stay_names_in_every_tree() {
    let page = printed(&["tree", HOSTILE, "--format", "html"]);
    harmless_markup(&closed(&page));
    assert!(
        page.contains("Lamp &lt;script&gt;alert(1)&lt;/script&gt; evil[31m &amp; &quot;"),
        "{page}"
    );
    harmless_markup(&printed(&["tree", HOSTILE, "--format", "svg"]));
    harmless(&printed(&["tree", HOSTILE]));
    harmless(&printed(&["tree", HOSTILE, "--json"]));
    harmless_markdown(&printed(&["tree", HOSTILE, "--format", "markdown"]));
}

#[track_caller]
fn harmless_markdown(text: &str) {
    harmless(text);
    let (mark, text) = text.split_once('\n').unwrap();
    assert_eq!(mark, "<!-- made by halfsplit -->");
    assert!(!text.contains('<'), "{text}");
    // Of links there are only ours, from step to step.
    let bare = text.replace("\\[", "").replace("\\]", "");
    assert!(bare.split("](").skip(1).all(|link| link.starts_with("#step-")), "{text}");
}

#[test]
fn every_step_of_a_page_can_be_reached() {
    let page = closed(&printed(&["tree", LAMP, "--format", "html"]));
    let document = roxmltree::Document::parse(&page).unwrap();
    let ids: Vec<&str> = document.descendants().filter_map(|node| node.attribute("id")).collect();
    let links: Vec<&str> = document
        .descendants()
        .filter_map(|node| node.attribute("href")?.strip_prefix('#'))
        .collect();
    assert!(ids.len() > 3);
    for id in &ids[1..] {
        assert!(links.contains(id), "nothing leads to {id}");
    }
    assert!(links.iter().all(|link| ids.contains(link)), "{links:?}");
}

/// A whole job on the lamp: a reading taken back, two that count, a note, and a repair that cures.
fn job_file(name: &str, circuit: &str, (setup, complaint): (&str, &str), note: &str) -> PathBuf {
    let text = std::fs::read_to_string(circuit).unwrap();
    let watched = format!("watch/work-lamp/{setup}");
    let measured = format!("volts/work-lamp.plus/{setup}");
    let lines = [
        json!({ "halfsplit_job": 1, "circuit": "lamp", "text": text, "kit": ["lamp", "meter"],
            "complaint": complaint, "started": "2026-03-01T09:12:33.5Z" }),
        json!({ "event": "reading", "test": watched, "answer": "lit" }),
        json!({ "event": "undone" }),
        json!({ "event": "reading", "test": watched, "answer": "dark" }),
        json!({ "event": "reading", "test": measured, "answer": 12.4 }),
        json!({ "event": "note", "text": note }),
        json!({ "event": "tried", "fix": "replace-work-lamp", "cured": true }),
    ];
    let path = folder(name).join("whole.job");
    let lines: Vec<String> = lines.iter().map(Value::to_string).collect();
    std::fs::write(&path, lines.join("\n") + "\n").unwrap();
    path
}

#[test]
fn a_job_card_holds_the_whole_job() {
    let path = job_file("card", LAMP, ("toggle.on", "lights"), "It went out on a bad road.");
    let path = path.to_str().unwrap();
    insta::assert_snapshot!("job_card_text", unversioned(&printed(&["card", path])));
    insta::assert_snapshot!("job_card_markdown", printed(&["card", path, "--format", "markdown"]));
    let card = parsed(&["card", path, "--json"]);
    let kept = std::fs::read_to_string(path).unwrap();
    let kept: Vec<Value> = kept.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(card["header"], kept[0]);
    assert_eq!(list(&card["events"]), &kept[1..]);
    assert_eq!(card["verdict"]["proven"], true);
    assert_eq!(card["verdict"]["faults"][0]["part"], "work lamp");
    let rows = list(&card["readings"]);
    assert_eq!(rows.len(), 4, "{card}");
    let minutes: f64 = rows.iter().map(|row| number(&row["minutes"])).sum();
    assert!((minutes - number(&card["minutes"])).abs() < 1e-9);
    // What the sound circuit shows is what `expect` says of it.
    let expect = parsed(&["expect", LAMP, "--json", "--all"]);
    let at = list(&expect["tests"]).iter().position(|test| test["id"] == rows[1]["id"]).unwrap();
    let volts = number(&expect["readings"][at][0]["value"]);
    assert_eq!(rows[1]["expected"], format!("{volts:.2} V"));
    assert_eq!((&rows[0]["differs"], &rows[1]["differs"]), (&json!(true), &json!(false)));
    harmless_markup(&closed(&printed(&["card", path, "--format", "html"])));
}

#[test]
fn hostile_names_and_notes_stay_words_on_every_card() {
    let note = "\u{202e}<script>alert(4)</script>\u{1b}]0;x\u{7} | [x](y) \u{9b}31m \u{ffff}";
    let path = job_file("hostile-card", HOSTILE, ("toggle.on\"><b>", "lights-s"), note);
    let path = path.to_str().unwrap();
    harmless_markup(&closed(&printed(&["card", path, "--format", "html"])));
    harmless_markdown(&printed(&["card", path, "--format", "markdown"]));
    harmless(&printed(&["card", path]));
    harmless(&printed(&["card", path, "--json"]));
    let card = parsed(&["card", path, "--json"]);
    assert_eq!(card["events"][4]["text"], note, "the job's own words are kept");
}

#[test]
fn a_file_that_is_no_job_is_refused_in_clean_words() {
    let path = folder("no-job").join("x.job");
    std::fs::write(&path, "{\"halfsplit_job\":1,\"\u{1b}[31m\":2}\n").unwrap();
    let output = run(&["card", path.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(1));
    let words = String::from_utf8(output.stderr).unwrap();
    assert!(words.contains("is no job file"), "{words}");
    harmless(&words);
    assert_eq!(run(&["card", "nowhere.job"]).status.code(), Some(1));
}

#[test]
fn only_our_own_files_are_replaced() {
    let home = folder("out");
    let ours = home.join("tree.html");
    let theirs = home.join("theirs.html");
    let write = |path: &Path, more: &[&str]| {
        let path = path.to_str().unwrap();
        let words = [&["tree", LAMP, "--cut-below", "5", "--format", "html", "--out", path], more];
        run(&words.concat())
    };
    for _ in 0..2 {
        let output = write(&ours, &[]);
        assert!(output.status.success() && output.stdout.is_empty(), "{output:?}");
    }
    std::fs::write(&theirs, "<p>mine</p>").unwrap();
    let output = write(&theirs, &[]);
    assert_eq!(output.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&output.stderr).contains("--force"));
    assert_eq!(std::fs::read_to_string(&theirs).unwrap(), "<p>mine</p>");
    assert!(write(&theirs, &["--force"]).status.success());
    assert_eq!(std::fs::read(&theirs).unwrap(), std::fs::read(&ours).unwrap());
    let left: Vec<_> = std::fs::read_dir(&home).unwrap().flatten().collect();
    assert_eq!(left.len(), 2, "{left:?}");
    assert_eq!(write(&home, &[]).status.code(), Some(2));
    assert_eq!(write(&home.join("no/such/folder"), &[]).status.code(), Some(1));
}

#[test]
fn a_tree_that_is_stopped_is_given_as_far_as_it_is() {
    let home = folder("stopped-tree");
    let words = ["tree", "start-button", "--json", "--out", "tree.json", "--cut-below", "0.001"];
    let mut pty = Pty::start(&words, (80, 24), &home);
    pty.wait_for("steps planned");
    pty.keys("\u{3}");
    let (status, shown) = pty.wait_for_end();
    assert_eq!(status.exit_code(), 1, "{shown}");
    assert!(shown.contains("stopped"), "{shown}");
    let tree: Value =
        serde_json::from_str(&std::fs::read_to_string(home.join("tree.json")).unwrap()).unwrap();
    assert_eq!(tree["complete"], false);
    assert!(number(&tree["cut_probability"]) > 0.0);
    assert!(number(&tree["expected_minutes"]) > number(&tree["bound_minutes"]));
}
