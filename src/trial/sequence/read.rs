//! From a file to a [`Sequence`]: every problem in it at once, each with its place.

use super::{Good, Look, Repair, Sequence, Step, Then};
use crate::circuit::document::{self, Entry, Located, Node};
use crate::circuit::fields::MINUTES;
use crate::circuit::fields::{Fields, Word, did_you_mean, word};
use crate::circuit::{PartId, PlaceId};
use crate::job::study::Study;
use crate::problem::Problem;
use crate::quantity::{self, Unit};
use crate::tester::expectations::Column;
use crate::tester::name;

/// Keys of the file.
const KEYS: &[&str] = &["sequence", "name", "source", "circuit", "note", "steps"];
/// Keys of a step.
const STEP_KEYS: &[&str] =
    &["step", "says", "test", "good", "look_over", "minutes", "if_good", "if_bad"];
/// Keys of what follows.
const THEN_KEYS: &[&str] = &["fix", "go"];
/// The edition of the format.
const EDITION: &str = "1";
/// No sheet is longer.
const MOST_STEPS: usize = 200;
/// A step of two answers.
const EXAMPLE: &str =
    "- { step: 1, test: volts/starter.plus/key.on, good: at least 11 V, if_bad: { go: 2 } }";

/// Reads a sequence's text for the circuit of `study`.
///
/// # Errors
/// All that is wrong with it.
pub fn read_text(study: &Study, text: &str) -> Result<Sequence, Vec<Problem>> {
    let tree = document::read(text)?;
    let mut reader = Reader { study, labels: Vec::new(), problems: Vec::new() };
    let sequence = reader.sequence(&tree);
    match sequence {
        Some(sequence) if reader.problems.is_empty() => Ok(sequence),
        _ => Err(reader.problems),
    }
}

struct Reader<'a> {
    study: &'a Study,
    /// The labels of all steps, in order.
    labels: Vec<String>,
    problems: Vec<Problem>,
}

