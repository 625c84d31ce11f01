//! The one page all HTML reports are: no scripts, nothing loaded, fit for A4 paper and for a phone.

use maud::{Markup, PreEscaped, html};

use super::mark;

/// The look of all pages; plain CSS without any outside source.
const STYLE: &str = include_str!("page.css");

/// A whole page with this title and content.
pub fn page(title: &str, content: &Markup) -> String {
    let inner = html! {
        head {
            meta charset="utf-8";
            meta name="viewport" content="width=device-width, initial-scale=1";
            meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'";
            title { (title) }
            style { (PreEscaped(STYLE)) }
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
