//! The tree as Markdown: numbered steps, each with a table of what can be seen.

use super::steps::{Step, To, Way, steps};
use super::text::heading;
use super::{FaultTree, Kind};
use crate::report::mark;
use crate::report::plain::{markdown, minutes, share};

/// The whole text.
pub fn write(tree: &FaultTree) -> String {
    let mut text = mark::MARKDOWN.to_owned();
    text.push_str(&format!("# Fault tree: {}\n\n", markdown(&tree.subject.circuit)));
    for line in heading(tree).iter().skip(1) {
        text.push_str(&format!("- {}\n", markdown(line)));
    }
    for (at, step) in steps(tree).iter().enumerate() {
        one(&mut text, at + 1, step);
    }
    text
}

fn one(text: &mut String, number: usize, step: &Step) {
    // The number alone is the heading, so that its address is the same in every renderer.
    text.push_str(&format!("\n## Step {number}\n\n**{}**", markdown(&step.title)));
    let kind = match step.kind {
        Kind::Test => "look,",
        Kind::Fix => "repair,",
        _ => "end, counted as",
    };
    let (costs, comes) = (minutes(step.minutes), share(step.reached));
    text.push_str(&format!(" ({kind} {costs}, {comes} of the jobs)\n\n"));
    if !step.cautions.is_empty() {
        text.push_str(&format!("> **Care:** {}\n\n", markdown(&step.cautions.join(" "))));
    }
    for (at, line) in step.doing.iter().enumerate() {
        text.push_str(&format!("{}. {}\n", at + 1, markdown(line)));
    }
    if step.ways.is_empty() {
        return;
    }
    text.push_str("\n| you see | chance | it points to | go to |\n| --- | ---: | --- | --- |\n");
    for way in &step.ways {
        text.push_str(&row(way));
    }
}

fn row(way: &Way) -> String {
    let (points, to) = match &way.to {
        To::Step(number) => (way.meaning(), format!("[step {number}](#step-{number})")),
        To::Cured(put_back) => (put_back.join(" "), "proven, done".to_owned()),
        To::Cut => (way.meaning(), "not followed here".to_owned()),
    };
    let (words, points) = (markdown(&way.words), markdown(&points));
    format!("| {words} | {} | {points} | {to} |\n", share(way.probability))
}
