//! A quick hash for long lists of words that the planner makes itself: nobody chooses them to collide.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};

/// A map by such lists. Its order means nothing and is never walked.
pub type WordMap<K, V> = HashMap<K, V, BuildHasherDefault<WordHasher>>;

/// Multiplies and turns, a word at a time.
#[derive(Debug, Default)]
pub struct WordHasher(u64);

impl Hasher for WordHasher {
    fn write(&mut self, bytes: &[u8]) {
        let (words, rest) = bytes.as_chunks::<8>();
        for word in words {
            self.write_u64(u64::from_le_bytes(*word));
        }
        for byte in rest {
            self.write_u64(u64::from(*byte));
        }
    }

    fn write_u64(&mut self, word: u64) {
        // The turn brings what multiplying has moved up back down.
        self.0 = (self.0.rotate_left(26) ^ word).wrapping_mul(0x517c_c1b7_2722_0a95);
    }

    fn finish(&self) -> u64 {
        // Maps look at the lowest bits and at the highest.
        let folded = (self.0 ^ self.0 >> 32).wrapping_mul(0xd6e8_feb8_6659_fd93);
        folded ^ folded >> 32
    }
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;
    use std::hash::{BuildHasher, BuildHasherDefault};

    use super::WordHasher;

    #[test]
    fn lists_that_differ_in_one_likelihood_fall_apart() {
        let hasher = BuildHasherDefault::<WordHasher>::default();
        let list = |at: usize, share: f64| {
            let mut words = vec![0.5_f64.to_bits(); 100];
            words[at] = share.to_bits();
            words
        };
        let shares = [0.0, 0.01, 0.25, 0.98, 1.0];
        let lists = (0..100).flat_map(|at| shares.map(|share| list(at, share)));
        let hashes: HashSet<u64> = lists.map(|list| hasher.hash_one(list)).collect();
        assert_eq!(hashes.len(), 500);
        // Buckets are chosen by the lowest bits.
        let low: HashSet<u64> = hashes.iter().map(|hash| hash % 4_096).collect();
        assert!(low.len() > 420, "{}", low.len());
    }
}
