//! A small generator of repeatable numbers.

/// Numbers that look random and are the same for the same seed on every machine.
///
/// **Source**: the SplitMix64 mixing function (Steele, Lea and Flood, 2014, from memory); its own increments and
/// multipliers.
#[derive(Debug, Clone)]
pub(crate) struct Random {
    state: u64,
}

impl Random {
    /// Starts at `seed`.
    pub fn new(seed: u64) -> Self {
        Self { state: seed }
    }

    /// The next 64 bits.
    pub fn next(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.state;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// A number below `limit`; 0 if that is 0.
    pub fn below(&mut self, limit: usize) -> usize {
        ((u128::from(self.next()) * limit as u128) >> 64) as usize
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_stay_below_the_limit_and_reach_all_of_it() {
        let mut random = Random::new(7);
        let mut seen = [0usize; 5];
        (0..1_000).for_each(|_| seen[random.below(5)] += 1);
        assert!(seen.iter().all(|count| *count > 100), "{seen:?}");
        assert_eq!(random.below(0), 0);
    }
}
