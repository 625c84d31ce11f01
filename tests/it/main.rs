//! One binary for all integration tests, a module a theme.

mod files;
