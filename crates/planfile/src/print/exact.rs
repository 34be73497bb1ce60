//! Quantities written without loss: what is read back is the same number.

use loomwright_model::{BitRate, ByteCount, Frequency, Hours, Length, Money, Power, Share, Time};

/// A quantity that can be written exactly.
pub(crate) trait Exact {
    /// Number and unit.
    fn exact(&self) -> String;
}

/// `value / 10^digits` as a decimal number without trailing zeros.
pub(crate) fn decimal(value: u64, digits: u32) -> String {
    let scale = 10_u64.saturating_pow(digits);
    let (whole, rest) = (value / scale, value % scale);
    if rest == 0 {
        return whole.to_string();
    }
    let rest = format!("{rest:0width$}", width = digits as usize);
    format!("{whole}.{}", rest.trim_end_matches('0'))
}

/// Writes in the largest of `units` (name, power of ten) that leaves at least 1.
fn scaled(value: u64, units: &[(&str, u32)]) -> String {
    let fits = |(_, digits): &&(&str, u32)| value >= 10_u64.saturating_pow(*digits);
    let (name, digits) = units.iter().rev().find(fits).or(units.first()).copied().unwrap_or(("", 0));
    format!("{} {name}", decimal(value, digits))
}

impl Exact for Time {
    fn exact(&self) -> String {
        scaled(self.picoseconds(), &[("ps", 0), ("ns", 3), ("us", 6), ("ms", 9), ("s", 12)])
    }
}

impl Exact for BitRate {
    fn exact(&self) -> String {
        scaled(self.bits_per_second(), &[("b/s", 0), ("kb/s", 3), ("Mb/s", 6), ("Gb/s", 9)])
    }
}

impl Exact for ByteCount {
    fn exact(&self) -> String {
        scaled(self.bytes(), &[("B", 0), ("kB", 3), ("MB", 6)])
    }
}

impl Exact for Frequency {
    fn exact(&self) -> String {
        scaled(self.millihertz(), &[("Hz", 3), ("kHz", 6), ("MHz", 9)])
    }
}

impl Exact for Length {
    /// Always metres: what is on the reel and on the tape measure.
    fn exact(&self) -> String {
        format!("{} m", decimal(self.millimetres(), 3))
    }
}

impl Exact for Power {
    fn exact(&self) -> String {
        scaled(self.milliwatts(), &[("mW", 0), ("W", 3)])
    }
}

impl Exact for Hours {
    fn exact(&self) -> String {
        match self.seconds() {
            seconds if seconds % 3_600 == 0 => format!("{} h", seconds / 3_600),
            seconds if seconds % 60 == 0 => format!("{} min", seconds / 60),
            seconds => format!("{seconds} s"),
        }
    }
}

impl Exact for Share {
    fn exact(&self) -> String {
        decimal(u64::from(self.parts_per_million()), 6)
    }
}

impl Exact for Money {
    fn exact(&self) -> String {
        decimal(self.hundredths(), 2)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn what_is_written_is_read_exactly(value in prop_oneof![any::<u64>(), 0_u64..10_000_000], share in 0_u32..=1_000_000) {
            // Up to a thousandth of the largest number: written in the largest unit it still fits.
            let value = value / 1_000;
            prop_assert_eq!(Time::from_picoseconds(value).exact().parse(), Ok(Time::from_picoseconds(value)));
            prop_assert_eq!(BitRate::from_bits_per_second(value).exact().parse(), Ok(BitRate::from_bits_per_second(value)));
            prop_assert_eq!(ByteCount::from_bytes(value).exact().parse(), Ok(ByteCount::from_bytes(value)));
            prop_assert_eq!(Frequency::from_millihertz(value).exact().parse(), Ok(Frequency::from_millihertz(value)));
            prop_assert_eq!(Length::from_millimetres(value).exact().parse(), Ok(Length::from_millimetres(value)));
            prop_assert_eq!(Power::from_milliwatts(value).exact().parse(), Ok(Power::from_milliwatts(value)));
            prop_assert_eq!(Hours::from_seconds(value).exact().parse(), Ok(Hours::from_seconds(value)));
            let share = Share::from_parts_per_million(share);
            prop_assert_eq!(share.exact().parse().ok().and_then(Share::from_fraction), Some(share));
        }
    }

    #[test]
    fn reads_as_people_write() {
        assert_eq!(Length::from_millimetres(2_500).exact(), "2.5 m");
        assert_eq!(Length::from_millimetres(1_250_000).exact(), "1250 m");
        assert_eq!(Time::from_nanoseconds(125_000).exact(), "125 us");
        assert_eq!(Hours::from_seconds(5_400).exact(), "90 min");
        assert_eq!(Money::from_hundredths(1_250).exact(), "12.5");
        assert_eq!(Frequency::from_millihertz(44_100_000).exact(), "44.1 kHz");
    }
}
