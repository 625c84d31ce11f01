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
mod circuits;
mod contract;
mod doubles;
mod files;
mod harness;
mod jobs;
mod kinds;
mod physics;
mod plan;
mod reports;
mod screens;
mod spice;
mod terminal;
mod testers;
mod tolerance;
mod trade;
mod trailer;
mod typed;
mod worked_circuits;
