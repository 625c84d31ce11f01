//! The planner played against every suspect in turn, beside simpler ways of working.
