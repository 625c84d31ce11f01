//! The screen of `find`.
