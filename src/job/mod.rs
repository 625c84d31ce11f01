//! One diagnosis, from complaint to proven repair: a fold over [`event::Event`]s.
//!
//! `study` is what is reckoned of a circuit, `course` how belief, machine and minutes stand after each event, with what
//! is proposed then. `state` is the job itself (`fold`: what its events add up to, `known`: what their ids stand
//! for), `entry` what a person says was seen. `shown` makes of it all a [`standing::Standing`], in `words`. `intake`
//! is what can be asked before the first step, `findings` what reckoning finds in a circuit. `journal` is the one
//! door to the disk.

pub mod course;
pub mod entry;
pub mod error;
pub mod event;
pub mod findings;
pub mod fold;
pub mod intake;
pub mod journal;
mod known;
pub mod shown;
pub mod standing;
pub mod state;
pub mod study;
pub mod words;
