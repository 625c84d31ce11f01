//! One diagnosis, from complaint to proven repair: a fold over [`event::Event`]s.
//!
//! `study` is what is reckoned of a circuit before the first reading (with `choice` of the tests worth
//! planning), `course` how belief, machine and minutes stand after each, `state` the job itself,
//! `present` what there is to show ([`standing::Standing`]), with `words`, `reasons`, `doubt`, `paths`
//! and `rows` for its parts.

pub mod agenda;
pub mod battery;
pub mod choice;
pub mod course;
pub mod doubt;
pub mod event;
pub mod findings;
pub mod journal;
pub mod paths;
pub mod present;
pub mod reasons;
pub mod rows;
pub mod standing;
pub mod state;
pub mod study;
pub mod words;
