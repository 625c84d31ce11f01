//! The one page all HTML reports are: no scripts, nothing loaded, fit for A4 paper and for a phone.

use maud::{Markup, PreEscaped, html};

use super::mark;

/// The look of all pages; plain CSS without any outside source.
const STYLE: &str = include_str!("page.css");

/// Paper that a page or a drawing is laid out for (ISO 216).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PaperSize {
    /// 210 by 297 mm.
    A4,
    /// 297 by 420 mm.
    A3,
}

impl PaperSize {
    /// The shorter and the longer side, in millimetres.
    pub fn sides_mm(self) -> (f64, f64) {
        match self {
            PaperSize::A4 => (210.0, 297.0),
            PaperSize::A3 => (297.0, 420.0),
        }
    }
}

/// Makes a printer take this paper for a drawing that is a file of its own, which has no page around it.
///
/// `across` has the longer side horizontal.
pub fn page_rule(paper: PaperSize, across: bool, margin_mm: f64) -> String {
    let (short, long) = paper.sides_mm();
    let (wide, tall) = if across { (long, short) } else { (short, long) };
    format!("@page{{size:{wide}mm {tall}mm;margin:{margin_mm}mm}}")
}

/// On A3 the steps stand in two columns, in letters that can be read from a wall.
const WALL: &str = "@page { size: A3; margin: 13mm; }\
@media print { main { columns: 2; column-gap: 9mm; } body { font-size: 10pt; } }";

/// A whole page with this title and content, for A4.
pub fn page(title: &str, content: &Markup) -> String {
    page_for(PaperSize::A4, title, content)
}

/// A whole page with this title and content.
pub fn page_for(paper: PaperSize, title: &str, content: &Markup) -> String {
    let inner = html! {
        head {
            meta charset="utf-8";
            meta name="viewport" content="width=device-width, initial-scale=1";
            meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'";
            title { (title) }
            style { (PreEscaped(STYLE)) }
            @if paper == PaperSize::A3 { style { (PreEscaped(WALL)) } }
        }
        body {
            (content)
            p.made { "Made by " (mark::MADE_BY) ". The machine's service manual, local codes and licensed practice come first." }
        }
    };
    format!("{}<html lang=\"en\">{}</html>\n", mark::PAGE, inner.into_string())
}

/// What to heed, or nothing.
pub fn care(cautions: &[String]) -> Markup {
    html! {
        @if !cautions.is_empty() {
            div.care role="note" {
                b { "CARE" }
                @for caution in cautions { " " (caution) }
            }
        }
    }
}

/// A share as a bar; the number stands beside it in words.
pub fn bar(share: f64) -> Markup {
    let width = format!("width:{:.1}%", (share * 100.0).clamp(0.0, 100.0));
    html! { span.bar aria-hidden="true" { i style=(width) {} } }
}
