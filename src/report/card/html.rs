//! The card as one page.

use maud::{Markup, PreEscaped, html};

use super::{JobCard, Path, Row, RowKind, Verdict};
use crate::job::words::show;
use crate::report::page::{care, page};
use crate::report::plain::{count, minutes, share, tied};

/// The whole page.
pub fn write(card: &JobCard) -> String {
    let title = format!("Job card: {}", card.circuit);
    let content = html! {
        header {
            p.kind { "Job card" }
            h1 { (card.machine) }
            p { (card.circuit) }
        }
        dl {
            dt { "What fails" } dd { b { (card.complaint) } }
            dt { "Begun" } dd { (card.started) }
            dt { "At hand" } dd { (card.kit.join(", ")) }
            dt { "Reckoned" } dd { (tied(&minutes(card.minutes))) ", " (count(card.tests, "reading")) }
        }
        (verdict(&card.verdict))
        (done(&card.rows))
        @if let Some(line) = &card.surprise { p { b { (line) } } }
        (care(&card.cautions))
        @for one in &card.paths { (path(one)) }
        section.keep { h2 { "Wiring" } (PreEscaped(&card.drawing)) }
        (signed())
    };
    page(&title, &content)
}

fn verdict(verdict: &Verdict) -> Markup {
    let word = if verdict.proven { "Fault" } else { "Suspects" };
    html! {
        section.verdict.open[!verdict.proven] {
            h2 { (verdict.title) }
            dl {
                @if !verdict.faults.is_empty() {
                    dt { (word) }
                    dd {
                        @for fault in &verdict.faults {
                            div { b { (fault.part) } ": " (fault.fault) " " span.soft { (tied(&share(fault.probability))) } }
                        }
                    }
                }
                @if let Some(repair) = &verdict.repair { dt { "Repair" } dd { (repair) } }
                @if !verdict.parts.is_empty() { dt { "Parts" } dd { @for line in &verdict.parts { div { (line) } } } }
                @if !verdict.proof.is_empty() { dt { "Proof" } dd { @for line in &verdict.proof { div { (line) } } } }
                @if !verdict.put_back.is_empty() {
                    dt { "Put back" }
                    dd { ul.tick { @for line in &verdict.put_back { li { (line) } } } }
                }
            }
        }
    }
}

fn done(rows: &[Row]) -> Markup {
    html! {
        @if !rows.is_empty() {
            h2 { "What was done" }
            table.stack {
                thead { tr { th.n { "#" } th { "What" } th { "Seen" } th { "A sound circuit" } th.n { "Minutes" } } }
                tbody { @for one in rows { (row(one)) } }
            }
            @if rows.iter().any(|row| row.differs) {
                p.soft { "\u{2260} and tinted: not what a sound circuit would show." }
            }
        }
    }
}

fn row(row: &Row) -> Markup {
    let reading = row.kind == RowKind::Reading;
    html! {
        tr.off[row.differs] {
            td.n.number-cell { (row.number) }
            td { b { (row.what) } @if !row.setup.is_empty() { div.soft { "with " (row.setup) } } }
            td data-word="seen" {
                @if row.differs { b.mark { (tied(&row.seen)) } } @else { (tied(&row.seen)) }
            }
            td data-word=[reading.then_some("a sound circuit")] { (tied(&row.sound)) }
            td.n data-word=[(row.minutes > 0.0).then_some("minutes")] {
                @if row.minutes > 0.0 { (show(row.minutes)) }
            }
        }
    }
}

fn path(path: &Path) -> Markup {
    html! {
        section.keep {
            h2 { "Current through the " (path.name) ", from the supply" }
            ol.path {
                @for part in &path.parts {
                    li { span.thin[part.thin].bad[part.bad] { (part.name) } }
                }
            }
        }
    }
}

/// Lines to sign on paper.
fn signed() -> Markup {
    html! { div.sign { span { "Done by" } span { "Checked by" } span { "Date" } } }
}
