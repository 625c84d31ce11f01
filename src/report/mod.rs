//! What is printed: fault trees, job cards, wiring drawings and sheets of expected readings, each a plain value and one file a format.
//!
//! `tree` grows the whole policy of a circuit, `card` takes a job together, `drill` is the review of a
//! drill and the question sheets, `class` the record of many drills. `page` is what
//! their pages share, `plain` makes text harmless in each format, `mark` tells our files from others.

pub mod card;
pub mod class;
pub mod draw;
pub mod drill;
pub mod mark;
pub mod page;
pub mod plain;
pub mod sheet;
pub mod tree;
