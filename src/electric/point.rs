//! The operating point of a changed network in one state of contacts and fuses.
//!
//! `update` puts changes into a small core on top of a base's factors (`touched` says what a change reaches before there
//! is one, `table` what its ports do to each other), `newton` goes to the point; `on_core` and `whole` are the two ways to do so, whole when the core cannot be
//! trusted.

pub(super) mod newton;
pub(super) mod on_core;
pub(super) mod table;
pub(super) mod touched;
pub(super) mod update;
pub(super) mod whole;
