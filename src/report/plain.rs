//! Text from circuit and job files, made harmless for each format.

use serde::Serialize;
use unicode_width::UnicodeWidthStr;

use crate::problem::sanitise;

/// All of a list, sanitised.
pub fn clean(lines: impl IntoIterator<Item = String>) -> Vec<String> {
    lines.into_iter().map(|line| sanitise(&line)).collect()
}

/// Text for Markdown: nothing in it is taken for markup.
///
/// Every punctuation mark that can begin or close markup gets a backslash, as `CommonMark` allows; `<` and
/// `&` become entities, so that no reader takes them for HTML; addresses are broken, so that none becomes
/// a link by itself.
pub fn markdown(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for letter in sanitise(text).chars() {
        match letter {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '\\' | '`' | '*' | '_' | '[' | ']' | '#' | '|' | '~' | '@' => {
                safe.push('\\');
                safe.push(letter);
            }
            _ => safe.push(letter),
        }
    }
    begin_no_list(&safe.replace("://", "&#58;//").replace("www.", "www&#46;"))
}

/// A dash, plus or number with its dot at the start of a line would begin a list.
fn begin_no_list(text: &str) -> String {
    if text.starts_with(['-', '+', '=']) {
        return format!("\\{text}");
    }
    let digits = text.bytes().take_while(u8::is_ascii_digit).count();
    let (number, rest) = text.split_at(digits);
    let begins =
        rest.starts_with(['.', ')']) && matches!(rest.as_bytes().get(1), None | Some(b' '));
    if digits > 0 && begins { format!("{number}\\{rest}") } else { text.to_owned() }
}

/// JSON in one line, in which characters that show nothing or turn the direction of writing stand as
/// `\uXXXX`: a terminal that shows it is not fooled, and a program reads the same text.
pub fn json(value: &impl Serialize) -> String {
    // Our values have text for keys and plain numbers, so this cannot fail.
    let text = serde_json::to_string(value).unwrap_or_default();
    let mut safe = String::with_capacity(text.len());
    for letter in text.chars() {
        if letter == ' ' || !sanitise(letter.encode_utf8(&mut [0; 4])).trim().is_empty() {
            safe.push(letter);
        } else {
            let mut units = [0; 2];
            for unit in letter.encode_utf16(&mut units) {
                safe.push_str(&format!("\\u{unit:04x}"));
            }
        }
    }
    safe
}

/// Words in lines of at most `width` cells; the first begins with `first`, those after it with `rest`.
pub fn filled(words: &str, width: usize, first: &str, rest: &str) -> String {
    let mut text = String::new();
    let mut line = first.to_owned();
    let mut empty = true;
    for word in tied(&sanitise(words)).split(' ') {
        if !empty && line.width() + 1 + word.width() > width {
            text.push_str(line.trim_end());
            text.push('\n');
            rest.clone_into(&mut line);
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(word);
        empty = false;
    }
    text.push_str(line.trim_end());
    text.push('\n');
    text.replace(TIE, " ")
}

/// A share as people read it: `38 %`, `0.4 %`, `under 0.1 %`.
pub fn share(probability: f64) -> String {
    let percent = probability * 100.0;
    if percent >= 9.95 || (percent - percent.round()).abs() < 0.05 && percent > 0.5 {
        format!("{percent:.0} %")
    } else if percent >= 0.1 {
        format!("{percent:.1} %")
    } else {
        "under 0.1 %".to_owned()
    }
}

/// So many of a thing: `1 drill`, `2 drills`.
pub fn count(count: usize, thing: &str) -> String {
    let s = if count == 1 { "" } else { "s" };
    format!("{count} {thing}{s}")
}

/// Minutes as people read them: `9.5 min`, `48 min`.
pub fn minutes(minutes: f64) -> String {
    format!("{} min", crate::job::words::show(minutes))
}

/// A blank at which no line breaks.
pub const TIE: char = '\u{a0}';

/// Ties units to their numbers, so that no line begins with one.
pub fn tied(words: &str) -> String {
    let mut tied = words.to_owned();
    for unit in [" %", " min", " V", " ohm"] {
        tied = tied.replace(unit, &unit.replace(' ', &TIE.to_string()));
    }
    tied
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, expected: &str) {
        assert_eq!(markdown(text), expected);
    }

    #[test]
    fn markdown_shows_what_stands_there() {
        check("start button", "start button");
        check("<script>", "&lt;script&gt;");
        check("[x](y)", "\\[x\\](y)");
        check("a|b*c", "a\\|b\\*c");
        check("12. x", "12\\. x");
        check("7) x", "7\\) x");
        check("12.1 V", "12.1 V");
        check("- x", "\\- x");
        check("\u{202e}x\u{1b}", "x");
        check("http://x", "http&#58;//x");
    }

    #[test]
    fn json_hides_nothing_and_keeps_its_meaning() {
        let value = serde_json::json!({ "a": "x\u{202e}y\u{9b}z\u{1f600}\u{e0041} é\n" });
        let text = json(&value);
        assert!(text.contains("x\\u202ey\\u009bz\u{1f600}\\udb40\\udc41 é\\n"), "{text}");
        assert_eq!(serde_json::from_str::<serde_json::Value>(&text).unwrap(), value);
    }

    #[test]
    fn shares_read_well() {
        assert_eq!(share(0.384), "38 %");
        assert_eq!(share(0.0301), "3 %");
        assert_eq!(share(0.0042), "0.4 %");
        assert_eq!(share(0.0001), "under 0.1 %");
    }
}
