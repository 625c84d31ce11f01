//! One binary for all integration tests, a module a theme.
#![allow(
    clippy::unwrap_used,
    clippy::disallowed_methods,
    reason = "tests read their own data files, and a failed unwrap is a failed test"
)]

mod files;
