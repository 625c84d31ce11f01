//! What is printed: job card, tables.
