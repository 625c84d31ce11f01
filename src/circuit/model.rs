//! What a circuit is made of, once its file has been read.

use petgraph::graph::{EdgeIndex, NodeIndex, UnGraph};

use super::element::Element;
use super::ids::{ConnectorId, ControlId, PartId, PlaceId};

/// A terminal: a node of the circuit's graph.
pub type TerminalId = NodeIndex<u32>;

/// An electrical link between two terminals: an edge of the circuit's graph.
pub type LinkId = EdgeIndex<u32>;

/// Terminals joined by links. An edge keeps the order of its ends: `edge_endpoints(link)` gives the
/// terminal its element counts as first (the positive one of a battery, the anode of a diode).
pub type CircuitGraph = UnGraph<Terminal, Link, u32>;

/// A circuit as it stands in its file: sound, with nothing switched or parted.
///
/// Every thing with a name of its own that can fail is a [`Part`]: batteries and switches, but wires,
/// connector pins, ground points and splices too. Parts own [`Link`]s, the edges of `graph`; links
/// join [`Terminal`]s, its nodes. The later rooms work on links and terminals only: `setup` turns
/// them into an electrical network, `suspect` damages them, `tester` touches them.
///
/// `chassis` is the terminal all ground points are linked to: the frame of the machine, zero volts.
#[derive(Debug, Clone)]
pub struct Circuit {
    /// Short name without blanks: the file's stem, or the name of a built-in circuit.
    pub id: String,
    /// What the circuit is, for a person.
    pub name: String,
    /// The machine it belongs to, for a person.
    pub machine: String,
    /// Nominal volts: 6, 12 or 24 in practice; never above 60.
    pub system_volts: f64,
    /// Somebody has measured the battery's volts at rest, and its element has them.
    pub battery_measured: bool,
    /// What a person operates.
    pub controls: Vec<Control>,
    /// Where things are reached.
    pub places: Vec<Place>,
    /// Everything that can fail.
    pub parts: Vec<Part>,
    /// What can be parted.
    pub connectors: Vec<Connector>,
    /// What the circuit does when it works; the first one is the complaint unless told otherwise.
    pub works: Vec<Work>,
    /// Words for the learner.
    pub notes: Vec<String>,
    /// Terminals and links.
    pub graph: CircuitGraph,
    /// The frame: node zero of every network made from this circuit.
    pub chassis: TerminalId,
    /// The text of the file, so that a job can carry its circuit with it.
    pub source: String,
}

/// A key, button, lever, pedal, gear: what a person puts into a position.
#[derive(Debug, Clone)]
pub struct Control {
    /// Name without blanks, stable for the file: `starter-button`.
    pub id: String,
    /// Name as written: `starter button`.
    pub name: String,
    /// Names of its positions, at least two.
    pub positions: Vec<String>,
    /// Position when nobody touches it and the machine is left alone.
    pub rest: usize,
    /// It has to be held by hand: let go, it springs back to `rest`.
    pub springs_back: bool,
    /// Minutes to change its position.
    pub minutes: f64,
    /// The machine itself moves it (oil pressure, coolant heat, fuel level): it is brought about, not set.
    pub by_machine: bool,
}

/// A place on the machine where something is reached.
#[derive(Debug, Clone)]
pub struct Place {
    /// Name without blanks: `headlamp-shell`.
    pub id: String,
    /// Name as written: `headlamp shell`.
    pub name: String,
    /// Minutes to open it and to close it again in the end, paid once.
    pub open_minutes: f64,
}

/// A pair of halves which can be parted; its pins are parts.
#[derive(Debug, Clone)]
pub struct Connector {
    /// Name without blanks.
    pub id: String,
    /// Name as written.
    pub name: String,
    /// Where it is.
    pub place: PlaceId,
    /// Names of the two halves: the first and the second terminal of each pin.
    pub halves: [String; 2],
    /// Its pins; each pin has one link, from the first half to the second.
    pub pins: Vec<PartId>,
    /// Minutes to part it, and as long to join it again.
    pub part_minutes: f64,
}

/// Anything with a name of its own that can fail.
#[derive(Debug, Clone)]
pub struct Part {
    /// Name without blanks, stable for the file: `start-button`.
    pub id: String,
    /// Name as written, or made from its ends for a wire: `BU/WH wire, solenoid coil out to C2`.
    pub name: String,
    /// What it is, with the values that matter to people (links have those that matter to current).
    pub kind: Kind,
    /// Where it is reached.
    pub place: PlaceId,
    /// Minutes to get inside it or take it off, on top of the place.
    pub open_up_minutes: f64,
    /// How often it fails beside others of its kind; 1 is usual.
    pub trouble: f64,
    /// Minutes to repair or replace it, when the file says so.
    pub fix_minutes: Option<f64>,
    /// What to know for that: `part 2210, two nuts`.
    pub fix_note: Option<String>,
    /// How often faults are met beside what is usual of the kind, by a fault's name or what it begins with.
    pub faults: Vec<(String, f64)>,
    /// Words for the learner.
    pub note: Option<String>,
    /// Of a wire: the bundle it runs in, where it can chafe through to its neighbours.
    pub bundle: Option<String>,
    /// Its own terminals. A wire has none: it joins terminals of others.
    pub terminals: Vec<TerminalId>,
    /// Its links.
    pub links: Vec<LinkId>,
}

