//! A set of positions: of facts in the vocabulary, or of rules.

/// Positions, as bits.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Positions(Vec<u64>);

impl Positions {
    /// The set of one position.
    pub fn of(at: usize) -> Self {
        let mut set = Self::default();
        set.add(at);
        set
    }

    /// Adds a position.
    pub fn add(&mut self, at: usize) {
        let word = at / 64;
        if self.0.len() <= word {
            self.0.resize(word + 1, 0);
        }
        self.0[word] |= 1 << (at % 64);
    }

    /// Adds all of another set.
    pub fn add_all(&mut self, other: &Self) {
        if self.0.len() < other.0.len() {
            self.0.resize(other.0.len(), 0);
        }
        self.0.iter_mut().zip(&other.0).for_each(|(own, more)| *own |= more);
    }

    /// Whether a position is in it.
    pub fn has(&self, at: usize) -> bool {
        self.0.get(at / 64).is_some_and(|word| word >> (at % 64) & 1 == 1)
    }

    /// Whether the two sets share a position.
    pub fn meets(&self, other: &Self) -> bool {
        self.0.iter().zip(&other.0).any(|(own, more)| own & more != 0)
    }

    /// The positions, in order.
    pub fn iter(&self) -> impl Iterator<Item = usize> {
        let words = self.0.iter().enumerate();
        words.flat_map(|(word, bits)| {
            (0..64).filter(move |at| bits >> at & 1 == 1).map(move |at| word * 64 + at)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sets_of_facts() {
        let mut set = Positions::of(3);
        set.add_all(&Positions::of(130));
        assert!(set.has(3) && set.has(130) && !set.has(64) && !set.has(900));
        assert_eq!(set.iter().collect::<Vec<_>>(), [3, 130]);
        assert!(set.meets(&Positions::of(130)) && !Positions::of(3).meets(&Positions::of(4)));
        assert!(!Positions::default().meets(&set));
    }
}
