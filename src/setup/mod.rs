//! How the machine stands for a test, and the network that makes of it.
