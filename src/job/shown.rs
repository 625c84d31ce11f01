//! What there is to show of a job.
//!
//! `present` is the whole of it; `reasons` say why, `cautions` what to mind, `rows` are the current paths, `double`
//! speaks of two faults, `comings` of one that comes and goes. `material` is what a repair takes, `proof` how it is
//! proven, `ending` and `needs` its end; `past` looks back.

pub mod cautions;
mod comings;
pub mod double;
pub mod ending;
pub mod material;
pub mod needs;
pub mod past;
pub mod present;
pub mod proof;
pub mod reasons;
pub mod rows;
