//! A quick way to tell small numbers apart in a table.

use std::hash::Hasher;

/// Spreads numbers of nodes, blocks or steps over a table.
#[derive(Debug, Default)]
pub(in crate::electric) struct Spreading(u64);

impl Hasher for Spreading {
    fn finish(&self) -> u64 {
        self.0
    }

    fn write(&mut self, bytes: &[u8]) {
        for &byte in bytes {
            self.write_u32(u32::from(byte));
        }
    }

    fn write_u32(&mut self, number: u32) {
        // Fibonacci hashing (D. E. Knuth, from memory).
        self.0 = (self.0 ^ u64::from(number)).wrapping_mul(0x9e37_79b9_7f4a_7c15).rotate_left(26);
    }
}
