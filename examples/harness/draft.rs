//! The text of a circuit file as it grows, and how many parts are in it.

use std::collections::BTreeMap;
use std::fmt::Write;

/// A wire's colour, size and length.
#[derive(Debug, Clone)]
pub struct Lead {
    /// Code by IEC 60757, two with a slash between.
    pub colour: String,
    /// Copper.
    pub area_mm2: f64,
    /// From end to end.
    pub length_metres: f64,
}

/// The sections of a circuit file.
#[derive(Debug, Clone, Default)]
pub struct Draft {
    controls: String,
    /// With the minutes to get there.
    places: Vec<(String, f64)>,
    parts: String,
    wires: String,
    works: String,
    /// Place and number of pins of each.
    connectors: Vec<(String, usize)>,
    /// Last number of each letter.
    numbers: BTreeMap<&'static str, usize>,
    count: usize,
}

impl Draft {
    /// Parts, pins of connectors and wires so far: what the program counts as parts.
    pub fn count(&self) -> usize {
        self.count
    }

    /// A control that rests in the first of its positions.
    pub fn control(&mut self, name: &str, positions: &str) {
        writeln!(self.controls, "  {name}: [{positions}]").expect("a string takes any text");
    }

    /// A place and the minutes to get there.
    pub fn place(&mut self, name: &str, minutes: f64) {
        self.places.push((name.to_owned(), minutes));
    }

    /// A part called after its letter and the next number; `rest` is its kind and keys.
    pub fn part(&mut self, letter: &'static str, rest: &str, place: &str) -> String {
        let number = self.numbers.entry(letter).or_default();
        *number += 1;
        let name = format!("{letter}{number}");
        writeln!(self.parts, "  {name}: {{ kind: {rest}, at: {place} }}")
            .expect("a string takes any text");
        self.count += 1;
        name
    }

    /// A connector without pins yet.
    pub fn connector(&mut self, place: &str) -> usize {
        self.connectors.push((place.to_owned(), 0));
        self.connectors.len() - 1
    }

    /// A further pin of a connector, by the terminals of its halves.
    pub fn pin(&mut self, connector: usize) -> [String; 2] {
        let (_, pins) = &mut self.connectors[connector];
        *pins += 1;
        self.count += 1;
        let name = connector + 1;
        [format!("X{name}.{pins} plug"), format!("X{name}.{pins} socket")]
    }

    /// Pins that a connector has.
    pub fn pins(&self, connector: usize) -> usize {
        self.connectors[connector].1
    }

    /// A wire; what is usual is left out.
    pub fn wire(&mut self, from: &str, to: &str, lead: &Lead) {
        let Lead { colour, area_mm2, length_metres } = lead;
        let wire = format!("  - {{ from: {from}, to: {to}, colour: {colour}");
        self.wires.push_str(&wire);
        if (area_mm2 - 0.75).abs() > 1e-9 {
            write!(self.wires, ", size: {area_mm2} mm2").expect("a string takes any text");
        }
        if (length_metres - 1.0).abs() > 1e-9 {
            write!(self.wires, ", length: {length_metres} m").expect("a string takes any text");
        }
        self.wires.push_str(" }\n");
        self.count += 1;
    }

    /// Something that the machine does.
    pub fn work(&mut self, name: &str, when: &str, see: &[String]) {
        let see = see.join(", ");
        writeln!(self.works, "  {name}: {{ when: {{ {when} }}, see: [{see}] }}")
            .expect("a string takes any text");
    }

    /// The places at which there is something.
    fn used_places(&self) -> String {
        let used = |place: &str| {
            self.parts.contains(&format!("at: {place} }}"))
                || self.connectors.iter().any(|(at, _)| at == place)
        };
        let mut text = String::new();
        for (place, minutes) in self.places.iter().filter(|(place, _)| used(place)) {
            writeln!(text, "  {place}: {minutes} min").expect("a string takes any text");
        }
        text
    }

    /// The whole file.
    pub fn text(&self, name: &str) -> String {
        let mut connectors = String::new();
        for (index, (place, pins)) in self.connectors.iter().enumerate() {
            let pins: Vec<String> = (1..=*pins).map(|pin| pin.to_string()).collect();
            let (number, pins) = (index + 1, pins.join(", "));
            writeln!(connectors, "  X{number}: {{ at: {place}, pins: [{pins}] }}")
                .expect("a string takes any text");
        }
        format!(
            "format: 1\nname: {name}\nmachine: Invented for measurements\nsystem: 12 V\n\
             controls:\n{}places:\n{}parts:\n{}connectors:\n{connectors}wires:\n{}works:\n{}",
            self.controls,
            self.used_places(),
            self.parts,
            self.wires,
            self.works
        )
    }
}
