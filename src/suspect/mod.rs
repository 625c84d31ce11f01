//! The ways a circuit can be bad, how likely each is, what it changes, and what mends it.
