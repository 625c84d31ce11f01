//! The class record for a terminal.

use super::{Class, missed_words};
use crate::report::mark;
use crate::report::plain::{count, filled};

/// Lines are filled up to here.
const WIDTH: usize = 78;

/// The whole record.
pub fn write(class: &Class) -> String {
    let mut text = format!("{}: {}\n\n", mark::CLASS_TEXT, count(class.drills, "drill"));
    text.push_str("  learner               drills  solved  confirm  proven  no harm  points\n");
    for one in &class.learners {
        let percent = |share: f64| format!("{:.0} %", share * 100.0);
        let name: String = one.name.chars().take(20).collect();
        text.push_str(&format!(
            "  {name:<20}  {:>6}  {:>6}  {:>7}  {:>6}  {:>7}  {:>6.0}\n",
            one.drills,
            percent(one.solved),
            percent(one.confirmed),
            percent(one.proven),
            percent(one.harmless),
            one.points
        ));
    }
    text.push('\n');
    for one in &class.learners {
        let pace = one.pace.map_or_else(String::new, |pace| {
            format!(" Pace: the planner needs {:.0} % of the minutes.", pace * 100.0)
        });
        let course = if one.drills > 1 {
            format!("from {:.0} to {:.0} points", one.first_points, one.last_points)
        } else {
            format!("{:.0} points", one.points)
        };
        let words = format!(
            "{}: {course}. Missed: {}. {} stopped, {}.{pace}",
            one.name,
            missed_words(one),
            one.stopped,
            count(one.hints, "hint")
        );
        text.push_str(&filled(&words, WIDTH, "  ", "    "));
    }
    text.push_str("\n  kind of fault          drills  solved  points  missed by\n");
    for row in &class.kinds {
        let by =
            if row.missed_by.is_empty() { "nobody".to_owned() } else { row.missed_by.join(", ") };
        let head = format!(
            "  {:<21}  {:>6}  {:>4.0} %  {:>6.0}  ",
            row.kind.words(),
            row.drills,
            row.solved * 100.0,
            row.points
        );
        text.push_str(&filled(&by, WIDTH, &head, &" ".repeat(head.len())));
    }
    text
}
