//! What to have at hand for a repair: the parts, with the values the circuit gives them.

use crate::circuit::protect::fuse_before;
use crate::circuit::{Circuit, Element, Kind, LinkId, Part, PartId};
use crate::electric::Solver;
use crate::job::study::Study;
use crate::quantity::{Unit, show, show_digits};
use crate::setup::wiring::Wiring;
use crate::suspect::damage::Damage;
use crate::suspect::fix::Fix;

/// Digits of a computed current or resistance: a part is chosen by it, not made to it.
const DIGITS: usize = 2;

/// What to have at hand for the fix at this position of the line-up, one thing an entry; empty where nothing
/// is mended.
pub fn for_fix(study: &Study, fix: usize) -> Vec<String> {
    let circuit = study.circuit();
    let fix = &study.lineup().fixes[fix];
    let Some(id) = fix.part else { return Vec::new() };
    let mounting = Fix::of_mounting(circuit, id).id == fix.id;
    if mounting {
        return vec![bright(), "contact grease".to_owned()];
    }
    if Fix::of_part(circuit, id).id != fix.id {
        return vec!["a tool to unlatch the terminals".to_owned()];
    }
    let need = Need { study, circuit, id, part: circuit.part(id) };
    need.list()
}

/// Something to get metal bright with.
fn bright() -> String {
    "wire brush or emery cloth".to_owned()
}

/// A part to be mended.
struct Need<'a> {
    study: &'a Study,
    circuit: &'a Circuit,
    id: PartId,
    part: &'a Part,
}

