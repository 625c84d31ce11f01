//! One diagnosis, from complaint to proven repair: a fold over [`event::Event`]s.
//!
//! `study` is what is reckoned of a circuit before the first reading (with `choice` of the tests worth
//! planning), `course` how belief, machine and minutes stand after each, `state` the job itself,
//! `present` what there is to show ([`standing::Standing`]), with `words`, `reasons`, `doubt`, `paths`
//! and `rows` for its parts, `ending`, `needs` and `proof` for its end; `past` looks back, `intake` is what can be
//! asked before the first step.

pub mod agenda;
pub mod battery;
pub mod choice;
pub mod course;
pub mod doubt;
pub mod ending;
pub mod event;
pub mod findings;
pub mod intake;
pub mod journal;
pub mod learned;
pub mod needs;
pub mod past;
pub mod paths;
pub mod present;
pub mod proof;
pub mod reasons;
pub mod rows;
pub mod standing;
pub mod state;
pub mod study;
pub mod words;
