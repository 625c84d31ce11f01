//! The tree as one page of numbered steps.

use maud::{Markup, html};

use super::steps::{Step, To, Way, steps};
use super::text::cut_words;
use super::{FaultTree, Kind};
use crate::job::shown::proof::on_paper;
use crate::job::words::show;
use crate::report::page::{PaperSize, bar, care, page_for};
use crate::report::plain::{minutes, share, tied};

/// The whole page, laid out for this paper.
pub fn write(tree: &FaultTree, sheet: PaperSize) -> String {
    let list = steps(tree);
    let title = format!("Fault tree: {}", tree.subject.circuit);
    let content = html! {
        (head(tree))
        main {
            @for (at, step) in list.iter().enumerate() { (card(at + 1, step)) }
        }
    };
    page_for(sheet, &title, &content)
}

fn head(tree: &FaultTree) -> Markup {
    let subject = &tree.subject;
    html! {
        header {
            p.kind { "Fault tree" }
            h1 { (subject.circuit) }
            p { (subject.machine) ". What fails: " b { (subject.complaint) } ". At hand: " (subject.kit.join(", ")) "." }
        }
        (figures(tree))
        p { "Begin at step 1. Do what it says, then go on with the step that stands beside what you saw." }
        @if let Some(words) = cut_words(tree) { p.soft { (words) } }
        @for note in &subject.notes { p.soft { "Note: " (note) } }
        @if let Some(limits) = &subject.limits {
            p.soft { "Volts lost while a repair is proven: " (limits) }
        }
    }
}

fn figures(tree: &FaultTree) -> Markup {
    let figures = &tree.figures;
    let figure = |value: String, words: &str| html! { li { b { (value) } span { (words) } } };
    html! {
        ul.figures {
            (figure(minutes(figures.expected_minutes), "to a proven repair, on average"))
            (figure(format!("{:.1}", figures.expected_tests), "readings, on average"))
            (figure(minutes(figures.worst_cured_minutes), "by the dearest way to a proven repair"))
            (figure(minutes(figures.bound_minutes), "no plan can need less, on average"))
            @if let Some(least) = figures.optimum_minutes {
                (figure(format!("{} min", show(least)), "the best of all plans, on average"))
            }
        }
    }
}

fn card(number: usize, step: &Step) -> Markup {
    let kind = match step.kind {
        Kind::Test => "step test",
        Kind::Fix => "step fix",
        _ => "step end",
    };
    html! {
        section class=(kind) id=(anchor(number)) {
            div.top {
                h3 { span.number { (number) } span { (step.title) } }
                p.facts { (facts(step)) }
            }
            (care(&step.cautions))
            ol.do.long[step.doing.len() > 3] { @for line in &step.doing { li { (on_paper(line)) } } }
            @if !step.ways.is_empty() {
                ul.ways { @for way in &step.ways { (row(way)) } }
            }
        }
    }
}

fn facts(step: &Step) -> Markup {
    let kind = match step.kind {
        Kind::Test => "Look",
        Kind::Fix => "Repair",
        _ => "End",
    };
    let counted = if step.kind == Kind::HandOn { "counted as " } else { "" };
    html! {
        (kind) ", " (counted) (minutes(step.minutes)) ", " (share(step.reached)) " of the jobs"
        @if !step.from.is_empty() { ", from " (links(&step.from)) }
    }
}

fn row(way: &Way) -> Markup {
    let points = match &way.to {
        To::Cured(put_back) => put_back.join(" "),
        _ => way.meaning(),
    };
    html! {
        li class=[(way.to == To::Cut).then_some("cut")] {
            span.seen { (way.words) }
            span.share { (bar(way.probability)) (tied(&share(way.probability))) }
            span.leans { (tied(&points)) }
            span.to { (to(way)) }
        }
    }
}

fn to(way: &Way) -> Markup {
    html! {
        @match way.to {
            To::Step(number) => a href=(format!("#{}", anchor(number))) { "step " (number) },
            To::Cured(_) => "proven",
            To::Cut => "cut",
        }
    }
}

fn links(numbers: &[usize]) -> Markup {
    html! {
        @for (at, &number) in numbers.iter().enumerate() {
            @if at > 0 { ", " }
            a href=(format!("#{}", anchor(number))) { (number) }
        }
    }
}

fn anchor(number: usize) -> String {
    format!("step-{number}")
}