impl Need<'_> {
    fn list(&self) -> Vec<String> {
        let name = &self.part.name;
        match &self.part.kind {
            Kind::Battery | Kind::ChargingSource | Kind::StarterMotor => self.machines(),
            Kind::Fuse | Kind::FusibleLink | Kind::Breaker => self.guards(),
            Kind::Switch { .. } => {
                let amps = self.amps().map_or(String::new(), |amps| format!(" for {amps}"));
                let cleaner = "contact cleaner, fine emery cloth".to_owned();
                vec![cleaner, format!("should they stay bad: {name}{amps}, {}", self.volts())]
            }
            Kind::Relay | Kind::Solenoid | Kind::Flasher { .. } => vec![self.magnet()],
            Kind::Splice => vec![self.joint(), "heat-shrink tube".to_owned()],
            Kind::GroundPoint => vec![bright(), "contact grease".to_owned(), self.lugs()],
            Kind::Strap => vec![bright(), "should it be frayed: braid, as long as it".to_owned()],
            Kind::Pin { .. } => vec!["contact cleaner".to_owned(), self.terminal()],
            Kind::Wire { .. } => self.wire(),
            Kind::ControlBox => vec![format!("known good {name}")],
            _ => vec![self.load()],
        }
    }

    fn machines(&self) -> Vec<String> {
        let (name, volts) = (&self.part.name, self.volts());
        match self.part.kind {
            Kind::Battery => vec![
                format!("charger and load tester for {volts}"),
                format!("should it fail: {name}, {volts}"),
            ],
            Kind::ChargingSource => vec![format!("spares for the {name}, {volts}")],
            _ => vec![format!("brushes, or a {name} in exchange, {volts}")],
        }
    }

    fn guards(&self) -> Vec<String> {
        let amps = self.elements().find_map(rating).map_or(String::new(), |a| show(a, Unit::Amps));
        let name = &self.part.name;
        match self.part.kind {
            Kind::Fuse => {
                vec![format!("fuse of {amps} for the {name}: never a larger one"), bright()]
            }
            Kind::FusibleLink => vec![format!("fusible link for {amps}, with its crimp joints")],
            _ => vec![format!("should it not hold: breaker of {amps}")],
        }
    }

    /// Relays, solenoids and flashers, by what their coils ask for.
    fn magnet(&self) -> String {
        let mut words = format!("{}, {}", self.part.name, self.volts());
        for element in self.elements() {
            if let Element::Coil { ohms, .. } = element {
                words += &format!(", coil of {}", show_digits(*ohms, Unit::Ohms, DIGITS));
            }
        }
        if let Kind::Flasher { rated_amps } = self.part.kind {
            words += &format!(", made for lamps of {} in all", show(rated_amps, Unit::Amps));
        }
        if self.part.links.iter().any(|link| self.circuit.link(*link).role == "suppression diode") {
            words += ", with a diode across its coil";
        }
        words
    }

    /// Loads and small parts, by the value printed on them.
    fn load(&self) -> String {
        let name = &self.part.name;
        let value = self.elements().find_map(|element| match element {
            Element::Lamp { volts, watts } => {
                Some(format!("{} {}", show(*volts, Unit::Volts), show(*watts, Unit::Watts)))
            }
            Element::Diode { at_amps, .. } if self.part.kind == Kind::Diode => {
                let amps = self.amps().unwrap_or_else(|| show(*at_amps, Unit::Amps));
                Some(format!("for {amps} or more; mind its direction"))
            }
            Element::Zener { volts, .. } => Some(show(*volts, Unit::Volts)),
            Element::Motor { running_amps, rated_volts, .. } => Some(format!(
                "{}, running at {}",
                show(*rated_volts, Unit::Volts),
                show_digits(*running_amps, Unit::Amps, DIGITS)
            )),
            Element::Resistance { ohms } => {
                Some(format!("{}, {}", self.volts(), show_digits(*ohms, Unit::Ohms, DIGITS)))
            }
            _ => None,
        });
        format!("{name}, {}", value.unwrap_or_else(|| self.volts()))
    }

    fn wire(&self) -> Vec<String> {
        let Kind::Wire { length_metres, heavy, .. } = self.part.kind else { return Vec::new() };
        let words = format!("{}, {} at most", size(self.part), show(length_metres, Unit::Metres));
        if heavy {
            return vec![bright(), format!("should it be broken: cable {words}, with lugs")];
        }
        let mut list =
            vec![format!("wire {words}"), "crimp joints and heat-shrink tube".to_owned()];
        let fuse = fuse_before(self.circuit, self.id).filter(|_| self.may_blow());
        list.extend(fuse.and_then(|fuse| {
            let fuse = self.circuit.part(fuse);
            let mut elements = fuse.links.iter().map(|link| &self.circuit.link(*link).element);
            let amps = show(elements.find_map(rating)?, Unit::Amps);
            Some(format!("should it have blown: fuse of {amps} for the {}", fuse.name))
        }));
        list
    }

    /// One of the faults that this repair mends takes the fuse with it.
    fn may_blow(&self) -> bool {
        let suspects = self.study.lineup().suspects.iter();
        suspects
            .filter(|suspect| suspect.part == Some(self.id))
            .any(|one| one.damage.iter().any(|what| matches!(what, Damage::Grounded(..))))
    }

    /// A crimped or soldered joint of the wires that meet here.
    fn joint(&self) -> String {
        format!("joint for {}", self.wires())
    }

    fn lugs(&self) -> String {
        format!("should one be broken: ring lugs for {}", self.wires())
    }

    fn terminal(&self) -> String {
        format!("should they be burnt: a pair of terminals for {}", self.wires())
    }

    /// The wires that end on the part, each size and colour once.
    fn wires(&self) -> String {
        let mut sizes: Vec<String> = Vec::new();
        for &at in &self.part.terminals {
            for (link, _) in self.circuit.links_at(at) {
                let other = self.circuit.part(self.circuit.link(link).part);
                let words = size(other);
                if !words.is_empty() && !sizes.contains(&words) {
                    sizes.push(words);
                }
            }
        }
        if sizes.is_empty() { "its wires".to_owned() } else { sizes.join(", ") }
    }

    fn elements(&self) -> impl Iterator<Item = &Element> {
        self.part.links.iter().map(|link| &self.circuit.link(*link).element)
    }

    fn volts(&self) -> String {
        show(self.circuit.system_volts, Unit::Volts)
    }

    /// Most amperes the part carries in any work of the sound circuit.
    fn amps(&self) -> Option<String> {
        let amps = most_amps(self.study, &self.part.links);
        (amps > 0.0).then(|| show_digits(amps, Unit::Amps, DIGITS))
    }
}

