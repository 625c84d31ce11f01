//! A question sheet for a wiki or a mail: questions first, answers behind a rule.

use crate::drill::sheet::{Question, Questions};
use crate::report::mark;
use crate::report::plain::{markdown, share};

/// The sheet: its questions, its answers, or both.
pub fn write(sheet: &Questions, questions: bool, answers: bool) -> String {
    let mut text = mark::MARKDOWN.to_owned();
    text.push_str(&format!("\n# {}\n\n", markdown(&sheet.circuit)));
    text.push_str(&format!("{}. Sheet {}.\n\n", markdown(&sheet.machine), sheet.seed));
    if questions {
        text.push_str(&format!("The complaint: **{}** fails.\n\n", markdown(&sheet.complaint)));
        for (name, parts) in &sheet.paths {
            let parts: Vec<String> = parts.iter().map(|part| markdown(part)).collect();
            text.push_str(&format!("- The way of the {}: {}\n", markdown(name), parts.join(" – ")));
        }
        text.push('\n');
        for (at, one) in sheet.questions.iter().enumerate() {
            text.push_str(&asked(at + 1, one));
        }
    }
    if answers {
        text.push_str("---\n\n## Answers\n\n");
        for (at, one) in sheet.questions.iter().enumerate() {
            text.push_str(&answered(at + 1, one));
        }
    }
    text
}

fn asked(number: usize, one: &Question) -> String {
    let mut text = format!("## Question {number}\n\n");
    for (done, seen) in &one.seen {
        text.push_str(&format!("- {}: {}\n", markdown(done), markdown(seen)));
    }
    text.push_str(
        "\na) Which parts are still open to suspicion?\n\nb) Which test next, and why?\n\n",
    );
    text
}

fn answered(number: usize, one: &Question) -> String {
    let open: Vec<String> =
        one.open.iter().map(|(part, of)| format!("{} {}", markdown(part), share(*of))).collect();
    format!(
        "### {number}\n\na) {}.\n\nb) {}. {}\n\nHidden was: {}. {}.\n\n",
        open.join(", "),
        markdown(&one.next),
        markdown(&one.why),
        markdown(&one.fault),
        markdown(&one.fix)
    )
}
