//! The sheet as one page.

use maud::{Markup, html};

use super::{Point, Reading, SetupSheet, Sheet};
use crate::report::page::{care, page};
use crate::report::plain::tied;

/// The whole page.
pub fn write(sheet: &Sheet) -> String {
    let content = html! {
        header {
            p.kind { "Expected readings" }
            h1 { (sheet.circuit) }
            p { (sheet.machine) ". What should work: " b { (sheet.complaint) } ". At hand: " (sheet.kit.join(", ")) "." }
        }
        p { "What a sound circuit shows; of numbers, 95 readings of a hundred lie between the two. The last column is for what you read." }
        @for note in &sheet.notes { p.soft { "Note: " (note) } }
        @for setup in &sheet.setups { (section(setup)) }
        @if sheet.left_out > 0 {
            p.soft { (sheet.left_out) " points that tell little of what to mend are left out; " code { "expect --all" } " has them." }
        }
    };
    page(&format!("Expected readings: {}", sheet.circuit), &content)
}

fn section(setup: &SetupSheet) -> Markup {
    html! {
        section {
            h2 { (setup.words) }
            (care(&setup.cautions))
            table.stack {
                thead { tr { th { "Where" } th { "Point" } th { "Tester" } th { "A sound circuit" } th { "Yours" } } }
                @for point in &setup.points { (rows(point)) }
            }
        }
    }
}

/// A point is a group of rows, which stays on one page.
fn rows(point: &Point) -> Markup {
    html! {
        tbody.keep {
            @for (at, reading) in point.readings.iter().enumerate() {
                tr {
                    @if at == 0 {
                        td data-word="where" { (point.place) }
                        td { b { (point.name) } @if !point.colours.is_empty() { div.soft { (point.colours) } } }
                    } @else {
                        td {} td {}
                    }
                    td data-word="with" { (reading.tester) }
                    (sound(reading))
                    td {}
                }
            }
        }
    }
}

fn sound(reading: &Reading) -> Markup {
    html! {
        td data-word="sound" {
            b { (tied(&reading.sound)) }
            @if let Some(limit) = &reading.published { div.soft { "Published: " (tied(limit)) } }
        }
    }
}
