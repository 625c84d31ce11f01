//! Names: their short form without blanks, and the one that was probably meant.

use std::fmt::Write;

/// `name` as an id: lower case, ASCII letters and digits with single `-` between words; never empty
/// for a name that has a visible character. The same name always gives the same id.
///
/// Letters with marks lose them, `+` and a lone `-` become words; any other letter stands as its number.
pub fn slug(name: &str) -> String {
    match name.trim() {
        "+" => return "plus".to_owned(),
        "-" => return "minus".to_owned(),
        _ => {}
    }
    let mut id = String::new();
    for c in name.chars().flat_map(char::to_lowercase) {
        match c {
            'a'..='z' | '0'..='9' => id.push(c),
            '+' => id.push_str("-plus"),
            c if c.is_alphanumeric() => match plain(c) {
                Some(letters) => id.push_str(letters),
                // Writing to a string cannot fail.
                None => drop(write!(id, "u{:x}", u32::from(c))),
            },
            _ if id.ends_with('-') => {}
            _ => id.push('-'),
        }
    }
    id.trim_matches('-').to_owned()
}

/// ASCII letters for the marked letters of western languages.
fn plain(c: char) -> Option<&'static str> {
    Some(match c {
        'à'..='ã' | 'å' | 'ā' | 'ă' | 'ą' => "a",
        'ä' | 'æ' => "ae",
        'ç' | 'ć' | 'č' => "c",
        'ď' | 'đ' => "d",
        'è'..='ë' | 'ē' | 'ę' | 'ě' => "e",
        'ğ' => "g",
        'ì'..='ï' | 'ī' | 'ı' => "i",
        'ł' => "l",
        'ñ' | 'ń' | 'ň' => "n",
        'ò'..='õ' | 'ō' | 'ő' => "o",
        'ö' | 'ø' | 'œ' => "oe",
        'ř' => "r",
        'ś' | 'š' | 'ş' => "s",
        'ß' => "ss",
        'ť' | 'ţ' => "t",
        'ù'..='û' | 'ū' | 'ů' | 'ű' | 'µ' | 'μ' => "u",
        'ü' => "ue",
        'ý' | 'ÿ' => "y",
        'ź' | 'ż' | 'ž' => "z",
        'ω' => "ohm",
        _ => return None,
    })
}

/// More are not compared, so that no file takes long.
const MOST_CANDIDATES: usize = 2000;

/// How many letters have to change, come, go or swap with their neighbour to make one word of the other;
/// `None` when it is more than `most`, which costs nothing where the words are of lengths too different.
pub fn letters_apart(one: &str, other: &str, most: usize) -> Option<usize> {
    let (own, others) = (one.chars().count(), other.chars().count());
    let near = || strsim::damerau_levenshtein(one, other);
    (own.abs_diff(others) <= most).then(near).filter(|distance| *distance <= most)
}

/// The candidate most like `written`, if one is near enough to have been meant.
pub fn nearest<'a>(
    written: &str,
    candidates: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    let written = written.to_lowercase();
    // Of one or two letters every other short name is one letter away: only capitals may differ.
    let allowed = written.chars().count() / 3;
    candidates
        .into_iter()
        .take(MOST_CANDIDATES)
        .filter_map(|candidate| {
            let lower = candidate.to_lowercase();
            let starts = written.len() >= 3
                && (lower.starts_with(&written) || written.starts_with(&lower) && lower.len() >= 3);
            let distance = if starts {
                Some(usize::from(lower != written)).filter(|distance| *distance <= allowed)
            } else {
                letters_apart(&lower, &written, allowed)
            };
            distance.map(|distance| (distance, candidate))
        })
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}

/// Words in backquotes with `or` before the last: "`a`, `b` or `c`".
pub fn either<'a>(words: impl IntoIterator<Item = &'a str>) -> String {
    listed(words, "or")
}

/// Words in backquotes with `and` before the last.
pub fn all_of<'a>(words: impl IntoIterator<Item = &'a str>) -> String {
    listed(words, "and")
}

fn listed<'a>(words: impl IntoIterator<Item = &'a str>, last: &str) -> String {
    let words: Vec<String> = words.into_iter().map(|word| format!("`{word}`")).collect();
    match words.split_last() {
        None => String::new(),
        Some((only, [])) => only.clone(),
        Some((end, rest)) => format!("{} {last} {end}", rest.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(name: &str, expected: &str) {
        assert_eq!(slug(name), expected);
    }

    #[test]
    fn ids_need_no_quoting() {
        check("start button", "start-button");
        check("C2", "c2");
        check("+", "plus");
        check("-", "minus");
        check("B+", "b-plus");
        check("Zündschloß (vorn)", "zuendschloss-vorn");
        check("  a  --  b ", "a-b");
        check("ключ", "u43au43bu44eu447");
        check("!?", "");
    }

    #[test]
    fn the_nearest_name_is_found_and_nonsense_is_not() {
        let names = ["solenoid", "starter", "start button", "lamp"];
        assert_eq!(nearest("solenod", names), Some("solenoid"));
        assert_eq!(nearest("Lmap", names), Some("lamp"));
        assert_eq!(nearest("start", names), Some("starter"));
        assert_eq!(nearest("gearbox", names), None);
    }
}
