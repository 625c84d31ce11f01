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
            table.stack style="table-layout:fixed" {
                colgroup { col style="width:15%"; col style="width:25%"; col style="width:44%"; col style="width:16%"; }
                thead { tr { th { "Where" } th { "Point" } th { "A sound circuit" } th { "Yours" } } }
                tbody {
                    @for (at, point) in setup.points.iter().enumerate() {
                        (row(point, at == 0 || setup.points[at - 1].place != point.place))
                    }
                }
            }
        }
    }
}

/// A point is one row; its place stands where it differs from the one before.
fn row(point: &Point, place: bool) -> Markup {
    html! {
        tr {
            td data-word="where" { @if place { b { (point.place) } } }
            td { b { (point.name) } @if !point.colours.is_empty() { " " span.soft { (point.colours) } } }
            td data-word="sound" { @for reading in &point.readings { (sound(reading)) } }
            td {}
        }
    }
}

fn sound(reading: &Reading) -> Markup {
    html! {
        div { (reading.tester) ": " b { (tied(&reading.sound)) } }
        @if let Some(limit) = &reading.published { div.soft { "Published: " (tied(limit)) } }
    }
}
