//! Direct-current networks and their operating points. Knows volts and ohms, not circuits or suspects.
//!
//! `network` is the input; `law` (with `lamp`, `diode`, `motor`) turns a branch into a line of the
//! linear equations; `newton` finds the operating point for one state of the contacts; `settle` moves
//! relays and blows fuses until nothing moves; `solver` is the door for the other rooms.

mod curve;
mod diode;
mod equations;
mod error;
mod lamp;
mod law;
mod motor;
pub mod network;
mod newton;
mod settle;
mod solver;

pub use error::SolveError;
pub use network::{Branch, BranchId, GROUND, Law, Network, NodeId, Relay, RelayId};
pub use settle::Steadiness;
pub use solver::{Case, Change, Load, Solver};