fn rating(element: &Element) -> Option<f64> {
    match element {
        Element::Fuse { rated_amps, .. } | Element::Cutout { rated_amps, .. } => Some(*rated_amps),
        _ => None,
    }
}

/// `BU/WH 0.75 mm2`; empty for what is no wire.
fn size(part: &Part) -> String {
    let Kind::Wire { colour, area_mm2, .. } = &part.kind else { return String::new() };
    format!("{colour} {}", show(*area_mm2, Unit::Area)).trim_start().to_owned()
}

/// Most amperes through one of these links in any work of the sound circuit; 0 where nothing can be solved.
fn most_amps(study: &Study, links: &[LinkId]) -> f64 {
    let circuit = study.circuit();
    let setups = circuit.works.iter().map(|work| crate::setup::Setup::for_work(circuit, work));
    setups
        .filter_map(|setup| {
            let wiring = Wiring::new(circuit, &setup);
            let solver = Solver::new(&wiring.network).ok()?;
            let case = solver.case(&[]).ok()?;
            let amps = links.iter().map(|link| case.branch_amps(wiring.branch(*link)).abs());
            Some(amps.fold(0.0, f64::max))
        })
        .fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::circuit::{builtin, read};
    use crate::tester::Instrument;

    fn study(name: &str) -> Study {
        let circuit = Arc::new(read::read_text(name, builtin::text(name).unwrap()).0.unwrap());
        Study::new(&circuit, &[Instrument::Lamp], 0).unwrap()
    }

    #[track_caller]
    fn check(study: &Study, fix: &str, expected: &[&str]) {
        let at = study.lineup().find_fix(fix).expect("a repair");
        assert_eq!(for_fix(study, at.index()), expected, "{fix}");
    }

    #[test]
    fn parts_have_the_values_of_the_circuit() {
        let study = study("start-button");
        check(&study, "no-fault", &[]);
        check(&study, "beyond-drawing", &[]);
        check(
            &study,
            "replace-main-fuse",
            &["fuse of 20 A for the main fuse: never a larger one", "wire brush or emery cloth"],
        );
        // 12.6 V over 3.6 ohm and the wires, less what the starter draws the battery down by.
        check(
            &study,
            "mend-start-button",
            &[
                "contact cleaner, fine emery cloth",
                "should they stay bad: start button for 3 A, 12 V",
            ],
        );
        check(
            &study,
            "clean-c2",
            &["contact cleaner", "should they be burnt: a pair of terminals for BU/WH 0.75 mm2"],
        );
        check(&study, "replace-solenoid", &["solenoid, 12 V, coil of 3.6 ohm"]);
        check(
            &study,
            "clean-bar-ground",
            &[
                "wire brush or emery cloth",
                "contact grease",
                "should one be broken: ring lugs for BK 0.75 mm2",
            ],
        );
        let names: Vec<&str> = study.lineup().fixes.iter().map(|fix| fix.id.as_str()).collect();
        let wire = names.iter().find(|id| id.starts_with("mend-key-switch--solenoid"));
        check(
            &study,
            wire.unwrap_or_else(|| panic!("{names:?}")),
            &[
                "wire BN 0.75 mm2, 1.4 m at most",
                "crimp joints and heat-shrink tube",
                "should it have blown: fuse of 20 A for the main fuse",
            ],
        );
    }

    #[test]
    fn every_repair_of_a_part_names_something() {
        for name in builtin::names() {
            let study = study(name);
            for (at, fix) in study.lineup().fixes.iter().enumerate() {
                let list = for_fix(&study, at);
                assert_eq!(list.is_empty(), fix.part.is_none(), "{name} {}", fix.id);
                for words in list {
                    assert!(!words.contains("  ") && !words.ends_with([' ', ',']), "{words}");
                }
            }
        }
    }
}
