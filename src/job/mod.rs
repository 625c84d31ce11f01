//! One diagnosis, from complaint to proven repair: a fold over [`event::Event`]s.
//!
//! `study` is what is reckoned of a circuit before the first reading (with `choice` of the tests worth
//! planning, `complaint`, who would cause it, and `columns`, the expected readings), `pairs` when and which two
//! faults at once are looked at, `course` how machine and minutes stand after each event (`taken`: what a
//! reading counts, `believed`: what all of them make one believe, `severity`: at each grade of a fault), `state`
//! the job itself (`fold`: what its events add up to, `answered`: what an answer says, `known`: what their ids
//! stand for), `present` what there is to show ([`standing::Standing`]), with `words`, `reasons`, `doubt`,
//! `double`, `comings`, `turns`, `paths` and `rows` for its parts, `material` what a repair takes, `ending`,
//! `needs` and `proof` for its end; `past` looks back, `intake` is what can be asked before the first step.
//! `typed` reads what a person types for an answer, `number` its numbers.

pub mod agenda;
pub mod answered;
pub mod battery;
pub mod believed;
pub mod cautions;
pub mod choice;
pub mod columns;
mod comings;
mod complaint;
pub mod course;
pub mod double;
pub mod doubt;
pub mod ending;
pub mod event;
pub mod findings;
pub mod fold;
pub mod intake;
pub mod journal;
mod known;
pub mod learned;
pub mod material;
pub mod needs;
pub mod number;
pub mod pairs;
pub mod past;
pub mod paths;
pub mod present;
pub mod proof;
pub mod reasons;
pub mod rows;
pub mod severity;
pub mod standing;
pub mod state;
pub mod study;
pub mod taken;
pub mod turns;
pub mod typed;
pub mod words;
