//! A circuit as a wiring drawing: current tracks between the supply rail on top and the ground rail below.
//!
//! `chains` reduces the graph, `tracks` says which way is down, `order` puts tracks beside each other,
//! `rows` puts things below each other, `layout` is the result, made of `things`; `svg` and `text` paint it.

pub mod chains;
pub mod colours;
pub mod label;
pub mod layout;
pub mod order;
pub mod paper;
pub mod rows;
pub mod shape;
pub mod svg;
pub mod symbols;
pub mod text;
pub mod things;
pub mod tracks;

use crate::circuit::PartId;

/// What stands out in a drawing.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Marks {
    /// Parts that are framed and crossed.
    pub parts: Vec<PartId>,
}
