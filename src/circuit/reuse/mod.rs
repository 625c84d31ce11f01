//! Circuits put together from several files: pieces that are included, and what differs on one's own
//! machine from a circuit that stays as it is.
//!
//! All of it happens on located trees. What comes out is one tree with the sections of a single
//! file, each node with its place in the file it comes from, so that `read` need not know. `shelf` is
//! where other files come from, `gather` follows what files name, `sections` lays theirs together,
//! `change` and `absent` do what an overlay says, `whole` writes the tree as one file for a job.

mod absent;
mod change;
mod gather;
mod sections;
pub mod shelf;
mod whole;

pub use change::CHANGE_KEYS;
pub use gather::{Gathered, MOST_FILES, MOST_NESTED, Text, gather};
pub use whole::whole;
