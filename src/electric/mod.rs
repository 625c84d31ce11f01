//! Direct-current networks and their operating points. Knows volts and ohms, not circuits or suspects.

pub mod network;
