//! Halfsplit finds the one fault in a machine's electrical circuit, test by test.
//!
//! The flow, in reading order of the rooms below:
//!
//! circuit file -> [`circuit::Circuit`] -> network of a [`setup::Setup`] -> [`electric::Case`]
//! -> what a tester shows ([`tester`]) -> likelihood -> [`belief`] -> [`plan`] -> [`job`].
//!
//! A room imports only rooms above it in this list; `tests/it/architecture.rs` holds the wall.

pub mod quantity;

pub mod problem;

pub mod circuit;

pub mod electric;

pub mod setup;

pub mod suspect;

pub mod tester;

pub mod belief;

pub mod plan;

pub mod job;

pub mod history;

pub mod trial;

pub mod drill;

pub mod report;

pub mod tui;

pub mod cli;
