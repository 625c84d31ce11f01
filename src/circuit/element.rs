//! How the links of a sound circuit behave: what `setup` makes branches of.

use super::ids::ControlId;

/// How a sound link behaves. Amperes count from its first terminal to its second.
#[derive(Debug, Clone, PartialEq)]
pub enum Element {
    /// Wires, pins, resistors, windings, horns.
    Resistance {
        /// At least zero.
        ohms: f64,
    },
    /// A battery: `volts` at no load behind `ohms`, positive at the first terminal.
    Emf {
        /// Open-circuit volts.
        volts: f64,
        /// Internal resistance.
        ohms: f64,
    },
    /// A contact, open (no link at all) unless `closed_when` holds.
    Contact {
        /// When closed.
        ohms: f64,
        /// What closes it.
        closed_when: ClosedWhen,
    },
    /// A winding that moves the contacts of its own part.
    Coil {
        /// Winding resistance.
        ohms: f64,
        /// Volts across it at which a released armature pulls in.
        pull_in_volts: f64,
        /// Volts at which a pulled armature drops out; below `pull_in_volts`.
        drop_out_volts: f64,
    },
    /// A fuse that blows when more than its rating flows.
    Fuse {
        /// When whole.
        ohms: f64,
        /// Printed rating.
        rated_amps: f64,
    },
    /// A strip of bimetal that opens when more than its rating flows, and closes again once it is cold.
    Cutout {
        /// When closed.
        ohms: f64,
        /// Printed rating.
        rated_amps: f64,
    },
    /// A filament: its resistance follows its heat.
    Lamp {
        /// Rated volts.
        volts: f64,
        /// Watts at rated volts.
        watts: f64,
    },
    /// A junction that conducts from its first terminal to its second.
    Diode {
        /// Volts across it at `at_amps`.
        forward_volts: f64,
        /// Amperes at which `forward_volts` is given.
        at_amps: f64,
    },
    /// A direct-current motor under load.
    Motor {
        /// Winding and brushes, standing still.
        stall_ohms: f64,
        /// Amperes it draws turning its usual load at rated volts.
        running_amps: f64,
        /// Rated volts.
        rated_volts: f64,
    },
    /// A generator: an entry of `steps` for each position of its control.
    Generator {
        /// What turns it.
        control: ControlId,
        /// Volts with nothing on, and the ohms behind which they stand.
        steps: Vec<(f64, f64)>,
    },
    /// A resistance that follows a control: an entry for each of its positions.
    Variable {
        /// What moves it.
        control: ControlId,
        /// Ohms by position.
        ohms: Vec<f64>,
    },
    /// A diode that breaks down without harm, cathode second.
    Zener {
        /// Volts it holds against the arrow, at `at_amps`.
        volts: f64,
        /// Volts along the arrow at `at_amps`.
        forward_volts: f64,
        /// Amperes at which both are given.
        at_amps: f64,
    },
    /// An input of a control unit: a resistance, and what it is fed with closes contacts of its own.
    Sense {
        /// Between its terminals.
        ohms: f64,
        /// Volts across it from which it counts as fed.
        on_volts: f64,
        /// Volts below which it no longer does.
        off_volts: f64,
    },
}

/// What closes a contact.
#[derive(Debug, Clone, PartialEq)]
pub enum ClosedWhen {
    /// The control stands in one of these positions.
    Control {
        /// What operates it.
        control: ControlId,
        /// Positions in which it is closed.
        positions: Vec<usize>,
    },
    /// The coil of the same part has pulled in.
    Pulled,
    /// The coil of the same part is released.
    Released,
    /// An [`Element::Sense`] of the same part is fed.
    Sensed {
        /// Its position in [`super::model::Part::links`].
        link: usize,
    },
}
