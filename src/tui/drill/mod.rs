//! A drill in front of a person, line by line: `order` reads what is typed, `lists` what can be done now,
//! [`talk`] holds the conversation, and `screen` shows it with the machine beside it.
//!
//! What is written is text and line ends; a line in is an order, part of a name, or the number of a choice.

mod help;
mod lists;
mod order;
mod pick;
pub mod screen;
pub mod talk;

pub use talk::{Asking, run};
