//! Wire colours as they are painted.

/// Our own values for the codes of IEC 60757, chosen to be told apart on white paper and on a screen.
const PAINT: [(&str, &str); 14] = [
    ("BK", "#1b1b1b"),
    ("BN", "#7a4a21"),
    ("RD", "#d2232a"),
    ("OG", "#f28c1c"),
    ("YE", "#f5d90a"),
    ("GN", "#1f9346"),
    ("BU", "#1f5fc4"),
    ("VT", "#7d3ba5"),
    ("GY", "#8c9299"),
    ("WH", "#ffffff"),
    ("PK", "#f29bb8"),
    ("TQ", "#1fb8b0"),
    ("GD", "#c69c3f"),
    ("SR", "#c3c8cc"),
];

/// Lines that belong to no wire, or to wires of several colours.
pub const PLAIN: &str = "#4a5560";

/// The main colour and the tracer's of a code such as `BU/WH`; without a code the plain one.
pub fn paints(code: &str) -> (&'static str, Option<&'static str>) {
    let mut pieces = code.split('/').map(|piece| {
        PAINT.iter().find(|(code, _)| *code == piece).map_or(PLAIN, |(_, paint)| *paint)
    });
    (pieces.next().unwrap_or(PLAIN), pieces.next())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::colour::CODES;

    #[test]
    fn each_code_has_a_paint_of_its_own() {
        let mut paints: Vec<&str> = CODES.iter().map(|(code, _)| paints(code).0).collect();
        assert!(!paints.contains(&PLAIN));
        paints.sort_unstable();
        paints.dedup();
        assert_eq!(paints.len(), CODES.len());
        assert_eq!(super::paints("BU/WH"), ("#1f5fc4", Some("#ffffff")));
        assert_eq!(super::paints(""), (PLAIN, None));
    }
}
