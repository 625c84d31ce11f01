//! Tests across rooms, a module a theme.

mod plan;
