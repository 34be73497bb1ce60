//! Parts of a whole.

use std::fmt;

/// A share between nothing and all. **Unit**: parts per million.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, serde::Serialize)]
#[serde(transparent)]
pub struct Share(u32);

impl Share {
    /// All of it.
    pub const WHOLE: Self = Self(1_000_000);

    /// From parts per million, capped at the whole.
    pub const fn from_parts_per_million(value: u32) -> Self {
        if value > 1_000_000 { Self::WHOLE } else { Self(value) }
    }

    /// From a fraction; `None` unless it lies in 0..=1.
    pub fn from_fraction(value: f64) -> Option<Self> {
        (0.0..=1.0).contains(&value).then(|| Self((value * 1e6).round() as u32))
    }

    /// In parts per million.
    pub const fn parts_per_million(self) -> u32 {
        self.0
    }

    /// This share of `amount`, rounded down.
    pub fn of(self, amount: u64) -> u64 {
        (u128::from(amount) * u128::from(self.0) / 1_000_000) as u64
    }
}

impl fmt::Display for Share {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let tenths = (self.0 + 500) / 1_000;
        match tenths % 10 {
            0 => write!(f, "{} %", tenths / 10),
            rest => write!(f, "{}.{rest} %", tenths / 10),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keeps_to_the_whole() {
        assert_eq!(Share::from_fraction(0.75).map(|s| s.of(1_000_000_000)), Some(750_000_000));
        assert_eq!(Share::from_fraction(1.2), None);
        assert_eq!(Share::from_fraction(f64::NAN), None);
        assert_eq!(Share::from_parts_per_million(155_000).to_string(), "15.5 %");
    }
}