impl Reader<'_> {
    fn sequence(&mut self, tree: &Located) -> Option<Sequence> {
        let what = "the sequence file".to_owned();
        let top = Fields::open(tree, what, &tree.span, KEYS, &mut self.problems)?;
        let help = "write `sequence: 1` in the first line";
        top.required("sequence", help, &mut self.problems)?;
        let edition = top.word("sequence", &mut self.problems)?;
        if edition.text != EDITION {
            self.wrong("unknown-edition", &edition, "this edition is not known", help);
        }
        top.required("name", "say what the sheet is called", &mut self.problems);
        let name = top.word("name", &mut self.problems);
        let source = top.word("source", &mut self.problems);
        self.circuit_fits(&top);
        let steps = top.required("steps", EXAMPLE, &mut self.problems)?;
        let list = self.list(steps)?;
        self.label_all(list);
        let steps = (0..list.len()).filter_map(|at| self.step(&list[at], at)).collect();
        let text = |word: Option<Word>| word.map_or_else(String::new, |word| word.text);
        Some(Sequence { name: text(name), source: text(source), steps })
    }

    /// A sheet may say whose ids it uses.
    fn circuit_fits(&mut self, top: &Fields<'_>) {
        let Some(meant) = top.word("circuit", &mut self.problems) else { return };
        let id = &self.study.circuit().id;
        if meant.text != *id {
            let help = format!("its ids are those of another circuit than `{id}`");
            self.wrong("other-circuit", &meant, "this sheet is for this circuit", &help);
        }
    }

    fn list<'t>(&mut self, steps: &'t Entry) -> Option<&'t [Located]> {
        let problem = match &steps.value.node {
            Node::List(list) if (1..=MOST_STEPS).contains(&list.len()) => return Some(list),
            Node::List(list) => format!("a sheet of {} steps", list.len()),
            other => format!("`steps` is {}, a list belongs here", other.what()),
        };
        let problem = Problem::error("not-steps", &steps.key_span, problem);
        self.problems.push(problem.help(format!("1 to {MOST_STEPS} steps, each like `{EXAMPLE}`")));
        None
    }

    fn label_all(&mut self, list: &[Located]) {
        for item in list {
            let Node::Map(entries) = &item.node else {
                self.labels.push(String::new());
                continue;
            };
            let entry = entries.iter().find(|entry| entry.key == "step");
            let mut unheard = Vec::new();
            let label =
                entry.and_then(|entry| word(&entry.value, &entry.key_span, "step", &mut unheard));
            let label = label.map_or_else(String::new, |label| label.text);
            if !label.is_empty() && self.labels.contains(&label) {
                let message = format!("step `{label}` is there twice");
                self.problems.push(
                    Problem::error("given-twice", &item.span, message).help("number it anew"),
                );
            }
            self.labels.push(label);
        }
    }

    fn step(&mut self, item: &Located, at: usize) -> Option<Step> {
        let what = format!("step `{}`", self.labels[at]);
        let fields = Fields::open(item, what, &item.span, STEP_KEYS, &mut self.problems)?;
        fields.required("step", "number it: `step: 1`", &mut self.problems)?;
        let label = fields.word("step", &mut self.problems)?.text;
        let look = match (fields.get("test"), fields.get("look_over")) {
            (Some(_), None) => self.reading(&fields),
            (None, Some(_)) => self.parts(&fields),
            _ => {
                let message = format!("{} needs either `test` or `look_over`", fields.what);
                let problem = Problem::error("no-look", &fields.span, message);
                self.problems.push(problem.help(format!("write it like `{EXAMPLE}`")));
                None
            }
        };
        let if_good = self.then(&fields, "if_good", at);
        let if_bad = self.then(&fields, "if_bad", at);
        Some(Step { label, look: look?, if_good, if_bad })
    }

    fn reading(&mut self, fields: &Fields<'_>) -> Option<Look> {
        let typed = fields.word("test", &mut self.problems)?;
        let test = match name::parse(self.study.circuit(), &typed.text) {
            Ok(test) => test,
            Err(error) => {
                let help = "`halfsplit expect CIRCUIT --all --json` lists the tests by id";
                self.wrong("not-a-test", &typed, &error.to_string(), help);
                return None;
            }
        };
        let column = match self.study.column(&test) {
            Ok(column) => column,
            Err(error) => {
                self.wrong("not-a-test", &typed, &error.to_string(), "take another setup");
                return None;
            }
        };
        fields.required(
            "good",
            "say what counts as good: `good: at least 11 V`",
            &mut self.problems,
        )?;
        let good = self.good(fields, &column)?;
        Some(Look::Reading { column, good })
    }

    fn not_one(&mut self, fields: &Fields<'_>, key: &str, help: &str) {
        // That the key is missing has been said.
        if fields.get(key).is_some() {
            let message = format!("`{key}` of {} says nothing that can be used", fields.what);
            self.problems.push(Problem::error("no-value", &fields.span, message).help(help));
        }
    }

    /// `at least 9.6 V`, `at most 0.4 V`, `11 V to 13 V`; or outcomes by name.
    fn good(&mut self, fields: &Fields<'_>, column: &Column) -> Option<Good> {
        let words = fields.words("good", &mut self.problems);
        let ids: Vec<&str> = column.outcomes.iter().map(|outcome| outcome.id.as_str()).collect();
        let position = |word: &Word| ids.iter().position(|id| *id == word.text);
        let known: Vec<usize> = words.iter().filter_map(position).collect();
        if !words.is_empty() && known.len() == words.len() {
            return Some(Good::Outcomes(known));
        }
        let first = words.iter().find(|word| position(word).is_none());
        let Some(first) = first.filter(|_| words.len() == 1) else {
            self.not_one(fields, "good", "one range of numbers, or outcomes by name");
            return None;
        };
        let unit = match column.test.tester.unit() {
            Some("V") => Unit::Volts,
            Some("A") => Unit::Amps,
            Some(_) => Unit::Ohms,
            None => {
                let help = did_you_mean(&first.text, ids);
                self.wrong("unknown-outcome", first, "this is not what it can show", &help);
                return None;
            }
        };
        let found = limits(&first.text, unit);
        if found.is_none() {
            let help = "write it like `at least 9.6 V`, `at most 0.4 V` or `11 V to 13 V`";
            self.wrong("not-a-range", first, "this is no range of numbers", help);
        }
        found
    }

    fn parts(&mut self, fields: &Fields<'_>) -> Option<Look> {
        let circuit = self.study.circuit();
        let suspects = &self.study.lineup().suspects;
        let mut finds = vec![false; suspects.len()];
        let mut places: Vec<PlaceId> = Vec::new();
        let named = fields.words("look_over", &mut self.problems);
        if named.is_empty() {
            self.not_one(fields, "look_over", "the parts or faults that are looked for");
        }
        for named in named {
            let part = circuit.parts.iter().position(|part| part.id == named.text);
            let mut any = false;
            for (at, suspect) in suspects.iter().enumerate() {
                let of_part = part.is_some() && suspect.part.map(PartId::index) == part;
                if of_part || suspect.id == named.text {
                    finds[at] = true;
                    any = true;
                    places.extend(suspect.part.map(|one| circuit.parts[one.index()].place));
                }
            }
            if !any {
                let known = circuit.parts.iter().map(|part| part.id.as_str());
                let known = known.chain(suspects.iter().map(|suspect| suspect.id.as_str()));
                let help = did_you_mean(&named.text, known);
                self.wrong("unknown-part", &named, "no part or fault has this id", &help);
            }
        }
        places.sort_unstable();
        places.dedup();
        fields.required(
            "minutes",
            "say how long the look takes: `minutes: 2 min`",
            &mut self.problems,
        )?;
        let minutes = fields.number("minutes", MINUTES, &mut self.problems)?;
        Some(Look::Parts { finds, minutes, places })
    }

    /// What follows; a sheet that says nothing goes on to the next step, one that says `fix` alone ends there.
    fn then(&mut self, fields: &Fields<'_>, key: &str, at: usize) -> Then {
        let next = (at + 1 < self.labels.len()).then_some(at + 1);
        let Some(entry) = fields.get(key) else { return Then { fixes: Vec::new(), next } };
        let what = format!("`{key}` of {}", fields.what);
        let opened =
            Fields::open(&entry.value, what, &entry.key_span, THEN_KEYS, &mut self.problems);
        let Some(inner) = opened else { return Then { fixes: Vec::new(), next: None } };
        let by_look = fields.get("look_over").is_some() && key == "if_bad";
        let named = inner.words("fix", &mut self.problems);
        let fixes = named.iter().filter_map(|named| self.repair(named, by_look)).collect();
        let next = match inner.word("go", &mut self.problems) {
            None if inner.get("fix").is_none() => next,
            None => None,
            Some(go) if go.text == "next" => next,
            Some(go) if go.text == "end" => None,
            Some(go) => self.labelled(&go),
        };
        Then { fixes, next }
    }

    fn repair(&mut self, named: &Word, by_look: bool) -> Option<Repair> {
        if by_look && named.text == "found" {
            return Some(Repair::Found);
        }
        let fixes = &self.study.lineup().fixes;
        let found = fixes.iter().position(|fix| fix.id == named.text);
        if found.is_none() {
            let help = did_you_mean(&named.text, fixes.iter().map(|fix| fix.id.as_str()));
            self.wrong("unknown-fix", named, "no fix of this circuit has this id", &help);
        }
        found.map(Repair::Fix)
    }

    fn labelled(&mut self, go: &Word) -> Option<usize> {
        let found = self.labels.iter().position(|label| *label == go.text);
        if found.is_none() {
            let help = did_you_mean(&go.text, self.labels.iter().map(String::as_str));
            self.wrong("unknown-step", go, "there is no such step", &help);
        }
        found
    }

    fn wrong(&mut self, id: &'static str, at: &Word, what: &str, help: &str) {
        let message = format!("`{}`: {what}", at.text);
        self.problems.push(Problem::error(id, &at.span, message).help(help));
    }
}

fn limits(text: &str, unit: Unit) -> Option<Good> {
    let number = |text: &str| quantity::parse(text.trim(), unit).ok();
    if let Some(least) = text.strip_prefix("at least ") {
        return Some(Good::Between { least: number(least)?, most: f64::INFINITY });
    }
    if let Some(most) = text.strip_prefix("at most ") {
        return Some(Good::Between { least: f64::NEG_INFINITY, most: number(most)? });
    }
    let (least, most) = text.split_once(" to ")?;
    let (least, most) = (number(least)?, number(most)?);
    (least <= most).then_some(Good::Between { least, most })
}
