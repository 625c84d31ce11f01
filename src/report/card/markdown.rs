//! The card as Markdown.

use super::{JobCard, Row, RowKind};
use crate::job::words::show;
use crate::report::mark;
use crate::report::plain::{count, markdown, minutes, share};

/// The whole card.
pub fn write(card: &JobCard) -> String {
    let mut text = mark::MARKDOWN.to_owned();
    text.push_str(&format!("# Job card: {}\n\n", markdown(&card.circuit)));
    let facts = [
        ("Machine", card.machine.clone()),
        ("What fails", card.complaint.clone()),
        ("Begun", card.started.clone()),
        ("At hand", card.kit.join(", ")),
        ("Reckoned", format!("{}, {}", minutes(card.minutes), count(card.tests, "reading"))),
    ];
    for (word, fact) in facts {
        text.push_str(&format!("- {word}: {}\n", markdown(&fact)));
    }
    verdict(&mut text, card);
    if !card.rows.is_empty() {
        text.push_str("\n## What was done\n\n");
        text.push_str("| # | what | with | seen | a sound circuit | min |\n");
        text.push_str("| ---: | --- | --- | --- | --- | ---: |\n");
        for one in &card.rows {
            text.push_str(&row(one));
        }
    }
    if let Some(line) = &card.surprise {
        text.push_str(&format!("\n> {}\n", markdown(line)));
    }
    list(&mut text, "Heeded on the way", &card.cautions);
    for path in &card.paths {
        let part = |name: &str, bad: bool| {
            if bad { format!("**{} (the fault)**", markdown(name)) } else { markdown(name) }
        };
        let parts: Vec<String> = path.parts.iter().map(|one| part(&one.name, one.bad)).collect();
        let name = markdown(&path.name);
        text.push_str(&format!("\n## Current through the {name}\n\n{}\n", parts.join(" &rarr; ")));
    }
    text
}

fn verdict(text: &mut String, card: &JobCard) {
    let verdict = &card.verdict;
    text.push_str(&format!("\n## {}\n\n", markdown(&verdict.title)));
    let word = if verdict.proven { "Fault" } else { "Suspect" };
    for fault in &verdict.faults {
        let (part, what) = (markdown(&fault.part), markdown(&fault.fault));
        text.push_str(&format!("- **{word}:** {part}: {what} ({})\n", share(fault.probability)));
    }
    if let Some(repair) = &verdict.repair {
        text.push_str(&format!("- **Repair:** {}\n", markdown(repair)));
    }
    if !verdict.parts.is_empty() {
        text.push_str(&format!("- **Parts:** {}\n", markdown(&verdict.parts.join("; "))));
    }
    if !verdict.proof.is_empty() {
        text.push_str(&format!("- **Proof:** {}\n", markdown(&verdict.proof.join(" "))));
    }
    list(text, "To put back before it is handed over", &verdict.put_back);
}

fn list(text: &mut String, title: &str, lines: &[String]) {
    if lines.is_empty() {
        return;
    }
    text.push_str(&format!("\n### {title}\n\n"));
    for line in lines {
        text.push_str(&format!("- {}\n", markdown(line)));
    }
}

fn row(row: &Row) -> String {
    let seen = markdown(&row.seen);
    let seen = match (row.kind, row.differs) {
        (RowKind::Reading, true) => format!("**{seen}** (differs)"),
        _ => seen,
    };
    let costs = if row.minutes > 0.0 { show(row.minutes) } else { String::new() };
    format!(
        "| {} | {} | {} | {seen} | {} | {costs} |\n",
        row.number,
        markdown(&row.what),
        markdown(&row.setup),
        markdown(&row.sound)
    )
}
