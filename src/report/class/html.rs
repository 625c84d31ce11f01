//! The class record as one page with small plots.

use maud::{Markup, html};

use super::{Class, KindRow, Learner, missed_words};
use crate::report::page::{bar, page};
use crate::report::plain::count;

// Lengths of the plots, in their own units, which are pixels at natural size.
const WIDE: f64 = 150.0;
const HIGH: f64 = 40.0;
const EDGE: f64 = 4.0;

/// The whole page.
pub fn write(class: &Class) -> String {
    let content = html! {
        header {
            p.kind { "Class record" }
            h1 { (count(class.learners.len(), "learner")) ", " (count(class.drills, "drill")) }
            p.soft { "Points out of 100: solved 30, complaint confirmed first 10, repair proven 10, no harm done 20, time beside the planner's on the same machine 30." }
        }
        main {
            h2 { "Learners" }
            table.stack.class {
                thead { tr {
                    th { "Learner" } th.n { "Drills" } th { "Points, drill by drill" } th.n { "Mean" }
                    th { "Solved" } th { "Confirmed first" } th { "Proven" } th { "No harm" } th { "Missed" }
                } }
                tbody { @for one in &class.learners { (learner(one)) } }
            }
            h2 { "Kinds of fault" }
            table.stack.class {
                thead { tr { th { "Kind" } th.n { "Drills" } th { "Solved" } th.n { "Points" } th { "Missed by" } } }
                tbody { @for row in &class.kinds { (kind(row)) } }
            }
        }
    };
    page("Class record", &content)
}

fn learner(one: &Learner) -> Markup {
    let share = |word: &str, share: f64| html! { td data-word=(word) { (percent(share)) } };
    html! {
        tr.keep {
            td { b { (one.name) } @if one.stopped > 0 { br; span.soft { (one.stopped) " stopped" } } }
            td.n data-word="drills" { (one.drills) }
            td { (course(&one.course)) }
            td.n data-word="mean points" { b { (format!("{:.0}", one.points)) } @if one.drills > 1 { br; span.soft { (format!("{:.0} \u{2192} {:.0}", one.first_points, one.last_points)) } } }
            (share("solved", one.solved)) (share("confirmed first", one.confirmed))
            (share("proven", one.proven)) (share("no harm", one.harmless))
            td data-word="missed" { (missed_words(one)) }
        }
    }
}

fn kind(row: &KindRow) -> Markup {
    html! {
        tr.keep {
            td { b { (row.kind.words()) } }
            td.n data-word="drills" { (row.drills) }
            td data-word="solved" { (percent(row.solved)) }
            td.n data-word="points" { (format!("{:.0}", row.points)) }
            td data-word="missed by" { @if row.missed_by.is_empty() { "nobody" } @else { (row.missed_by.join(", ")) } }
        }
    }
}

/// A share as a bar with its number.
fn percent(share: f64) -> Markup {
    html! { span.share { (bar(share)) span { (format!("{:.0}\u{a0}%", share * 100.0)) } } }
}

/// Points over drills: a dot a drill, a line through them, and lines at 0, 50 and 100.
fn course(points: &[f64]) -> Markup {
    let step = (WIDE - 2.0 * EDGE) / (points.len().max(2) - 1) as f64;
    let height = |points: f64| HIGH - EDGE - points / 100.0 * (HIGH - 2.0 * EDGE);
    let at = |(number, points): (usize, &f64)| (EDGE + step * number as f64, height(*points));
    let dots: Vec<(f64, f64)> = points.iter().enumerate().map(at).collect();
    let line: Vec<String> = dots.iter().map(|(x, y)| format!("{x:.1},{y:.1}")).collect();
    let words: Vec<String> = points.iter().map(|one| format!("{one:.0}")).collect();
    let label = format!("points: {}", words.join(", "));
    html! {
        svg role="img" aria-label=(label) width=(WIDE) height=(HIGH) viewBox=(format!("0 0 {WIDE} {HIGH}")) {
            @for level in [0.0, 50.0, 100.0] {
                line x1="0" x2=(WIDE) y1=(format!("{:.1}", height(level))) y2=(format!("{:.1}", height(level))) stroke="#c3ccd4" stroke-width="1" {}
            }
            polyline points=(line.join(" ")) fill="none" stroke="#0d4f63" stroke-width="1.5" {}
            @for (x, y) in &dots { circle cx=(format!("{x:.1}")) cy=(format!("{y:.1}")) r="2.4" fill="#0d4f63" {} }
        }
    }
}
