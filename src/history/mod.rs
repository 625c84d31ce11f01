//! What a shop learns from its finished jobs, and how: counts, pooled, never instead of the catalogue.
//!
//! `record` is what one finished job says, `ledger` the file that all of them stand in, `pool` the formulas,
//! `teach` what follows for a circuit ([`crate::job::study::learned::Learned`]) and why, `family` what counts as the
//! same kind of part.

pub mod family;
pub mod ledger;
pub mod pool;
pub mod record;
pub mod teach;
