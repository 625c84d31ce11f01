//! The circuits inside the binary: invented machines to practise on and to start a file from.

/// A few circuits under one heading.
#[derive(Debug, Clone, Copy)]
pub struct Group {
    /// What they have in common.
    pub heading: &'static str,
    /// Name and text of each.
    pub circuits: &'static [(&'static str, &'static str)],
}

/// A name and the file of that name.
macro_rules! circuit {
    ($name:literal) => {
        ($name, include_str!(concat!("../../circuits/", $name, ".yaml")))
    };
}

/// All of them, in the order they are listed.
pub const GROUPS: &[Group] = &[
    Group {
        heading: "Starting",
        circuits: &[
            circuit!("start-button"),
            circuit!("start-interlock"),
            circuit!("start-car"),
            circuit!("start-lorry-24"),
        ],
    },
    Group {
        heading: "Lamps and horns",
        circuits: &[
            circuit!("horn-relay"),
            circuit!("brake-lamps"),
            circuit!("turn-signals"),
            circuit!("headlamp"),
            circuit!("tail-plate"),
            circuit!("trailer-lamps"),
        ],
    },
    Group {
        heading: "Ignition, fuel, charging",
        circuits: &[
            circuit!("ignition-points"),
            circuit!("glow-plugs"),
            circuit!("fuel-pump"),
            circuit!("fuel-gauge"),
            circuit!("charging-magnet"),
            circuit!("charging-car"),
            circuit!("battery-drain"),
        ],
    },
    Group {
        heading: "Fans, wipers, pumps",
        circuits: &[circuit!("cooling-fan"), circuit!("wiper"), circuit!("bilge-pump")],
    },
];

fn all() -> impl Iterator<Item = &'static (&'static str, &'static str)> {
    GROUPS.iter().flat_map(|group| group.circuits)
}

/// Their names, in the order they are listed.
pub fn names() -> Vec<&'static str> {
    all().map(|(name, _)| *name).collect()
}

/// The text of one.
pub fn text(name: &str) -> Option<&'static str> {
    all().find(|(known, _)| *known == name).map(|(_, text)| *text)
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

    #[test]
    fn every_file_of_the_folder_is_listed() {
        let files = std::fs::read_dir("circuits").unwrap().map(|entry| entry.unwrap().path());
        let circuits = files.filter(|path| path.extension().is_some_and(|end| end == "yaml"));
        let mut found: Vec<String> =
            circuits.map(|path| path.file_stem().unwrap().to_str().unwrap().to_owned()).collect();
        found.sort();
        let mut known = names();
        known.sort_unstable();
        assert_eq!(found, known);
    }
}
