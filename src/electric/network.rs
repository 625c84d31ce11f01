//! A plain network: nodes, branches between them, relays that move some of the branches.

/// A node; [`GROUND`] is the reference and has zero volts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NodeId(pub u32);

/// The reference node.
pub const GROUND: NodeId = NodeId(0);

/// Position of a branch in [`Network::branches`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct BranchId(pub u32);

/// Position of a relay in [`Network::relays`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RelayId(pub u32);

/// A network to be solved: what is between which nodes.
///
/// Every branch has a current of its own among the unknowns, so that any branch can be opened,
/// shorted or replaced exactly, without subtracting conductances. Every node leaks 1e-13 siemens to
/// ground: a part that floats has zero volts on the mean of its nodes, and a meter on it reads nothing.
#[derive(Debug, Clone, Default)]
pub struct Network {
    /// Number of nodes, ground included; node ids run below it.
    pub nodes: u32,
    /// The branches.
    pub branches: Vec<Branch>,
    /// What moves contacts.
    pub relays: Vec<Relay>,
}

/// One branch; its amperes are positive from `from` to `to`, inside the branch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Branch {
    /// First node.
    pub from: NodeId,
    /// Second node.
    pub to: NodeId,
    /// How it behaves.
    pub law: Law,
}

/// How a branch behaves. `v` is volts of `from` over `to`, `i` amperes from `from` to `to`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Law {
    /// `v = ohms * i`; zero ohms are allowed, and reckoned as a nano-ohm.
    Resistor {
        /// At least zero.
        ohms: f64,
    },
    /// `i = 0`.
    Open,
    /// `v = volts + ohms * i`: a source whose plus is at `from`, so that a battery that delivers has `i < 0`.
    Source {
        /// At no load.
        volts: f64,
        /// Internal resistance, at least zero.
        ohms: f64,
    },
    /// A battery on charge: like [`Law::Source`] while it gives, behind `charge_ohms` while it takes, as
    /// its plates polarise within seconds.
    Battery {
        /// At no load.
        volts: f64,
        /// Internal resistance while it gives, above zero.
        ohms: f64,
        /// The same while it takes.
        charge_ohms: f64,
    },
    /// `i = amps`.
    Current {
        /// From `from` to `to` inside the branch.
        amps: f64,
    },
    /// A filament: `i = rated amps * (v / rated volts)^0.55` when hot; cold it has 13.7 times less
    /// resistance than at its rated point, with a smooth passage between.
    Lamp {
        /// Rated volts.
        volts: f64,
        /// Watts at rated volts.
        watts: f64,
    },
    /// A junction, anode at `from`: exponential, with a tenth of its drop over its body's resistance and
    /// a gigaohm of leak.
    Diode {
        /// Volts at `at_amps`.
        forward_volts: f64,
        /// Where `forward_volts` is given.
        at_amps: f64,
        /// Reverse breakdown, for a Zener diode.
        zener_volts: Option<f64>,
    },
    /// A direct-current motor: up to nine tenths of `running_amps` it stands and is `stall_ohms`; above,
    /// it turns, and its current rises slowly from there to `running_amps` at `rated_volts`.
    Motor {
        /// Standing still.
        stall_ohms: f64,
        /// At rated volts under its usual load.
        running_amps: f64,
        /// Rated volts.
        rated_volts: f64,
    },
    /// A lamp, a diode or a motor with so many ohms in series: a bad joint that is part of it.
    Behind {
        /// At least zero.
        ohms: f64,
        /// What is behind them.
        bent: Bent,
    },
    /// `ohms` until more than `rated_amps` times the blowing factor flows, then open for good.
    Fuse {
        /// When whole.
        ohms: f64,
        /// Printed rating.
        rated_amps: f64,
    },
    /// A contact of a relay: `ohms` when closed, no current when open.
    Contact {
        /// When closed.
        ohms: f64,
        /// The relay that moves it.
        relay: RelayId,
        /// Closed while the relay is released (true) or while it is pulled (false).
        rests_closed: bool,
    },
}

/// What may have ohms in series that are part of it; each as the [`Law`] of its name.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Bent {
    /// [`Law::Lamp`].
    Lamp {
        /// Rated volts.
        volts: f64,
        /// Watts at rated volts.
        watts: f64,
    },
    /// [`Law::Diode`].
    Diode {
        /// Volts at `at_amps`.
        forward_volts: f64,
        /// Where `forward_volts` is given.
        at_amps: f64,
        /// Reverse breakdown, for a Zener diode.
        zener_volts: Option<f64>,
    },
    /// [`Law::Motor`].
    Motor {
        /// Standing still.
        stall_ohms: f64,
        /// At rated volts under its usual load.
        running_amps: f64,
        /// Rated volts.
        rated_volts: f64,
    },
}

impl From<Bent> for Law {
    fn from(bent: Bent) -> Law {
        match bent {
            Bent::Lamp { volts, watts } => Law::Lamp { volts, watts },
            Bent::Diode { forward_volts, at_amps, zener_volts } => {
                Law::Diode { forward_volts, at_amps, zener_volts }
            }
            Bent::Motor { stall_ohms, running_amps, rated_volts } => {
                Law::Motor { stall_ohms, running_amps, rated_volts }
            }
        }
    }
}

impl Law {
    /// The same with so many more ohms in series; `None` where these change nothing: an open branch, or one that takes
    /// the same amperes whatever the volts.
    pub fn behind(self, more: f64) -> Option<Law> {
        Some(match self {
            Law::Resistor { ohms } => Law::Resistor { ohms: ohms + more },
            Law::Source { volts, ohms } => Law::Source { volts, ohms: ohms + more },
            Law::Battery { volts, ohms, charge_ohms } => {
                Law::Battery { volts, ohms: ohms + more, charge_ohms: charge_ohms + more }
            }
            Law::Fuse { ohms, rated_amps } => Law::Fuse { ohms: ohms + more, rated_amps },
            Law::Contact { ohms, relay, rests_closed } => {
                Law::Contact { ohms: ohms + more, relay, rests_closed }
            }
            Law::Lamp { volts, watts } => {
                Law::Behind { ohms: more, bent: Bent::Lamp { volts, watts } }
            }
            Law::Diode { forward_volts, at_amps, zener_volts } => {
                let bent = Bent::Diode { forward_volts, at_amps, zener_volts };
                Law::Behind { ohms: more, bent }
            }
            Law::Motor { stall_ohms, running_amps, rated_volts } => {
                let bent = Bent::Motor { stall_ohms, running_amps, rated_volts };
                Law::Behind { ohms: more, bent }
            }
            Law::Behind { ohms, bent } => Law::Behind { ohms: ohms + more, bent },
            Law::Open | Law::Current { .. } => return None,
        })
    }
}

/// An armature moved by one or more windings.
#[derive(Debug, Clone, PartialEq)]
pub struct Relay {
    /// Windings: a branch (a resistor) and the share of its amperes in the pull.
    pub windings: Vec<(BranchId, f64)>,
    /// Weighted amperes at which it pulls in, in either direction.
    pub pull_in_amps: f64,
    /// Weighted amperes below which it drops out.
    pub drop_out_amps: f64,
    /// Jammed: `Some(true)` pulled for ever, `Some(false)` released for ever.
    pub stuck: Option<bool>,
}
