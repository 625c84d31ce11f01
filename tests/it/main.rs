//! All integration tests, one module a theme.

mod screens;
