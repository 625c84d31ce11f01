//! A question sheet on paper: questions with room to write, answers on pages of their own.

use maud::{Markup, PreEscaped, html};

use crate::drill::sheet::{Question, Questions};
use crate::report::page::page;
use crate::report::plain::{share, tied};

/// Room to write, and the answers on a fresh page.
const STYLE: &str = ".room{border-bottom:1px dotted #53616e;height:1.9em}.answers{break-before:page}\
.question{break-inside:avoid;margin:1rem 0}";

/// The sheet: its questions, its answers, or both.
pub fn write(sheet: &Questions, questions: bool, answers: bool) -> String {
    let content = html! {
        style { (PreEscaped(STYLE)) }
        @if questions { (asked(sheet)) }
        @if answers { (answered(sheet)) }
    };
    page(&format!("Questions: {}", sheet.circuit), &content)
}

fn head(sheet: &Questions, kind: &str) -> Markup {
    html! {
        header {
            p.kind { (kind) }
            h1 { (sheet.circuit) }
            p { (sheet.machine) ". The complaint: " b { (sheet.complaint) } " fails. Sheet " (sheet.seed) "." }
        }
    }
}

fn asked(sheet: &Questions) -> Markup {
    html! {
        (head(sheet, "Questions"))
        @for (name, parts) in &sheet.paths {
            p.soft { "The way of the " (name) ":" }
            ul.path { @for part in parts { li { span { (part) } } } }
        }
        @for note in &sheet.notes { p.soft { "Note: " (note) } }
        main {
            @for (at, one) in sheet.questions.iter().enumerate() {
                section.question {
                    h2 { "Question " (at + 1) }
                    (seen(one))
                    p { "a) Which parts are still open to suspicion?" }
                    div.room {} div.room {}
                    p { "b) Which test next, and why?" }
                    div.room {} div.room {}
                }
            }
        }
        div.sign { span { "Name" } span { "Checked by" } span { "Date" } }
    }
}

fn seen(one: &Question) -> Markup {
    html! {
        table { tbody {
            @for (done, seen) in &one.seen { tr { td { (done) } td { b { (tied(seen)) } } } }
        } }
    }
}

fn answered(sheet: &Questions) -> Markup {
    html! {
        div.answers {
            (head(sheet, "Answers"))
            @for (at, one) in sheet.questions.iter().enumerate() {
                section.question {
                    h2 { "Question " (at + 1) }
                    dl {
                        dt { "a) Open" }
                        dd {
                            @for (number, (part, of)) in one.open.iter().enumerate() {
                                @if number > 0 { ", " }
                                (part) " " (tied(&share(*of)))
                            }
                        }
                        dt { "b) Next" } dd { (tied(&one.next)) }
                        dt { "Why" } dd { (tied(&one.why)) }
                        dt { "Hidden was" } dd { (one.fault) }
                        dt { "Mended by" } dd { (one.fix) }
                    }
                }
            }
        }
    }
}