/// The kinds of part, named as in a circuit file.
#[derive(Debug, Clone, PartialEq)]
pub enum Kind {
    /// Terminals `+` and `-`; one link, the positive terminal first.
    Battery,
    /// Terminals `+` and `-` (or `body`), with a charge lamp also `L`: generator, rectifier and regulator
    /// in one; a rectifier link, then a generator link whose volts follow the engine's speed.
    ChargingSource,
    /// Terminals `in` and `out`; one link.
    Fuse,
    /// Terminals `in` and `out`: a piece of thinner wire that burns through; one link.
    FusibleLink,
    /// Terminals `in` and `out`: opens at too much current; it is reset, or resets itself when cold, over and
    /// over; one link.
    Breaker,
    /// Terminals as the file names them; a contact link for each entry of its table.
    Switch {
        /// What operates it.
        control: ControlId,
    },
    /// Terminals by DIN 72552: `85`, `86` coil; `30` common, `87` closes, `87a` opens.
    Relay,
    /// Terminals `coil in`, `coil out`, `battery`, `motor`: a coil and one heavy contact; with a pull-in
    /// winding also a second coil from `coil in` to `motor`, which its own contact bridges.
    Solenoid,
    /// Terminals `49`, `49a`, and `31` for an electronic one; stands for the lit half of its beat.
    Flasher {
        /// Amperes of all the lamps it is made for.
        rated_amps: f64,
    },
    /// Terminals `+` and `-`; the second is `body`, linked to the chassis, when its body is its ground.
    StarterMotor,
    /// Terminals `+` and `-`.
    Motor,
    /// Terminals `+` and `-`: filament lamp.
    Lamp,
    /// Terminals `+` and `-`: light-emitting diode with its resistor.
    Led,
    /// Terminals `+` and `-`.
    Horn,
    /// Terminals `+` and `-`.
    Heater,
    /// Terminals `15` and `1`: the primary winding of an ignition coil.
    IgnitionCoil,
    /// Terminals `+` and `-`: anything that works when it is fed.
    Load,
    /// Terminals `+` and `S`: its needle follows its amperes.
    Gauge {
        /// Amperes at the end of its scale.
        full_amps: f64,
    },
    /// Terminals `out` and `-` (or `body`): a resistance set by what it measures.
    Sender {
        /// What it measures.
        control: ControlId,
    },
    /// Terminals `1` and `2`.
    Resistor,
    /// Terminals `anode` and `cathode`.
    Diode,
    /// Terminals `anode` and `cathode`: holds its volts against current from the second to the first.
    Zener,
    /// Terminals `feed` and `ground`, then inputs, then outputs: a control unit known only by what feeds
    /// it, what it draws, what it hears and what it switches.
    ControlBox,
    /// Terminals `1` and `2`, the second `body` when it is bolted to the frame: a bare braid.
    Strap,
    /// A joint of several wires; terminal `joint` and no link. Its suspects open single wires there.
    Splice,
    /// Terminal `point`; one link to the chassis.
    GroundPoint,
    /// One pin of a connector; two terminals, one a half; one link.
    Pin {
        /// The connector it belongs to.
        connector: ConnectorId,
    },
    /// A wire or cable; one link between terminals of other parts.
    Wire {
        /// Colour by IEC 60757, main colour first: `BU/WH`; empty when the file has none.
        colour: String,
        /// Copper cross-section.
        area_mm2: f64,
        /// Length.
        length_metres: f64,
        /// Heavy current runs in it (battery, solenoid and starter cables): never bridged or probed
        /// across with a lamp or jumper, and unbolted only with the battery ground cable off.
        heavy: bool,
    },
}

/// A point where current can be met with a probe.
#[derive(Debug, Clone)]
pub struct Terminal {
    /// `part.terminal` without blanks: `solenoid.coil-out`; the id that tests use.
    pub id: String,
    /// For a person: `solenoid, coil out`.
    pub name: String,
    /// Whose terminal it is; the chassis belongs to none.
    pub part: Option<PartId>,
    /// Where it is reached; `None` for the chassis, reached everywhere.
    pub place: Option<PlaceId>,
    /// Minutes to reach it beside its place (a cover, a boot to roll back).
    pub reach_minutes: f64,
    /// A probe can touch it; false inside sealed parts.
    pub probe: bool,
}

/// An electrical link between two terminals.
#[derive(Debug, Clone)]
pub struct Link {
    /// Whose link it is.
    pub part: PartId,
    /// What it is within the part: `coil`, `contact`, `wire`, `pin`, `winding`.
    pub role: &'static str,
    /// How it behaves.
    pub element: Element,
}

/// Something the circuit does when it works: with the controls so, this is seen.
#[derive(Debug, Clone)]
pub struct Work {
    /// Name without blanks: `cranks`.
    pub id: String,
    /// Name as written.
    pub name: String,
    /// Control positions; controls not named stand at rest.
    pub when: Vec<(ControlId, usize)>,
    /// What is seen or heard, all of it.
    pub see: Vec<Sight>,
    /// Something turns or moves with force: the cautions for moving parts belong to it.
    pub moves: bool,
}

/// One thing to be seen or heard: this part acts, or does not.
#[derive(Debug, Clone)]
pub struct Sight {
    /// The part watched.
    pub part: PartId,
    /// It acts (turns, lights, sounds, clicks); false when it must not.
    pub acts: bool,
}
