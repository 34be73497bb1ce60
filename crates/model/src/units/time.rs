//! Short times: packets, queues, cables.

use super::decimal::{self, Unit, UnitError};
use super::quantity::{BitRate, ByteCount};
use std::fmt;
use std::iter::Sum;
use std::ops::{Add, Sub};
use std::str::FromStr;

/// A stretch of time. **Unit**: picosecond, in which one bit at 100 Mb/s, 1, 2.5, 10 and 100 Gb/s
/// is a whole number, so that serialisation is exact. **Range**: up to 213 days.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, serde::Serialize)]
#[serde(transparent)]
pub struct Time(u64);

impl Time {
    const UNITS: &'static [Unit] = &[("ps", 1), ("ns", 1_000), ("us", 1_000_000), ("ms", 1_000_000_000), ("s", 1_000_000_000_000)];
    /// No time at all.
    pub const ZERO: Self = Self(0);
    /// The longest time this type holds; stands for "no bound" nowhere: use `Option` for that.
    pub const MAX: Self = Self(u64::MAX);
    /// What a reader of a plan is told to write.
    pub const EXPECTED: &'static str = "a time such as \"1 ms\"";

    /// From picoseconds.
    pub const fn from_picoseconds(value: u64) -> Self {
        Self(value)
    }

    /// From nanoseconds.
    pub const fn from_nanoseconds(value: u64) -> Self {
        Self(value.saturating_mul(1_000))
    }

    /// From microseconds.
    pub const fn from_microseconds(value: u64) -> Self {
        Self(value.saturating_mul(1_000_000))
    }

    /// From milliseconds.
    pub const fn from_milliseconds(value: u64) -> Self {
        Self(value.saturating_mul(1_000_000_000))
    }

    /// In picoseconds.
    pub const fn picoseconds(self) -> u64 {
        self.0
    }

    /// In nanoseconds, rounded up: a printed worst case is never below the computed one.
    pub const fn nanoseconds_up(self) -> u64 {
        self.0.div_ceil(1_000)
    }

    /// Sum, capped instead of wrapping.
    pub const fn saturating_add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }

    /// Multiple, capped instead of wrapping.
    pub const fn times(self, factor: u64) -> Self {
        Self(self.0.saturating_mul(factor))
    }

    /// How long `data` takes on a link of `rate`, rounded up; `None` for a link of rate zero.
    pub fn to_send(data: ByteCount, rate: BitRate) -> Option<Self> {
        let rate = u128::from(rate.bits_per_second());
        if rate == 0 {
            return None;
        }
        let picoseconds = (u128::from(data.bytes()) * 8 * 1_000_000_000_000).div_ceil(rate);
        Some(Self(u64::try_from(picoseconds).unwrap_or(u64::MAX)))
    }
}

impl Add for Time {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        self.saturating_add(other)
    }
}

impl Sub for Time {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}

impl Sum for Time {
    fn sum<I: Iterator<Item = Self>>(items: I) -> Self {
        items.fold(Self::ZERO, Add::add)
    }
}

impl FromStr for Time {
    type Err = UnitError;
    fn from_str(text: &str) -> Result<Self, UnitError> {
        decimal::read(text, Self::UNITS, Self::EXPECTED).map(Self)
    }
}

impl fmt::Display for Time {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        decimal::write(f, self.0, Self::UNITS, 2)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sending_is_exact_in_picoseconds() {
        let frame = ByteCount::from_bytes(1_542);
        let sent = |rate| Time::to_send(frame, BitRate::from_bits_per_second(rate));
        assert_eq!(sent(1_000_000_000), Some(Time::from_nanoseconds(12_336)));
        assert_eq!(sent(100_000_000), Some(Time::from_nanoseconds(123_360)));
        assert_eq!(sent(0), None);
    }

    #[test]
    fn reads_micro_in_any_spelling() {
        for text in ["125 us", "125 µs", "125 μs", "0.125 ms"] {
            assert_eq!(text.parse(), Ok(Time::from_microseconds(125)), "{text}");
        }
        assert_eq!(Time::from_nanoseconds(212_340).to_string(), "212.34 us");
    }
}
