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
mod files;
mod findings;
mod harness;
mod jobs;
mod kinds;
mod learning;
mod mistakes;
mod new;
mod physics;
mod plan;
mod reports;
mod reuse;
mod schema;
mod screens;
mod sequences;
mod sheet;
mod spice;
mod terminal;
mod testers;
mod tolerance;
mod trade;
mod trailer;
mod typed;
mod walk;
mod worked_circuits;
