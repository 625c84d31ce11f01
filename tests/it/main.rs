//! Integration tests: one binary, a module a theme.

#![allow(
    clippy::unwrap_used,
    clippy::disallowed_methods,
    reason = "a test may fail and may read its data"
)]

mod agreement;
mod architecture;
mod battery;
mod belief;
mod belief_reference;
mod circuits;
mod contract;
mod desk;
mod diagnoses;
mod doubles;
mod draw;
mod drill;
mod endurance;
mod faults;
mod files;
mod findings;
mod harness;
mod hostile;
mod jobs;
mod kinds;
mod learning;
mod mistakes;
mod mutated;
mod new;
mod physics;
mod pipe;
mod plan;
mod reports;
mod reuse;
mod schema;
mod screens;
mod sequences;
mod severity;
mod shared_mistakes;
mod sheet;
mod spice;
mod supply;
mod terminal;
mod testers;
mod tolerance;
mod trade;
mod trailer;
mod typed;
mod walk;
mod worked_circuits;
