//! How a file made by this program is told from any other, so that it may be made anew.

/// What made it: the value of `made_by` in JSON.
pub const MADE_BY: &str = concat!("halfsplit ", env!("CARGO_PKG_VERSION"));
/// First line of a tree's text.
pub const TREE_TEXT: &str = "Fault tree by halfsplit";
/// First line of a card's text.
pub const CARD_TEXT: &str = "Job card by halfsplit";
/// First words of a class record's text.
pub const CLASS_TEXT: &str = "Class record by halfsplit";
/// First line of a class record for a spreadsheet, a row a learner.
pub const CLASS_CSV: &str = "learner,drills,solved,confirmed,proven,no_harm,points,first_points,\
last_points,pace,stopped,hints,missed";
/// The same with a row a drill.
pub const DRILLS_CSV: &str = "learner,ended,circuit,level,seed,hidden,kinds,solved,confirmed,proven,\
gave_up,minutes,planner_minutes,looks,stopped,vain,misread,hints,points";
/// First line of a drawing's text.
pub const DRAWING_TEXT: &str = "Wiring drawing by halfsplit";
/// First line of Markdown.
pub const MARKDOWN: &str = "<!-- made by halfsplit -->\n";
/// First line of a page.
pub const PAGE: &str = "<!DOCTYPE html>\n<!-- made by halfsplit -->\n";
/// First lines of a drawing.
pub const DRAWING: &str =
    "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<!-- made by halfsplit -->\n";
/// First line of a manual page.
pub const MANUAL: &str = ".\\\" made by halfsplit\n";
/// First characters of JSON.
const JSON: &str = "{\"made_by\":\"halfsplit ";

/// First characters of the schema.
const SCHEMA: &str = "{\"$comment\":\"made by halfsplit\"";

/// Enough of a file's beginning for [`is_ours`].
pub const LONGEST: usize = 256;

/// Whether a file that begins so was made by this program.
pub fn is_ours(beginning: &[u8]) -> bool {
    let marks = [
        TREE_TEXT,
        CARD_TEXT,
        DRAWING_TEXT,
        CLASS_TEXT,
        CLASS_CSV,
        DRILLS_CSV,
        MARKDOWN,
        PAGE,
        DRAWING,
        MANUAL,
        JSON,
        SCHEMA,
    ];
    marks.iter().any(|mark| beginning.starts_with(mark.as_bytes()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_are_short_and_other_files_are_not_ours() {
        let texts = [TREE_TEXT, CARD_TEXT, DRAWING_TEXT, CLASS_TEXT, CLASS_CSV, DRILLS_CSV];
        for mark in texts.into_iter().chain([MARKDOWN, PAGE, DRAWING, MANUAL, JSON, SCHEMA]) {
            assert!(mark.len() <= LONGEST && is_ours(mark.as_bytes()));
        }
        assert!(!is_ours(b"format: 1\nname: halfsplit\n"));
        assert!(!is_ours(b""));
    }
}
