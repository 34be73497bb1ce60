//! The plain quantities; [`super::Time`] and [`super::Share`] have files of their own.

use super::decimal::{self, Unit, UnitError};
use std::fmt;
use std::iter::Sum;
use std::ops::{Add, Sub};
use std::str::FromStr;

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $from:ident, $read:ident, $expected:literal, $digits:literal, $units:expr) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, serde::Serialize)]
        #[serde(transparent)]
        pub struct $name(u64);

        impl $name {
            const UNITS: &'static [Unit] = $units;
            /// Nothing.
            pub const ZERO: Self = Self(0);
            /// What a reader of a plan is told to write.
            pub const EXPECTED: &'static str = $expected;

            /// From base units.
            pub const fn $from(value: u64) -> Self {
                Self(value)
            }

            /// In base units.
            pub const fn $read(self) -> u64 {
                self.0
            }

            /// Sum, capped at the largest value instead of wrapping.
            pub const fn saturating_add(self, other: Self) -> Self {
                Self(self.0.saturating_add(other.0))
            }

            /// Multiple, capped at the largest value instead of wrapping.
            pub const fn times(self, factor: u64) -> Self {
                Self(self.0.saturating_mul(factor))
            }
        }

        impl Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                self.saturating_add(other)
            }
        }

        impl Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0.saturating_sub(other.0))
            }
        }

        impl Sum for $name {
            fn sum<I: Iterator<Item = Self>>(items: I) -> Self {
                items.fold(Self::ZERO, Add::add)
            }
        }

        impl FromStr for $name {
            type Err = UnitError;
            fn from_str(text: &str) -> Result<Self, UnitError> {
                decimal::read(text, Self::UNITS, Self::EXPECTED).map(Self)
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                decimal::write(f, self.0, Self::UNITS, $digits)
            }
        }
    };
}

quantity!(
    /// Rate of data. **Unit**: bit/s.
    BitRate, from_bits_per_second, bits_per_second, "a data rate such as \"1 Gb/s\"", 3,
    &[("b/s", 1), ("kb/s", 1_000), ("Mb/s", 1_000_000), ("Gb/s", 1_000_000_000)]
);
quantity!(
    /// Amount of data. **Unit**: byte (octet).
    ByteCount, from_bytes, bytes, "an amount of data such as \"512 kB\"", 1,
    &[("B", 1), ("kB", 1_000), ("MB", 1_000_000)]
);
quantity!(
    /// How often. **Unit**: millihertz, so that 44.1 kHz and pulled rates stay exact.
    Frequency, from_millihertz, millihertz, "a frequency such as \"48 kHz\"", 4,
    &[("Hz", 1_000), ("kHz", 1_000_000), ("MHz", 1_000_000_000)]
);
quantity!(
    /// Distance. **Unit**: millimetre.
    Length, from_millimetres, millimetres, "a length such as \"24 m\"", 2,
    &[("mm", 1), ("cm", 10), ("m", 1_000), ("km", 1_000_000)]
);
quantity!(
    /// Electrical power. **Unit**: milliwatt.
    Power, from_milliwatts, milliwatts, "a power such as \"30 W\"", 2,
    &[("mW", 1), ("W", 1_000), ("kW", 1_000_000)]
);
quantity!(
    /// Long stretches of time: lifetimes, repair times, show lengths. **Unit**: second.
    Hours, from_seconds, seconds, "a long time such as \"200000 h\"", 1,
    &[("s", 1), ("min", 60), ("h", 3_600)]
);

impl Length {
    /// In metres, for drawing and printing only.
    pub fn metres(self) -> f64 {
        self.0 as f64 / 1_000.0
    }
}

impl Hours {
    /// In hours, for availability arithmetic.
    pub fn hours(self) -> f64 {
        self.0 as f64 / 3_600.0
    }
}

/// Cost, in hundredths of whatever currency the plan uses throughout. The plan writes plain numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, serde::Serialize)]
#[serde(transparent)]
pub struct Money(u64);

impl Money {
    /// Nothing.
    pub const ZERO: Self = Self(0);

    /// From hundredths.
    pub const fn from_hundredths(value: u64) -> Self {
        Self(value)
    }

    /// In hundredths.
    pub const fn hundredths(self) -> u64 {
        self.0
    }

    /// Multiple, capped instead of wrapping.
    pub const fn times(self, factor: u64) -> Self {
        Self(self.0.saturating_mul(factor))
    }
}

impl Add for Money {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl Sum for Money {
    fn sum<I: Iterator<Item = Self>>(items: I) -> Self {
        items.fold(Self::ZERO, Add::add)
    }
}

impl fmt::Display for Money {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 % 100 {
            0 => write!(f, "{}", self.0 / 100),
            cents => write!(f, "{}.{cents:02}", self.0 / 100),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_and_prints_what_people_write() {
        for (text, millimetres, printed) in
            [("24 m", 24_000, "24 m"), ("1.25 km", 1_250_000, "1.25 km"), ("5 cm", 50, "5 cm"), ("0.5m", 500, "50 cm")]
        {
            let length: Length = text.parse().expect("a good length");
            assert_eq!(length.millimetres(), millimetres, "{text}");
            assert_eq!(length.to_string(), printed, "{text}");
        }
        assert_eq!("2.5 Gb/s".parse(), Ok(BitRate::from_bits_per_second(2_500_000_000)));
        assert_eq!("44.1 kHz".parse(), Ok(Frequency::from_millihertz(44_100_000)));
        assert_eq!("200000 h".parse(), Ok(Hours::from_seconds(720_000_000)));
    }

    #[test]
    fn says_what_was_expected() {
        for (text, reason) in [
            ("24", "missing"),
            ("24 ft", "not known"),
            ("-3 m", "negative"),
            ("NaN", "no number"),
            ("", "no number"),
            ("1.2.3 m", "fits"),
            ("99999999999999999999 m", "fits"),
        ] {
            let error = text.parse::<Length>().expect_err("a bad length").to_string();
            assert!(error.contains(reason) && error.contains("\"24 m\""), "{text}: {error}");
        }
    }

    #[test]
    fn never_wraps() {
        let most = Length::from_millimetres(u64::MAX);
        assert_eq!(most + most, most);
        assert_eq!(Length::ZERO - most, Length::ZERO);
    }
}
