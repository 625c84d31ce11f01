//! How the machine stands for a test, and the network that makes of it.
//!
//! [`Setup`] is a value: control positions, parted connectors, lifted cables, the battery's ground
//! cable, what is out, bridged or swapped. `wiring` turns circuit and setup into a network, `moves` tells
//! how to get from one setup to another in a safe order, and what that takes, `bridge` what can be taken out,
//! bridged or swapped at all.

pub mod bridge;
pub mod moves;
pub mod wiring;

use crate::circuit::names::slug;
use crate::circuit::{Circuit, ConnectorId, Kind, PartId, PlaceId, Work};

/// How the machine stands: the position of every control, what is parted, lifted or taken off.
///
/// Setups compare equal when the machine stands the same. The lists are sorted.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Setup {
    /// A position for each control of the circuit.
    pub positions: Vec<usize>,
    /// Connectors whose halves are apart.
    pub parted: Vec<ConnectorId>,
    /// Heavy cables lifted off their stud at the load's end.
    pub lifted: Vec<PartId>,
    /// The battery's ground cable is off: nothing is live.
    pub ground_off: bool,
    /// Fuses taken out of their holders.
    pub out: Vec<PartId>,
    /// Switches, relays and pins bridged by a fused jumper.
    pub bridged: Vec<PartId>,
    /// Parts whose place a known good one has taken.
    pub swapped: Vec<PartId>,
}

/// Beyond so many controls, nobody wants to hear of each that it is where it rests.
const MANY_CONTROLS: usize = 8;

impl Setup {
    /// Every control at rest, everything connected.
    pub fn rest(circuit: &Circuit) -> Setup {
        Setup {
            positions: circuit.controls.iter().map(|control| control.rest).collect(),
            parted: Vec::new(),
            lifted: Vec::new(),
            ground_off: false,
            out: Vec::new(),
            bridged: Vec::new(),
            swapped: Vec::new(),
        }
    }

    /// The setup in which `work` is to be seen.
    pub fn for_work(circuit: &Circuit, work: &Work) -> Setup {
        let mut setup = Setup::rest(circuit);
        for &(control, position) in &work.when {
            setup.positions[control.index()] = position;
        }
        setup
    }

    /// The same with all let go of that springs back.
    #[must_use]
    pub fn let_go(&self, circuit: &Circuit) -> Setup {
        let mut setup = self.clone();
        for (position, control) in setup.positions.iter_mut().zip(&circuit.controls) {
            if control.springs_back {
                *position = control.rest;
            }
        }
        setup
    }

    /// Short name without blanks: `rest`, or what differs from rest joined by `+`.
    pub fn id(&self, circuit: &Circuit) -> String {
        let mut words = Vec::new();
        for (control, &position) in circuit.controls.iter().zip(&self.positions) {
            if position != control.rest {
                words.push(format!("{}.{}", control.id, slug(&control.positions[position])));
            }
        }
        for &connector in &self.parted {
            words.push(format!("{}.parted", circuit.connectors[connector.index()].id));
        }
        for &cable in &self.lifted {
            words.push(format!("{}.lifted", circuit.parts[cable.index()].id));
        }
        for (list, state) in self.by_hand() {
            for &part in list {
                words.push(format!("{}.{state}", circuit.parts[part.index()].id));
            }
        }
        if self.ground_off {
            words.push(format!("{}.off", ground_cable(circuit)));
        }
        if words.is_empty() { "rest".to_owned() } else { words.join("+") }
    }

    /// The setup whose [`Setup::id`] is `id`, if the circuit has what it names.
    pub fn from_id(circuit: &Circuit, id: &str) -> Option<Setup> {
        let mut setup = Setup::rest(circuit);
        if id == "rest" {
            return Some(setup);
        }
        for word in id.split('+') {
            setup.apply_word(circuit, word)?;
        }
        setup.parted.sort_unstable();
        setup.parted.dedup();
        for list in [&mut setup.lifted, &mut setup.out, &mut setup.bridged, &mut setup.swapped] {
            list.sort_unstable();
            list.dedup();
        }
        Some(setup)
    }

