//! The sheet as Markdown.

use super::Sheet;
use crate::report::mark;
use crate::report::plain::markdown;

/// The whole sheet.
pub fn write(sheet: &Sheet) -> String {
    let mut text = mark::MARKDOWN.to_owned();
    text.push_str(&format!("# Expected readings: {}\n\n", markdown(&sheet.circuit)));
    text.push_str(&format!(
        "{}. What should work: **{}**. At hand: {}.\n\nWhat a sound circuit shows; of numbers, 95 readings of a \
         hundred lie between the two.\n",
        markdown(&sheet.machine),
        markdown(&sheet.complaint),
        markdown(&sheet.kit.join(", "))
    ));
    for note in &sheet.notes {
        text.push_str(&format!("\n> {}\n", markdown(note)));
    }
    for setup in &sheet.setups {
        text.push_str(&format!("\n## {}\n\n", markdown(&setup.words)));
        for line in &setup.cautions {
            text.push_str(&format!("**CARE** {}\n\n", markdown(line)));
        }
        text.push_str("| where | point | wires | tester | a sound circuit | published | yours |\n");
        text.push_str("| --- | --- | --- | --- | --- | --- | --- |\n");
        for point in &setup.points {
            for (at, reading) in point.readings.iter().enumerate() {
                let first = |words: &str| if at == 0 { markdown(words) } else { String::new() };
                text.push_str(&format!(
                    "| {} | {} | {} | {} | {} | {} | |\n",
                    first(&point.place),
                    first(&point.name),
                    first(&point.colours),
                    markdown(&reading.tester),
                    markdown(&reading.sound),
                    markdown(reading.published.as_deref().unwrap_or_default())
                ));
            }
        }
    }
    if sheet.left_out > 0 {
        text.push_str(&format!(
            "\n{} points that tell little of what to mend are left out; `expect --all` has them.\n",
            sheet.left_out
        ));
    }
    text
}
