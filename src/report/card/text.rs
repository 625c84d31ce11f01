//! The card as lines for a terminal.

use super::{JobCard, Path, Row, RowKind, Verdict};
use crate::job::words::show;
use crate::problem::sanitise;
use crate::report::mark;
use crate::report::plain::{count, minutes, share};

/// The whole card.
pub fn write(card: &JobCard) -> String {
    let mut lines = vec![
        format!("{}, {}", mark::CARD_TEXT, env!("CARGO_PKG_VERSION")),
        String::new(),
        format!("Machine:    {}", card.machine),
        format!("Circuit:    {}", card.circuit),
        format!("What fails: {}", card.complaint),
        format!("Begun:      {}", card.started),
        format!("At hand:    {}", card.kit.join(", ")),
        format!("Reckoned:   {}, {}", minutes(card.minutes), count(card.tests, "reading")),
        String::new(),
    ];
    lines.extend(verdict(&card.verdict));
    if !card.rows.is_empty() {
        lines.push(String::new());
        lines.push("What was done:".to_owned());
        lines.extend(card.rows.iter().flat_map(row));
    }
    lines.extend(card.surprise.iter().map(|line| format!("\n{line}")));
    if !card.cautions.is_empty() {
        lines.push("\nHeeded on the way:".to_owned());
        lines.extend(card.cautions.iter().map(|line| format!("  ! {line}")));
    }
    lines.extend(card.paths.iter().map(path));
    let lines: Vec<String> = lines.iter().flat_map(|line| line.split('\n')).map(clean).collect();
    lines.join("\n") + "\n"
}

fn clean(line: &str) -> String {
    sanitise(line).trim_end().to_owned()
}

fn verdict(verdict: &Verdict) -> Vec<String> {
    let mut lines = vec![verdict.title.clone()];
    for fault in &verdict.faults {
        let chance = share(fault.probability);
        let word = if verdict.proven { "Fault:  " } else { "Suspect:" };
        lines.push(format!("  {word} {}: {} ({chance})", fault.part, fault.fault));
    }
    lines.extend(verdict.repair.iter().map(|repair| format!("  Repair:  {repair}")));
    if !verdict.parts.is_empty() {
        lines.push(format!("  Parts:   {}", verdict.parts.join("; ")));
    }
    if !verdict.proof.is_empty() {
        lines.push(format!("  Proof:   {}", verdict.proof.join(" ")));
    }
    if !verdict.put_back.is_empty() {
        lines.push("  To put back before it is handed over:".to_owned());
        lines.extend(verdict.put_back.iter().map(|line| format!("    - {line}")));
    }
    lines
}

fn row(row: &Row) -> Vec<String> {
    let mut lines = vec![format!("{:>3}. {}", row.number, row.what)];
    if !row.setup.is_empty() {
        lines.push(format!("       with {}", row.setup));
    }
    let costs =
        if row.minutes > 0.0 { format!(" ({} min)", show(row.minutes)) } else { String::new() };
    lines.push(match row.kind {
        RowKind::Reading if row.differs => {
            format!("       {}; a sound circuit: {}{costs}", row.seen, row.sound)
        }
        RowKind::Reading => {
            format!("       {}, as a sound circuit ({}){costs}", row.seen, row.sound)
        }
        _ => format!("       {}{costs}", row.seen),
    });
    lines
}

fn path(path: &Path) -> String {
    let part = |name: &str, bad: bool| if bad { format!("[X {name} X]") } else { name.to_owned() };
    let parts: Vec<String> = path.parts.iter().map(|one| part(&one.name, one.bad)).collect();
    format!("\nCurrent through the {}, from the supply:\n  {}", path.name, parts.join(" > "))
}
