//! Shares of suspicion, and how a reading moves them.
