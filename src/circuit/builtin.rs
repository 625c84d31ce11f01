//! The circuits inside the binary: invented machines to practise on and to start a file from.

/// Name and text of each.
const CIRCUITS: &[(&str, &str)] = &[
    ("start-button", include_str!("../../circuits/start-button.yaml")),
    ("start-interlock", include_str!("../../circuits/start-interlock.yaml")),
    ("horn-relay", include_str!("../../circuits/horn-relay.yaml")),
    ("trailer-lamps", include_str!("../../circuits/trailer-lamps.yaml")),
];

/// Their names, in the order they are listed.
pub fn names() -> Vec<&'static str> {
    CIRCUITS.iter().map(|(name, _)| *name).collect()
}

/// The text of one.
pub fn text(name: &str) -> Option<&'static str> {
    CIRCUITS.iter().find(|(known, _)| *known == name).map(|(_, text)| *text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::read::read_text;

    #[test]
    fn all_load_without_a_problem() {
        for name in names() {
            let (circuit, problems) = read_text(name, text(name).unwrap());
            assert_eq!(problems, [], "{name}");
            assert_eq!(circuit.unwrap().id, name);
        }
    }
}
