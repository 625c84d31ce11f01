//! Testers for shorts, drains and joints that come and go: a clamp, millivolts across a fuse, an ammeter or
//! a bulb in its place, a connector moved about, a fused jumper in place of a switch or pin, and a known good
//! relay, bulb or fuse in place of another.
//!
//! They are worth thinking of in few setups only, so they are listed here and not beside every point.
//! `allowed` says which are done, `listed` which are worth it, `shown` what they show.

pub mod allowed;
pub(super) mod listed;
pub mod shown;
