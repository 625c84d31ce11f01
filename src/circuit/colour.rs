//! Wire colours by IEC 60757: two capital letters a colour, `BU/WH` for blue with a white tracer.

/// Codes with their colours. IEC 60757 as transcribed by an open-source drawing tool; the source is
/// named in `tests/data/wire/colours.yaml`.
pub const CODES: &[(&str, &str)] = &[
    ("BK", "black"),
    ("BN", "brown"),
    ("RD", "red"),
    ("OG", "orange"),
    ("YE", "yellow"),
    ("GN", "green"),
    ("BU", "blue"),
    ("VT", "violet"),
    ("GY", "grey"),
    ("WH", "white"),
    ("PK", "pink"),
    ("TQ", "turquoise"),
    ("GD", "gold"),
    ("SR", "silver"),
];

/// Names and short forms people use instead, with the code they mean (common practice, no source); from SW on
/// those of DIN 47002, by the same source.
const HABITS: &[(&str, &str)] = &[
    ("gray", "GY"),
    ("purple", "VT"),
    ("B", "BK"),
    ("BL", "BU"),
    ("BR", "BN"),
    ("R", "RD"),
    ("O", "OG"),
    ("OR", "OG"),
    ("Y", "YE"),
    ("G", "GN"),
    ("GR", "GN"),
    ("V", "VT"),
    ("W", "WH"),
    ("P", "PK"),
    ("SW", "BK"),
    ("RT", "RD"),
    ("GE", "YE"),
    ("VI", "VT"),
    ("WS", "WH"),
    ("RS", "PK"),
];

/// Reads `BU`, `BU/WH` or `GNYE`; the result is written with `/`. On failure the piece that is no
/// code, and the code it may mean.
pub fn read(text: &str) -> Result<String, (String, Option<&'static str>)> {
    let mut codes = Vec::new();
    for piece in pieces(text.trim()) {
        let Some((code, _)) = CODES.iter().find(|(code, _)| code.eq_ignore_ascii_case(&piece))
        else {
            let meant = meant(&piece);
            return Err((piece, meant));
        };
        codes.push(*code);
    }
    if codes.is_empty() { Err((text.to_owned(), None)) } else { Ok(codes.join("/")) }
}

/// The colour in words: `blue with white`; the text itself when it is no code.
pub fn words(code: &str) -> String {
    let name = |piece: &str| {
        CODES
            .iter()
            .find(|(code, _)| *code == piece)
            .map_or(piece.to_owned(), |(_, name)| (*name).to_owned())
    };
    code.split('/').map(name).collect::<Vec<_>>().join(" with ")
}

fn pieces(text: &str) -> Vec<String> {
    if text.contains(['/', '-']) {
        return text.split(['/', '-']).map(|piece| piece.trim().to_owned()).collect();
    }
    let letters: Vec<char> = text.chars().collect();
    let pairs: Vec<String> = letters.chunks(2).map(|pair| pair.iter().collect()).collect();
    let all_known =
        pairs.iter().all(|pair| CODES.iter().any(|(code, _)| code.eq_ignore_ascii_case(pair)));
    if all_known { pairs } else { vec![text.to_owned()] }
}

fn meant(piece: &str) -> Option<&'static str> {
    let by_name =
        CODES.iter().find(|(_, name)| name.eq_ignore_ascii_case(piece)).map(|(code, _)| *code);
    by_name.or_else(|| {
        HABITS.iter().find(|(habit, _)| habit.eq_ignore_ascii_case(piece)).map(|(_, code)| *code)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, expected: Result<&str, Option<&str>>) {
        assert_eq!(read(text).as_deref().map_err(|(_, meant)| *meant), expected);
    }

    #[test]
    fn codes_are_read_and_names_are_questioned() {
        check("BU/WH", Ok("BU/WH"));
        check("bu-wh", Ok("BU/WH"));
        check("GNYE", Ok("GN/YE"));
        check("blue", Err(Some("BU")));
        check("BL", Err(Some("BU")));
        check("XX", Err(None));
        check("BU/", Err(None));
        assert_eq!(words("BU/WH"), "blue with white");
    }
}
