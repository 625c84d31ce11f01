//! One diagnosis, from complaint to proven repair: a fold over [`event::Event`]s.
//!
//! `event` is what the person did or saw, `standing` is what there is to show after it.

pub mod event;
pub mod standing;
