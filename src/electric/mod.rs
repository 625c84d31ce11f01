//! Direct-current networks and their operating points. Knows volts and ohms, not circuits or suspects.
//!
//! `network` is the input; `law` (with `battery`, `lamp`, `diode`, `motor`) turns a branch into a line of the
//! `equations`, which `ordering` and `sparse_lu` factor once. `base` keeps the factors and what a unit of drive does,
//! `update` puts changes into a small core on top of them (`touched` says what a change reaches before there is one),
//! `newton` finds the operating point of one state of contacts and fuses, `settle` moves them until nothing moves,
//! `on_core` and `whole` are the two ways to do so (whole when the core cannot be trusted: `residual`). `level` is a
//! state on the network's own way to rest, around which `levels` factors it; `straight` is the quick answer to a change that
//! bends and moves nothing there (`limits` say which do), `still` to one that bends nothing but touches an island or keeps
//! an armature from moving, `full` the other; `loaded` puts a tester across it, and
//! `response` is what that one's ampere does. `solver` and `case` are the door for the other rooms, `changed` what they
//! may ask for, `sensitivity` what the volts between two nodes owe to each branch. `short` are the lists of all that is
//! kept of ports.

mod base;
mod battery;
mod case;
mod changed;
mod curve;
mod dense;
mod diode;
mod equations;
mod error;
mod full;
mod lamp;
mod law;
mod level;
mod levels;
mod limits;
mod loaded;
mod motor;
mod moves;
pub mod network;
mod newton;
mod on_core;
mod ordering;
mod pair_table;
mod paths;
#[cfg(test)]
mod properties;
mod refactoring;
mod regions;
mod residual;
mod response;
mod resting;
pub mod sensitivity;
mod settle;
mod short;
mod solver;
mod sparse_lu;
mod still;
mod straight;
mod touched;
mod unit;
mod update;
mod whole;

pub use case::{Case, Load};
pub use changed::Change;
pub use error::SolveError;
pub use network::{Bent, Branch, BranchId, GROUND, Law, Network, NodeId, Relay, RelayId};
pub use refactoring::Refactoring;
pub use settle::Steadiness;
pub use solver::Solver;
