//! Shares and slopes in fixed point, divided once for each pair of times.
//!
//! A network has few frame sizes, periods and speeds, so nearly every ratio was just worked out. A wide division
//! costs some twenty times as much as looking it up.

use crate::curve::ONE;

/// How many ratios are kept. Own choice: some sizes times some speeds; fits the nearest cache.
const KEPT: usize = 64;

/// Ratios worked out lately: numerator, denominator, value.
pub(crate) struct Ratios([(u64, u64, u128); KEPT]);

impl Default for Ratios {
    fn default() -> Self {
        Self([(0, 1, 0); KEPT])
    }
}

impl Ratios {
    /// `numerator / denominator`, rounded up.
    pub(crate) fn of(&mut self, numerator: u64, denominator: u64) -> u128 {
        // Multiplicative hashing; the constant is 2^64 over the golden ratio (Knuth, from memory).
        let mixed = (numerator ^ denominator.rotate_left(32)).wrapping_mul(0x9E37_79B9_7F4A_7C15);
        let slot = &mut self.0[(mixed >> 58) as usize];
        if (slot.0, slot.1) != (numerator, denominator) {
            *slot = (numerator, denominator, ratio(numerator, denominator));
        }
        slot.2
    }
}

/// `numerator / denominator` in fixed point, rounded up.
pub(crate) fn ratio(numerator: u64, denominator: u64) -> u128 {
    (u128::from(numerator) * ONE).div_ceil(u128::from(denominator))
}
