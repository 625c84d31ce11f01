//! Direct-current networks and their operating points. Knows volts and ohms, not circuits or suspects.
//!
//! `network` is the input, `changed` what may be asked to be otherwise; `law` turns a branch into a line of the equations,
//! which `linear` solves. `base` keeps the factors of a network, and what a unit of drive does. `settle` moves contacts and
//! fuses until nothing moves; `point` finds the operating point of one of their states. `level` is a state on the
//! network's own way to rest, around which `levels` factors it. A `case` is a settled network that can be asked:
//! `straight` is the quick answer to a change that bends and moves nothing there, `still` to one (`lone`) that
//! bends a few curves and moves nothing otherwise, `full` the other; `loaded` puts a tester across it, and
//! `response` is what that one's ampere does. `sensitivity` is what the volts between two nodes owe to each branch,
//! `residual` says whether a solution can be trusted, `refactoring` is the other way, beside which all this is measured.
//! `solver` is the door for the other rooms; `short` are the lists of all that is kept of ports.

mod base;
mod case;
mod changed;
mod error;
mod law;
mod level;
mod levels;
mod linear;
mod moves;
pub mod network;
mod point;
#[cfg(test)]
mod properties;
mod ready;
mod refactoring;
mod residual;
pub mod sensitivity;
mod settle;
mod short;
mod solver;

pub use case::{Case, Load};
pub use changed::Change;
pub use error::SolveError;
pub use network::{Bent, Branch, BranchId, GROUND, Law, Network, NodeId, Relay, RelayId};
pub use refactoring::Refactoring;
pub use settle::Steadiness;
pub use solver::Solver;
