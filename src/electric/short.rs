//! Lists that are short in nearly every case: one entry a port.
//!
//! Not of what borrows a network: such a list would tie a case to the very end of its solver's life.
//!
//! A fault has one or two ports, and a case in which something moves was some seventy allocations.

use smallvec::SmallVec;

/// An entry a port.
pub(super) type PerPort<T> = SmallVec<[T; 4]>;

/// An entry for each port and drive.
pub(super) type PerPair = SmallVec<[f64; 16]>;
