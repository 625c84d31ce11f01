//! One diagnosis, from complaint to proven repair: a fold over [`event::Event`]s.
//!
//! `study` is what is reckoned of a circuit before the first reading, `course` how belief, machine
//! and minutes stand after each, `event` is what the person did or saw, `standing` is what there is
//! to show after it.

pub mod choice;
pub mod course;
pub mod event;
pub mod paths;
pub mod standing;
pub mod study;
