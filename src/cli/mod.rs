//! The command line: what was typed, what is printed, how it ends.
