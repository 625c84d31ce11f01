//! Tests across rooms, a module a theme.

mod belief;
mod plan;
