//! What people hold to a circuit and what they would see.
