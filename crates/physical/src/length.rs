//! How long a cable may be.

use crate::optics::{OPTICS, Optic};
use loomwright_model::{BitRate, Length, Medium};

/// The longest a cable may be, and what that rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LengthLimit {
    /// Longest length.
    pub most: Length,
    /// What was taken for granted about cable and optics, as a clause.
    pub assumes: &'static str,
    /// Where the figure comes from.
    pub source: &'static str,
}

const GIGABIT: u64 = 1_000_000_000;

/// The limit for a medium at a speed; `None` where there is no such cable (a pluggable port is no cable,
/// or no planning figure is known for the speed).
///
/// The plan names neither cable category nor fibre type, so one of each is assumed and said:
/// copper up to 5 Gb/s category 5e or better, at 10 Gb/s category 6A; fibre up to 1 Gb/s multimode OM2 with
/// short-wave optics, at 10 Gb/s multimode OM3. Single mode reaches much further (5 and 10 km).
///
/// **Source**: copper ISO/IEC 11801 and TIA-568, 100 m channel; fibre see [`OPTICS`] (all read second-hand).
pub fn length_limit(medium: Medium, speed: BitRate) -> Option<LengthLimit> {
    match medium {
        Medium::Copper => copper_limit(speed),
        Medium::Fibre => fibre_limit(speed),
        Medium::Sfp | Medium::SfpPlus => None,
    }
}

fn copper_limit(speed: BitRate) -> Option<LengthLimit> {
    let assumes = match speed.bits_per_second() {
        rate if rate <= 5 * GIGABIT => "category 5e or better, 90 m fixed and 10 m of cords; reeled or stranded cable reaches less",
        rate if rate <= 10 * GIGABIT => "category 6A; category 6 reaches 55 m at most",
        _ => return None,
    };
    Some(LengthLimit { most: Length::from_millimetres(100_000), assumes, source: "ISO/IEC 11801 and TIA-568 channel (read second-hand)" })
}

fn fibre_limit(speed: BitRate) -> Option<LengthLimit> {
    let (phy, fibre, assumes) = match speed.bits_per_second() {
        rate if rate <= GIGABIT => ("1000BASE-SX", "OM2", "multimode OM2 and short-wave optics at both ends"),
        rate if rate <= 10 * GIGABIT => ("10GBASE-SR", "OM3", "multimode OM3 and short-wave optics at both ends"),
        _ => return None,
    };
    let optic: &Optic = OPTICS.iter().find(|optic| optic.phy == phy && optic.fibre == fibre)?;
    Some(LengthLimit { most: optic.reach, assumes, source: optic.source })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_by_medium_and_speed() {
        for (medium, gigabits, metres) in [
            (Medium::Copper, 1, Some(100)),
            (Medium::Copper, 10, Some(100)),
            (Medium::Copper, 25, None),
            (Medium::Fibre, 1, Some(550)),
            (Medium::Fibre, 10, Some(300)),
            (Medium::Sfp, 1, None),
        ] {
            let limit = length_limit(medium, BitRate::from_bits_per_second(gigabits * GIGABIT));
            assert_eq!(limit.map(|limit| limit.most.millimetres() / 1_000), metres, "{medium} {gigabits}");
        }
    }
}
