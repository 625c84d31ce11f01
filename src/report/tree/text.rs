//! The tree as lines for a terminal.

use unicode_width::UnicodeWidthStr;

use super::steps::{Step, To, Way, steps};
use super::{FaultTree, Kind};
use crate::job::words::show;
use crate::problem::sanitise;
use crate::report::mark;
use crate::report::plain::{TIE, minutes, share, tied};

/// Lines are filled up to here.
const WIDTH: usize = 100;
/// A line has room for so much, however deep it stands.
const LEAST_ROOM: usize = 48;

/// What the branches are drawn with.
struct Pen {
    fork: &'static str,
    last: &'static str,
    stem: &'static str,
    leads: &'static str,
}

const BOX: Pen = Pen { fork: "├─ ", last: "└─ ", stem: "│  ", leads: "→" };
const ASCII: Pen = Pen { fork: "+- ", last: "`- ", stem: "|  ", leads: "->" };

/// The whole tree; each step is printed once and named by its number where another way leads to it.
///
/// With `ascii`, branches are drawn with ASCII characters; names from the circuit stay as they are.
pub fn write(tree: &FaultTree, ascii: bool) -> String {
    let list = steps(tree);
    let mut printer = Printer {
        list: &list,
        pen: if ascii { ASCII } else { BOX },
        text: String::new(),
        printed: vec![false; list.len()],
    };
    for line in heading(tree) {
        printer.line("", "", &line);
    }
    printer.line("", "", "");
    if !list.is_empty() {
        printer.step(1, "");
    }
    printer.text
}

/// What it is a tree of, and its figures, in a few lines.
pub fn heading(tree: &FaultTree) -> Vec<String> {
    let subject = &tree.subject;
    let figures = &tree.figures;
    let optimum = figures.optimum_minutes.map_or_else(String::new, |least| {
        format!("; the best of all plans needs {} min", show(least))
    });
    let mut lines = vec![
        format!("{}, {}", mark::TREE_TEXT, env!("CARGO_PKG_VERSION")),
        format!("{} ({})", subject.circuit, subject.machine),
        format!("What fails: {}", subject.complaint),
        format!("At hand: {}", subject.kit.join(", ")),
        format!(
            "On average {} min and {:.1} readings to the proven repair; no plan can need under {} min{optimum}.",
            show(figures.expected_minutes),
            figures.expected_tests,
            show(figures.bound_minutes)
        ),
        format!("Dearest way to a proven repair: {}.", minutes(figures.worst_cured_minutes)),
    ];
    lines.extend(cut_words(tree));
    lines.extend(subject.notes.iter().map(|note| format!("Note: {note}")));
    lines
}

/// How much is not in the tree.
pub fn cut_words(tree: &FaultTree) -> Option<String> {
    let cut = tree.figures.cut_probability;
    if cut <= 0.0 {
        return None;
    }
    let why = if tree.complete {
        format!("Ways under {} each are cut", share(tree.cut_below))
    } else {
        "It was stopped before all was planned; what is left is cut".to_owned()
    };
    Some(format!(
        "{why}: together {}; they count with an estimate of what is left. There, go on with halfsplit find.",
        share(cut)
    ))
}

struct Printer<'a> {
    list: &'a [Step],
    pen: Pen,
    text: String,
    printed: Vec<bool>,
}

impl Printer<'_> {
    fn step(&mut self, number: usize, stem: &str) {
        self.printed[number - 1] = true;
        let list = self.list;
        let step = &list[number - 1];
        let below = if step.ways.is_empty() { "   " } else { self.pen.stem };
        let rest = format!("{stem}{below}");
        let counted = if step.kind == Kind::HandOn { "counted as " } else { "" };
        let (costs, comes) = (minutes(step.minutes), share(step.reached));
        let title = format!("{number}. {} ({counted}{costs}; {comes} of the jobs)", step.title);
        self.line(stem, &rest, &title);
        if !step.cautions.is_empty() {
            self.line(&format!("{rest}! "), &format!("{rest}  "), &step.cautions.join(" "));
        }
        for doing in &step.doing {
            self.line(&format!("{rest}- "), &format!("{rest}  "), doing);
        }
        let ways = step.likeliest_first();
        let count = ways.len();
        for (at, way) in ways.into_iter().enumerate() {
            let last = at + 1 == count;
            let fork = if last { self.pen.last } else { self.pen.fork };
            let below = if last { "   " } else { self.pen.stem };
            self.way(way, &format!("{stem}{fork}"), &format!("{stem}{below}"));
        }
    }

    fn way(&mut self, way: &Way, fork: &str, below: &str) {
        let mut words = format!("{} ({})", way.words, share(way.probability));
        let leans = way.meaning();
        if !leans.is_empty() {
            words.push_str(": ");
            words.push_str(&leans);
        }
        let leads = self.pen.leads;
        match &way.to {
            To::Step(next) if self.printed[next - 1] => {
                words.push_str(&format!(" {leads} step {next} above"));
            }
            To::Step(_) => {}
            To::Cured(put_back) => {
                words.push_str(&format!(" {leads} proven, done. {}", put_back.join(" ")));
            }
            To::Cut => words.push_str(&format!(" {leads} cut")),
        }
        self.line(fork, &format!("{below}  "), &words);
        if let To::Step(next) = way.to
            && !self.printed[next - 1]
        {
            self.step(next, below);
        }
    }

    /// One line, filled; what runs over begins with `rest`.
    fn line(&mut self, first: &str, rest: &str, words: &str) {
        let room = WIDTH.saturating_sub(first.width()).max(LEAST_ROOM);
        let mut start = first;
        let mut line = String::new();
        for word in tied(words).split(' ') {
            if !line.is_empty() && line.width() + 1 + word.width() > room {
                self.put(start, &line);
                start = rest;
                line.clear();
            }
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
        self.put(start, &line);
    }

    fn put(&mut self, start: &str, line: &str) {
        let line = sanitise(line).replace(TIE, " ");
        self.text.push_str(format!("{start}{line}").trim_end());
        self.text.push('\n');
    }
}
