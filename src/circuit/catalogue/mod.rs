//! The kinds of part a circuit file knows: one file a family.
//!
//! An [`Entry`] tells the word for a kind, the keys it has beside the common ones, and how to build
//! it. What is built is a [`Blueprint`]: terminals by name and links between them, for `read` to
//! put into the graph. Every default has its source or says that it has none.

#![expect(clippy::unnecessary_wraps, reason = "the signature of every entry's build function")]

pub mod ampacity;
pub mod control_box;
pub mod faults;
pub mod joints;
pub mod loads;
pub mod sensing;
pub mod supply;
pub mod switches;
pub mod switching;
pub mod wiring;

use super::fields::{Fields, Range};
use super::{Control, Element, Kind};
use crate::problem::Problem;

/// A kind of part.
pub struct Entry {
    /// As written behind `kind:`.
    pub word: &'static str,
    /// What it is, in one line, with its terminals.
    pub about: &'static str,
    /// Its keys beside [`COMMON_KEYS`].
    pub keys: &'static [Key],
    /// Builds it; `None` when its file entry has problems that leave nothing to build.
    pub build: fn(&mut Given<'_, '_>) -> Option<Blueprint>,
}

/// A key of a kind.
pub struct Key {
    /// As written.
    pub name: &'static str,
    /// Unit and range for numbers.
    pub range: Option<Range>,
    /// What it means and what it is when left out.
    pub about: &'static str,
}

/// Keys that every part has.
pub const COMMON_KEYS: &[&str] = &[
    "kind", "at", "open_up", "reach", "sealed", "trouble", "faults", "fix", "fix_note", "stamped",
    "note",
];

/// All kinds, in the order of `circuits/README.md`.
pub const ENTRIES: &[&Entry] = &[
    &supply::BATTERY,
    &supply::CHARGING_SOURCE,
    &supply::FUSE,
    &supply::FUSIBLE_LINK,
    &supply::BREAKER,
    &switches::SWITCH,
    &switches::PRESSURE_SWITCH,
    &switches::THERMO_SWITCH,
    &switches::REED_SWITCH,
    &switches::INHIBITOR_SWITCH,
    &switches::NEUTRAL_SWITCH,
    &switches::CLUTCH_SWITCH,
    &switching::RELAY,
    &switching::SOLENOID,
    &switching::FLASHER,
    &loads::STARTER_MOTOR,
    &loads::MOTOR,
    &loads::LAMP,
    &loads::LED,
    &loads::HORN,
    &loads::HEATER,
    &loads::COIL,
    &loads::LOAD,
    &sensing::GAUGE,
    &sensing::SENDER,
    &loads::RESISTOR,
    &loads::DIODE,
    &loads::ZENER,
    &control_box::BOX,
    &joints::STRAP,
    &joints::SPLICE,
    &joints::GROUND_POINT,
];

/// The entry for a word, whatever its case.
pub fn entry(word: &str) -> Option<&'static Entry> {
    ENTRIES.iter().copied().find(|entry| entry.word.eq_ignore_ascii_case(word))
}

const fn number(name: &'static str, range: Range, about: &'static str) -> Key {
    Key { name, range: Some(range), about }
}

const fn words(name: &'static str, about: &'static str) -> Key {
    Key { name, range: None, about }
}

/// The terminal of a part that is grounded through its mounting: the part's own metal.
pub const BODY: &str = "body";

/// The key which tells how a load gets its ground.
const GROUND: Key =
    words("ground", "`body` when it is grounded through its own mounting, else `wire`");

/// One part's entry in the file, while it is being built.
pub struct Given<'a, 't> {
    /// Its keys.
    pub fields: &'a Fields<'t>,
    /// Its kind.
    pub entry: &'static Entry,
    /// Nominal volts of the circuit, for defaults.
    pub system_volts: f64,
    /// The controls of the circuit.
    pub controls: &'a [Control],
    /// Names of controls whose own entry has problems: naming them is no further problem.
    pub broken_controls: &'a [String],
    /// Controls that some part uses, for the check that all are used.
    pub used_controls: &'a mut Vec<super::ControlId>,
    /// Where problems go.
    pub problems: &'a mut Vec<Problem>,
}

impl Given<'_, '_> {
    /// The number of `key`, or `default` when it is left out (or wrong, which is noted down).
    pub fn number(&mut self, key: &str, default: f64) -> f64 {
        let range = self.entry.keys.iter().find(|k| k.name == key).and_then(|k| k.range);
        range.and_then(|range| self.fields.number(key, range, self.problems)).unwrap_or(default)
    }

    /// `system_volts` as a multiple of 12 V.
    pub fn twelves(&self) -> f64 {
        self.system_volts / 12.0
    }

    /// The part is grounded through its body.
    pub fn body_ground(&mut self, unless_told: bool) -> bool {
        match self.fields.choice("ground", &["body", "wire"], self.problems) {
            Some(choice) => choice == "body",
            None => unless_told,
        }
    }
}

/// A part as it will stand in the graph.
pub struct Blueprint {
    /// Its kind.
    pub kind: Kind,
    /// Its terminals.
    pub terminals: Vec<Stub>,
    /// Its links.
    pub links: Vec<PlannedLink>,
    /// Its terminals are reached only by opening it up, unless the file says how long they take.
    pub terminals_inside: bool,
}

/// A terminal to be.
pub struct Stub {
    /// Name within the part.
    pub name: String,
    /// A probe can touch it.
    pub probe: bool,
}

/// A link to be.
pub struct PlannedLink {
    /// What it is within the part.
    pub role: &'static str,
    /// Index of its first terminal.
    pub first: usize,
    /// Index of its second terminal; `None` is the chassis.
    pub second: Option<usize>,
    /// How it behaves.
    pub element: Element,
}

impl Blueprint {
    /// A part with these terminals and no links yet.
    pub fn new<S: Into<String>>(kind: Kind, terminals: impl IntoIterator<Item = S>) -> Blueprint {
        let terminals =
            terminals.into_iter().map(|name| Stub { name: name.into(), probe: true }).collect();
        Blueprint { kind, terminals, links: Vec::new(), terminals_inside: false }
    }

    /// The same with a link between two of its terminals.
    #[must_use]
    pub fn link(
        mut self,
        role: &'static str,
        first: usize,
        second: usize,
        element: Element,
    ) -> Self {
        self.links.push(PlannedLink { role, first, second: Some(second), element });
        self
    }

    /// The same with terminal `index` linked to the chassis.
    #[must_use]
    pub fn to_chassis(mut self, role: &'static str, index: usize, ohms: f64) -> Self {
        let element = Element::Resistance { ohms };
        self.links.push(PlannedLink { role, first: index, second: None, element });
        self
    }

    /// The same with terminal `index` turned into its own body, joined to the chassis, if `so`.
    #[must_use]
    pub fn grounded_by_body(mut self, index: usize, so: bool) -> Self {
        if so && let Some(stub) = self.terminals.get_mut(index) {
            BODY.clone_into(&mut stub.name);
            return self.to_chassis("body joint", index, joints::GROUND_OHMS);
        }
        self
    }

    /// The same with its terminals inside it.
    #[must_use]
    pub fn inside(mut self) -> Self {
        self.terminals_inside = true;
        self
    }
}
