//! How far sound parts differ from the numbers of their circuit: which, by how much, and what that does.
//!
//! Every number here is one standard deviation, as a share of the part's own value. A published limit
//! counts as two of them unless it says otherwise; sources stand beside each number and, word by word, in
//! `tests/data/tolerance/parts.yaml`. Parts differ independently of each other, but all copper shares the
//! temperature of the day, and all readings share the battery.

use crate::circuit::{Circuit, Element, Kind, Link};
use crate::electric::sensitivity::{Parameter, Sensitivity};
use crate::electric::{BranchId, Law, Network};
use crate::setup::wiring::Wiring;

/// Volts of a 12 V battery at rest nobody has measured: from half charged, 12.2 V (US Army TM
/// 5-3805-262-20), to a full one with bound acid, 13.0 V (US Army TM 9-6115-730-24), four deviations.
pub const BATTERY_VOLTS: f64 = (13.0 - 12.2) / 4.0;
/// A meter's share of what it reads, and two digits of it on its 20 V range: limits (from memory).
pub const METER_LIMIT: (f64, f64) = (0.005, 0.02);
/// Inside a battery: 3 to 10 milliohms in practice, by its size, age and warmth (from memory).
pub const BATTERY_OHMS: f64 = 0.3;
/// Regulated volts: 13 to 15.5 V with the engine turning (US Army TM 5-3805-254-20-1), four deviations.
pub const REGULATED_VOLTS: f64 = (15.5 - 13.0) / 4.0 / 14.2;
/// Amperes of a lamp at its rated volts: plus or minus 10 % (lamp maker's glossary).
pub const LAMP_AMPS: f64 = 0.10 / 2.0;
/// Ohms of a winding: plus or minus 10 % (component makers' data of relays).
pub const COIL_OHMS: f64 = 0.10 / 2.0;
/// Ohms of stranded copper of a nominal size: up to 26.0 ohm/km for 0.75 mm2 (IEC 60228, class 5), where
/// solid copper would have 1000 / (58 * 0.75).
pub const STRAND_OHMS: f64 = (26.0 / (1000.0 / (58.0 * 0.75)) - 1.0) / 2.0;
/// Length of a wire as a person writes it into a file (from memory).
pub const WIRE_LENGTH: f64 = 0.05;
/// Warmth of a machine about 20 C, in kelvin: most jobs are done between -10 and 50 C (from memory).
pub const WARMTH_KELVIN: f64 = 15.0;
/// Ohms of copper per kelvin (IEC 1913).
pub const COPPER_PER_KELVIN: f64 = 0.00393;
/// Contacts, pins and bolted joints (from memory; a maker of relays gives 15 mV at 10 A, at most 200 mV).
pub const JOINT_OHMS: f64 = 0.5;
/// Fuses of one rating (from memory).
pub const FUSE_OHMS: f64 = 0.2;
/// What a motor draws under its usual load, and its winding (from memory).
pub const MOTOR: f64 = 0.15;
/// Resistors, heaters, horns, gauges and whatever else is fed: plus or minus 10 % (from memory).
pub const LOAD_OHMS: f64 = 0.05;
/// Senders and inputs of control units (from memory).
pub const SENDER_OHMS: f64 = 0.1;
/// Forward volts of a diode: a red one 1.5 to 2.4 V (T. R. Kuphaldt, Lessons In Electric Circuits,
/// volume III, chapter 3), four deviations.
pub const FORWARD_VOLTS: f64 = (2.4 - 1.5) / 4.0 / 1.95;

/// One thing that differs from machine to machine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerance {
    /// The branch of the part's link.
    pub branch: BranchId,
    /// What of it.
    pub parameter: Parameter,
    /// One deviation on its own, as a share.
    pub share: f64,
    /// One deviation of what it has in common with all other copper, as a share.
    pub warmth: f64,
    /// It is the volts of the battery, which all readings share.
    pub is_battery: bool,
}

/// What can differ in a circuit.
#[derive(Debug, Clone, PartialEq)]
pub struct Tolerances {
    list: Vec<Tolerance>,
    /// One deviation of the battery's volts at rest, as a share.
    battery_share: f64,
    battery_volts: f64,
}

/// One standard deviation of a reading in its two parts.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Deviation {
    /// From the battery's volts, which all readings share.
    pub battery: f64,
    /// From all else.
    pub parts: f64,
}

impl Deviation {
    /// Of both together.
    pub fn whole(self) -> f64 {
        self.battery.hypot(self.parts)
    }
}

impl Tolerances {
    /// What can differ in `circuit`.
    pub fn new(circuit: &Circuit) -> Tolerances {
        let battery = circuit.graph.edge_weights().find_map(|link| match link.element {
            Element::Emf { volts, .. } => Some(volts),
            _ => None,
        });
        let battery_volts = battery.unwrap_or(circuit.system_volts);
        let spread_volts = if circuit.battery_measured {
            // Makers state limits: a number anywhere between them is as likely as another.
            (METER_LIMIT.0 * battery_volts + METER_LIMIT.1) / 3.0_f64.sqrt()
        } else {
            BATTERY_VOLTS * circuit.system_volts / 12.0
        };
        let battery_share = spread_volts / battery_volts;
        let list = circuit.graph.edge_indices().flat_map(|at| {
            let branch = BranchId(at.index() as u32);
            let link = &circuit.graph[at];
            let from_battery = matches!(link.element, Element::Emf { .. });
            let one = move |(parameter, share, copper)| Tolerance {
                branch,
                parameter,
                share,
                warmth: if copper { WARMTH_KELVIN * COPPER_PER_KELVIN } else { 0.0 },
                is_battery: from_battery && parameter == Parameter::Volts,
            };
            of_link(circuit, link, battery_share).into_iter().map(one)
        });
        Tolerances { list: list.collect(), battery_share, battery_volts }
    }

