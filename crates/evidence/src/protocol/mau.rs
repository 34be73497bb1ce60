//! Speed and duplex by the number of a medium attachment unit, or by its words.
//!
//! **Source**: IANA-MAU-MIB (RFC 4836) `dot3MauType`; numbers from memory. What is not listed stays unknown.

use loomwright_model::BitRate;

const MEGABIT: u64 = 1_000_000;

/// The speed of a unit.
pub const fn speed(number: u16) -> Option<BitRate> {
    let megabits = match number {
        2..=13 => 10,
        14..=20 | 44..=46 => 100,
        21..=30 | 47..=53 => 1_000,
        31..=37 | 40 | 54..=55 => 10_000,
        _ => return None,
    };
    Some(BitRate::from_bits_per_second(megabits * MEGABIT))
}

/// Whether it works both ways at once.
pub const fn full_duplex(number: u16) -> Option<bool> {
    match number {
        10 | 12 | 15 | 17 | 19 | 21 | 23 | 25 | 27 | 29 => Some(false),
        11 | 13 | 16 | 18 | 20 | 22 | 24 | 26 | 28 | 30..=37 | 40 | 44..=55 => Some(true),
        _ => None,
    }
}

/// Speed and duplex from words such as `1000BaseTFD - Four-pair Category 5 UTP, full duplex mode` or `10GbaseT`.
pub fn from_words(words: &str) -> (Option<BitRate>, Option<bool>) {
    let lower = words.to_ascii_lowercase();
    let digits = lower.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(lower.len());
    let (number, rest) = lower.split_at(digits);
    let unit = if rest.starts_with("gig") || rest.starts_with("gb") { 1_000 } else { 1 };
    let rate = rest.contains("base").then(|| thousandths(number)).flatten();
    let speed = rate.map(|rate| BitRate::from_bits_per_second(rate.saturating_mul(unit).saturating_mul(MEGABIT / 1_000)));
    let full = match () {
        () if lower.contains("full duplex") => Some(true),
        () if lower.contains("half duplex") => Some(false),
        () => None,
    };
    (speed, full)
}

/// `2.5` as 2500.
fn thousandths(number: &str) -> Option<u64> {
    let (whole, part) = number.split_once('.').unwrap_or((number, ""));
    let part = format!("{part:0<3}");
    whole.parse::<u64>().ok()?.checked_mul(1_000)?.checked_add(part.get(..3)?.parse().ok()?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_and_numbers_agree() {
        for (words, number, megabits, full) in [
            ("10GbaseT - Four-pair Category 6A or better, full duplex mode only", 54, 10_000, Some(true)),
            ("1000BaseTFD - Four-pair Category 5 UTP, full duplex mode", 30, 1_000, Some(true)),
            ("100BaseTXHD - 2 pair category 5 UTP, half duplex mode", 15, 100, Some(false)),
            ("10BaseTFD - UTP MAU, full duplex mode", 11, 10, Some(true)),
        ] {
            let rate = Some(BitRate::from_bits_per_second(megabits * MEGABIT));
            assert_eq!(from_words(words), (rate, full), "{words}");
            assert_eq!((speed(number), full_duplex(number)), (rate, full), "{number}");
        }
        assert_eq!(from_words("2.5GigT base").0, Some(BitRate::from_bits_per_second(2_500_000_000)));
        assert_eq!(from_words("unknown"), (None, None));
    }
}
