//! A small set of whole numbers, as bits.

/// A set of whole numbers, quick to copy, compare and hash; it grows when something is put in.
#[derive(Debug, Clone, Default, PartialEq, Eq, Hash)]
pub struct BitSet {
    words: Vec<u64>,
}

impl BitSet {
    /// The empty set with room for the numbers below `size`.
    pub fn with_room(size: usize) -> Self {
        Self { words: vec![0; size.div_ceil(64)] }
    }

    /// Puts `number` in.
    pub fn insert(&mut self, number: usize) {
        let word = number / 64;
        if word >= self.words.len() {
            self.words.resize(word + 1, 0);
        }
        self.words[word] |= 1 << (number % 64);
    }

    /// Whether `number` is in.
    pub fn contains(&self, number: usize) -> bool {
        self.words.get(number / 64).is_some_and(|word| word >> (number % 64) & 1 == 1)
    }

    /// Puts everything in that is in `other`.
    pub fn union_with(&mut self, other: &Self) {
        if other.words.len() > self.words.len() {
            self.words.resize(other.words.len(), 0);
        }
        for (mine, theirs) in self.words.iter_mut().zip(&other.words) {
            *mine |= theirs;
        }
    }

    /// Whether nothing is in.
    pub fn is_empty(&self) -> bool {
        self.words.iter().all(|&word| word == 0)
    }

    /// Whether something is in both.
    pub fn intersects(&self, other: &Self) -> bool {
        self.words.iter().zip(&other.words).any(|(mine, theirs)| mine & theirs != 0)
    }

    /// What is in, smallest first.
    pub fn iter(&self) -> impl Iterator<Item = usize> + '_ {
        self.words.iter().enumerate().flat_map(|(at, &word)| {
            let without_lowest = |left: &u64| Some(left & (left - 1)).filter(|&left| left != 0);
            std::iter::successors(Some(word).filter(|&word| word != 0), without_lowest)
                .map(move |left| at * 64 + left.trailing_zeros() as usize)
        })
    }

    /// The bits, 64 to a word, lowest numbers first.
    pub fn words(&self) -> &[u64] {
        &self.words
    }
}

impl FromIterator<usize> for BitSet {
    fn from_iter<I: IntoIterator<Item = usize>>(numbers: I) -> Self {
        let mut set = Self::default();
        for number in numbers {
            set.insert(number);
        }
        set
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn holds_what_was_put_in() {
        let mut set: BitSet = [3, 64, 130].into_iter().collect();
        set.union_with(&[3, 5].into_iter().collect());
        assert_eq!(set.iter().collect::<Vec<_>>(), [3, 5, 64, 130]);
        assert!(set.contains(64) && !set.contains(65) && !set.contains(900));
        assert!(set.intersects(&[130].into_iter().collect()));
        assert!(!set.intersects(&[131].into_iter().collect()));
    }
}
