//! The class record for a spreadsheet: a row a learner, or a row a drill.

use super::Class;
use crate::drill::record::Record;
use crate::problem::sanitise;
use crate::report::mark;

/// A row a learner.
pub fn write(class: &Class) -> String {
    let mut text = format!("{}\n", mark::CLASS_CSV);
    for one in &class.learners {
        let missed: Vec<String> = one
            .missed
            .iter()
            .map(|(kind, missed, met)| format!("{} {missed}/{met}", kind.id()))
            .collect();
        let numbers = [one.solved, one.confirmed, one.proven, one.harmless];
        let shares: Vec<String> = numbers.iter().map(|share| format!("{share:.3}")).collect();
        let pace = one.pace.map_or_else(String::new, |pace| format!("{pace:.3}"));
        text.push_str(&format!(
            "{},{},{},{:.1},{:.1},{:.1},{pace},{},{},{}\n",
            cell(&one.name),
            one.drills,
            shares.join(","),
            one.points,
            one.first_points,
            one.last_points,
            one.stopped,
            one.hints,
            cell(&missed.join(" "))
        ));
    }
    text
}

/// A row a drill.
pub fn drills(records: &[Record]) -> String {
    let mut text = format!("{}\n", mark::DRILLS_CSV);
    for one in records {
        let kinds: Vec<&str> = one.kinds.iter().map(|kind| kind.id()).collect();
        text.push_str(&format!(
            "{},{},{},{},{},{},{},{},{},{},{},{:.1},{:.1},{},{},{},{},{},{:.0}\n",
            cell(&one.learner),
            cell(&one.ended),
            cell(&one.circuit),
            one.level,
            one.seed,
            cell(&one.hidden.join(" ")),
            cell(&kinds.join(" ")),
            one.solved,
            one.confirmed,
            one.proven,
            one.gave_up,
            one.minutes,
            one.par_minutes,
            one.tests,
            one.stopped.len(),
            one.vain,
            one.misread,
            one.hints,
            one.points.all
        ));
    }
    text
}

/// A cell: quoted where it must be, and never a formula.
fn cell(text: &str) -> String {
    let text = sanitise(text);
    let text = if text.starts_with(['=', '+', '-', '@']) { format!("'{text}") } else { text };
    if text.contains([',', '"', ';']) { format!("\"{}\"", text.replace('"', "\"\"")) } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_name_is_a_formula_or_a_second_cell() {
        assert_eq!(cell("Ana"), "Ana");
        assert_eq!(cell("=1+1"), "'=1+1");
        assert_eq!(cell("a,\"b\""), "\"a,\"\"b\"\"\"");
        assert_eq!(cell("a\nb"), "a b");
    }
}
