//! Sparse linear equations: `equations` of a network, the `ordering` of their elimination, `sparse_lu` factors, single
//! entries of the inverse by `paths`; `dense` for the small; `spreading` tells their numbers apart.

pub(super) mod dense;
pub(super) mod equations;
pub(super) mod ordering;
pub(super) mod paths;
pub(super) mod sparse_lu;
pub(super) mod spreading;