    fn apply_word(&mut self, circuit: &Circuit, word: &str) -> Option<()> {
        let (name, state) = word.rsplit_once('.')?;
        if let Some((control, position)) = position(circuit, name, state) {
            self.positions[control] = position;
        } else if state == "off" && name == ground_cable(circuit) {
            self.ground_off = true;
        } else if state == "parted" {
            let at = circuit.connectors.iter().position(|connector| connector.id == name)?;
            self.parted.push(ConnectorId(at as u32));
        } else {
            let at = PartId(circuit.parts.iter().position(|part| part.id == name)? as u32);
            match state {
                "lifted" if matches!(circuit.part(at).kind, Kind::Wire { heavy: true, .. }) => {
                    self.lifted.push(at);
                }
                "out" if bridge::comes_out(circuit, at) => self.out.push(at),
                "bridged" => {
                    bridge::jumped(circuit, at)?;
                    self.bridged.push(at);
                }
                "swapped" if bridge::swaps(circuit, at) => self.swapped.push(at),
                _ => return None,
            }
        }
        Some(())
    }

    /// In words for a person: `key on, starter button pressed, C2 parted`.
    pub fn words(&self, circuit: &Circuit) -> String {
        // Of many controls only those count that were moved.
        let all = circuit.controls.len() <= MANY_CONTROLS;
        let mut words: Vec<String> = circuit
            .controls
            .iter()
            .zip(&self.positions)
            .filter(|(control, position)| {
                **position != control.rest || all && !control.springs_back
            })
            .map(|(control, &position)| format!("{} {}", control.name, control.positions[position]))
            .collect();
        for &connector in &self.parted {
            words.push(format!("{} parted", circuit.connectors[connector.index()].name));
        }
        for &cable in &self.lifted {
            words.push(format!("{} lifted", circuit.parts[cable.index()].name));
        }
        for (list, state) in self.by_hand() {
            for &part in list {
                words.push(format!("{} {state}", circuit.parts[part.index()].name));
            }
        }
        if self.ground_off {
            words.push("battery ground cable off".to_owned());
        }
        if words.is_empty() {
            return "everything at rest".to_owned();
        }
        words.join(", ")
    }

    /// What is done to single parts by hand, with the word for it.
    fn by_hand(&self) -> [(&[PartId], &'static str); 3] {
        [(&self.out, "out"), (&self.bridged, "bridged"), (&self.swapped, "swapped")]
    }

    /// The places that must be open to bring this setup about and to undo it again.
    pub fn places(&self, circuit: &Circuit) -> Vec<PlaceId> {
        let connectors = self.parted.iter().map(|at| circuit.connectors[at.index()].place);
        let parts = self.lifted.iter().chain(&self.out).chain(&self.bridged).chain(&self.swapped);
        let cables = parts.map(|at| circuit.parts[at.index()].place);
        let off_for_work = self.ground_off || !self.lifted.is_empty();
        let battery = off_for_work.then(|| battery_place(circuit)).flatten();
        let mut places: Vec<PlaceId> = connectors.chain(cables).chain(battery).collect();
        places.sort_unstable();
        places.dedup();
        places
    }

    /// Nothing is parted, lifted, out or off: all that the machine has is in its place. Something may be
    /// bridged or swapped for a known good one, as that takes nothing away.
    pub fn is_whole(&self) -> bool {
        self.parted.is_empty() && self.lifted.is_empty() && self.out.is_empty() && !self.ground_off
    }
}

/// Where the battery is, which is where its ground cable comes off.
pub fn battery_place(circuit: &Circuit) -> Option<PlaceId> {
    circuit.graph[wiring::negative_post(circuit)?].place
}

/// A control called `name` and its position called `state`. A part may go by the name of its control.
fn position(circuit: &Circuit, name: &str, state: &str) -> Option<(usize, usize)> {
    let at = circuit.controls.iter().position(|control| control.id == name)?;
    let called = |state: &str| {
        circuit.controls[at].positions.iter().position(|position| slug(position) == state)
    };
    // Job files of before have it as it is written.
    called(state).or_else(|| called(&slug(state))).map(|position| (at, position))
}

/// What the battery's ground cable is called in ids: so that no control goes by the same name.
fn ground_cable(circuit: &Circuit) -> String {
    let mut name = "battery-ground".to_owned();
    while circuit.controls.iter().any(|control| control.id == name) {
        name.push_str("-cable");
    }
    name
}
