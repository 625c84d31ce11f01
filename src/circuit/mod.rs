//! One circuit of one machine: its file, its parts, its graph.
//!
//! `document` reads YAML into a located tree (`unread`: why it cannot be read at all), `read` walks the tree into a
//! [`Circuit`] of `model` and `element`, `catalogue` knows the kinds of part, `reuse` puts several files together,
//! `examine` finds what is wrong with a circuit that reads well, and `builtin` holds the circuits inside the binary.

pub mod builtin;
pub mod catalogue;
pub mod colour;
pub mod document;
pub mod element;
pub mod examine;
pub mod fields;
pub mod graph;
pub mod ids;
mod model;
pub mod names;
pub mod protect;
pub mod read;
pub mod refuse;
pub mod reuse;
pub mod schema;
pub mod sides;
pub mod start;
mod unread;

pub use element::{ClosedWhen, Element};
pub use ids::{ConnectorId, ControlId, PartId, PlaceId};
pub use model::{
    Circuit, CircuitGraph, Connector, Control, Kind, Link, LinkId, Part, Place, Sight, Terminal,
    TerminalId, Work,
};
