//! Figures with their units.

use loomwright_model::{BitRate, ByteCount, Length, Power, Time};

/// Nanoseconds.
pub fn time(nanoseconds: u64) -> String {
    Time::from_nanoseconds(nanoseconds).to_string()
}

/// Bits per second.
pub fn rate(bits_per_second: u64) -> String {
    BitRate::from_bits_per_second(bits_per_second).to_string()
}

/// Millimetres.
pub fn length(millimetres: u64) -> String {
    Length::from_millimetres(millimetres).to_string()
}

/// Bytes.
pub fn bytes(bytes: u64) -> String {
    ByteCount::from_bytes(bytes).to_string()
}

/// Milliwatts.
pub fn power(milliwatts: u64) -> String {
    Power::from_milliwatts(milliwatts).to_string()
}

/// How much of `whole` is used, in percent, rounded up: a full link never looks less than full.
pub fn share(part: u64, whole: u64) -> String {
    let percent =
        (u128::from(part) * 100).checked_add(u128::from(whole).saturating_sub(1)).and_then(|sum| sum.checked_div(u128::from(whole)));
    percent.map_or("-".to_owned(), |percent| format!("{percent} %"))
}

/// `1 stream`, `3 streams`.
pub fn count(n: usize, one: &str, several: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {several}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_round_up() {
        for (part, whole, printed) in [(0, 10, "0 %"), (1, 1000, "1 %"), (999, 1000, "100 %"), (1, 0, "-")] {
            assert_eq!(share(part, whole), printed);
        }
    }
}
