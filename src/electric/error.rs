//! Why a network has no answer.

/// Why a network has no answer. Positions are those of the network handed in; branches added by
/// `Change::Across` count on after the network's own.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SolveError {
    /// A branch, a change or a question names a node the network does not have.
    #[error("node {node} is not one of the network's {nodes} nodes")]
    NoSuchNode {
        /// The node named.
        node: u32,
        /// How many there are.
        nodes: u32,
    },
    /// A relay or a change names a branch the network does not have.
    #[error("branch {branch} is not one of the network's {branches} branches")]
    NoSuchBranch {
        /// The branch named.
        branch: u32,
        /// How many there are.
        branches: u32,
    },
    /// A contact or a change names a relay the network does not have.
    #[error("relay {relay} is not one of the network's {relays} relays")]
    NoSuchRelay {
        /// The relay named.
        relay: u32,
        /// How many there are.
        relays: u32,
    },
    /// A value that no part can have: negative ohms, a lamp of no watts, not a number.
    #[error("branch {branch} has {value} for its {quantity}")]
    BadBranch {
        /// The branch.
        branch: u32,
        /// `ohms`, `rated volts`, ...
        quantity: &'static str,
        /// What it has.
        value: f64,
    },
    /// Limits that no armature can have.
    #[error("relay {relay} has {value} for its {quantity}")]
    BadRelay {
        /// The relay.
        relay: u32,
        /// `pull-in amperes`, `drop-out amperes`, `winding share`.
        quantity: &'static str,
        /// What it has.
        value: f64,
    },
    /// Nothing limits the current: an ideal source is shorted, or two of them fight.
    #[error("nothing limits the current in branch {branch}: {amps:.1e} A")]
    ShortedSource {
        /// The first branch it runs through.
        branch: u32,
        /// What was found.
        amps: f64,
    },
    /// A current source drives into nothing.
    #[error("a current source has no way back from node {node}: {volts:.1e} V")]
    NoReturn {
        /// The first node found beyond all bounds.
        node: u32,
        /// What was found.
        volts: f64,
    },
    /// The equations lost their last digits: this unknown could not be found.
    #[error("the values of the network lie too far apart to be solved at unknown {unknown}")]
    Singular {
        /// Position among the unknowns: nodes without ground first, then branches.
        unknown: usize,
    },
    /// Lamps, diodes and motors found no common operating point.
    #[error("no operating point in {steps} steps; the last still moved {volts:.3} V")]
    Restless {
        /// Newton steps made.
        steps: u32,
        /// How far the last one still moved.
        volts: f64,
    },
    /// Relays neither settle nor repeat themselves.
    #[error("relays neither settle nor repeat within {steps} moves")]
    Unsettled {
        /// Moves made.
        steps: u32,
    },
}