    /// All of them, in the order of the circuit's links.
    pub fn list(&self) -> &[Tolerance] {
        &self.list
    }

    /// One deviation of the battery's volts at rest, as a share of them.
    pub fn battery_share(&self) -> f64 {
        self.battery_share
    }

    /// The battery's volts at rest, or the system's where there is no battery.
    pub fn battery_volts(&self) -> f64 {
        self.battery_volts
    }

    /// Deviation of the volts that `sensitivity` is of, in the setup of `wiring`.
    ///
    /// Ohms that a fault has put in series are part of the suspect and do not differ.
    pub fn of_volts(&self, wiring: &Wiring, sensitivity: &Sensitivity<'_>) -> Deviation {
        self.sum(|one| one.volts(&wiring.network, sensitivity))
    }

    /// Deviation of the ohms between the points of `sensitivity`, with no current anywhere.
    pub fn of_ohms(&self, wiring: &Wiring, sensitivity: &Sensitivity<'_>) -> Deviation {
        self.sum(|one| one.ohms(&wiring.network) * sensitivity.ohms_per_ohm(one.branch))
    }

    /// Deviation of the amperes in `branch`, of which `sensitivity` is that of the volts across it.
    pub fn of_amps(
        &self,
        wiring: &Wiring,
        sensitivity: &Sensitivity<'_>,
        (branch, amps): (BranchId, f64),
    ) -> Deviation {
        let network = &wiring.network;
        let own_ohms = network.branches.get(branch.0 as usize).map_or(0.0, |one| ohms(&one.law));
        if own_ohms <= 0.0 {
            return Deviation::default();
        }
        self.sum(|one| {
            let volts = one.volts(network, sensitivity);
            // More of its own ohms is no more current in them.
            let own = one.branch == branch && one.parameter == Parameter::Ohms;
            (volts - if own { amps * own_ohms } else { 0.0 }) / own_ohms
        })
    }

    /// Deviation of what changes by `per_share` for each share a tolerance is more.
    fn sum(&self, per_share: impl Fn(&Tolerance) -> f64) -> Deviation {
        let (mut squares, mut warmth, mut battery) = (0.0, 0.0, 0.0);
        for one in &self.list {
            let change = per_share(one);
            if one.is_battery {
                battery += one.share * change;
            } else {
                squares += (one.share * change).powi(2);
                warmth += one.warmth * change;
            }
        }
        Deviation { battery: battery.abs(), parts: (squares + warmth * warmth).sqrt() }
    }
}

impl Tolerance {
    /// Volts more per share that it is more.
    fn volts(&self, network: &Network, sensitivity: &Sensitivity<'_>) -> f64 {
        match self.parameter {
            Parameter::Ohms => self.ohms(network) * sensitivity.per_ohm(self.branch),
            parameter => sensitivity.relative(self.branch, parameter),
        }
    }

    /// Its ohms in the sound network, if it is any.
    fn ohms(&self, network: &Network) -> f64 {
        let of = |law: &Law| if self.parameter == Parameter::Ohms { ohms(law) } else { 0.0 };
        network.branches.get(self.branch.0 as usize).map_or(0.0, |branch| of(&branch.law))
    }
}

fn ohms(law: &Law) -> f64 {
    match *law {
        Law::Resistor { ohms }
        | Law::Contact { ohms, .. }
        | Law::Fuse { ohms, .. }
        | Law::Source { ohms, .. }
        | Law::Battery { ohms, .. } => ohms,
        _ => 0.0,
    }
}

/// Parameters of a link with their deviations, and whether they are copper.
fn of_link(circuit: &Circuit, link: &Link, battery_share: f64) -> Vec<(Parameter, f64, bool)> {
    match link.element {
        Element::Emf { .. } => {
            vec![(Parameter::Volts, battery_share, false), (Parameter::Ohms, BATTERY_OHMS, false)]
        }
        Element::Generator { .. } => {
            vec![(Parameter::Volts, REGULATED_VOLTS, false), (Parameter::Ohms, BATTERY_OHMS, false)]
        }
        Element::Contact { .. } => vec![(Parameter::Ohms, JOINT_OHMS, false)],
        Element::Coil { .. } => vec![(Parameter::Ohms, COIL_OHMS, true)],
        Element::Fuse { .. } | Element::Cutout { .. } => {
            vec![(Parameter::Ohms, FUSE_OHMS, false)]
        }
        Element::Lamp { .. } => vec![(Parameter::Watts, LAMP_AMPS, false)],
        Element::Diode { .. } | Element::Zener { .. } => {
            vec![(Parameter::ForwardVolts, FORWARD_VOLTS, false)]
        }
        Element::Motor { .. } => {
            vec![(Parameter::StallOhms, MOTOR, true), (Parameter::RunningAmps, MOTOR, false)]
        }
        Element::Variable { .. } | Element::Sense { .. } => {
            vec![(Parameter::Ohms, SENDER_OHMS, false)]
        }
        Element::Resistance { .. } => vec![of_resistance(circuit, link)],
    }
}

fn of_resistance(circuit: &Circuit, link: &Link) -> (Parameter, f64, bool) {
    let (share, copper) = match circuit.part(link.part).kind {
        _ if link.role == "body joint" => (JOINT_OHMS, false),
        Kind::Wire { .. } => (STRAND_OHMS.hypot(WIRE_LENGTH), true),
        Kind::Strap | Kind::GroundPoint | Kind::Pin { .. } => (JOINT_OHMS, false),
        Kind::IgnitionCoil => (COIL_OHMS, true),
        _ => (LOAD_OHMS, false),
    };
    (Parameter::Ohms, share, copper)
}
