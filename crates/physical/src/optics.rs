//! Optical budgets: how far a pair of optics reaches, and what is left over.
//!
//! Laser light in fibre is invisible: nobody looks into a fibre or an open port, unused ports are
//! capped, and IEC 60825-1 and -2 and local rules decide.

use loomwright_model::Length;
use std::fmt;
use std::ops::{Add, Sub};

/// A ratio of optical powers. **Unit**: a thousandth of a decibel; may be negative.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Decibels(i64);

impl Decibels {
    /// From thousandths of a decibel.
    pub const fn from_thousandths(value: i64) -> Self {
        Self(value)
    }

    /// In thousandths of a decibel.
    pub const fn thousandths(self) -> i64 {
        self.0
    }

    /// So many times this loss.
    pub const fn times(self, count: u32) -> Self {
        Self(self.0.saturating_mul(count as i64))
    }
}

impl Add for Decibels {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl Sub for Decibels {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}

impl fmt::Display for Decibels {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.2} dB", self.0 as f64 / 1_000.0)
    }
}

/// One kind of optics on one kind of fibre. A link must hold both its reach and its power budget.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Optic {
    /// Its name in IEEE 802.3.
    pub phy: &'static str,
    /// The fibre: core and modal bandwidth in MHz km, `OM1` to `OM4`, or `single mode`.
    pub fibre: &'static str,
    /// Farthest.
    pub reach: Length,
    /// Least launched and least received power, thousandths of dBm; `None` where the standard budgets otherwise.
    pub powers: Option<[i64; 2]>,
    /// Largest loss of the cable plant; `None` where only memory has a figure.
    pub most_loss: Option<Decibels>,
    /// Where the figures come from.
    pub source: &'static str,
}

impl Optic {
    /// What the plant and all ageing may take: least launched minus least received power.
    pub fn budget(&self) -> Option<Decibels> {
        self.powers.map(|[launched, received]| Decibels::from_thousandths(launched.saturating_sub(received)))
    }
}

const fn optic(phy: &'static str, fibre: &'static str, metres: u64, (powers, most_loss): (Option<[i64; 2]>, Option<i64>)) -> Optic {
    let most_loss = match most_loss {
        Some(loss) => Some(Decibels::from_thousandths(loss)),
        None => None,
    };
    let source = "IEEE 802.3 (read second-hand, in equipment tables)";
    Optic { phy, fibre, reach: Length::from_millimetres(metres * 1_000), powers, most_loss, source }
}

const SX: Option<[i64; 2]> = Some([-9_500, -17_000]);

/// Optics in common use.
///
/// **Source**: IEEE 802.3, clauses 38, 52 and 68, read second-hand in equipment tables that repeat them; 10GBASE-SR on
/// OM1 and OM2 and the loss limit of OM3 from memory.
pub const OPTICS: &[Optic] = &[
    optic("1000BASE-SX", "62.5/160", 220, (SX, Some(2_380))),
    optic("1000BASE-SX", "62.5/200", 275, (SX, Some(2_600))),
    optic("1000BASE-SX", "OM1", 275, (SX, Some(2_600))),
    optic("1000BASE-SX", "50/400", 500, (SX, Some(3_370))),
    optic("1000BASE-SX", "50/500", 550, (SX, Some(3_560))),
    optic("1000BASE-SX", "OM2", 550, (SX, Some(3_560))),
    optic("1000BASE-LX", "SM", 5_000, (Some([-11_000, -19_000]), Some(4_570))),
    optic("10GBASE-SR", "OM1", 33, (None, None)),
    optic("10GBASE-SR", "OM2", 82, (None, None)),
    optic("10GBASE-SR", "OM3", 300, (None, Some(2_600))),
    optic("10GBASE-SR", "OM4", 400, (None, None)),
    optic("10GBASE-LRM", "OM3", 220, (None, Some(1_900))),
    optic("10GBASE-LR", "SM", 10_000, (Some([-8_200, -14_400]), Some(6_200))),
];

/// What lies between two optics.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Plant {
    /// Length of fibre.
    pub length: Length,
    /// Loss of a kilometre.
    pub loss_per_kilometre: Decibels,
    /// Mated connectors and the loss of each.
    pub connectors: (u32, Decibels),
    /// Splices and the loss of each.
    pub splices: (u32, Decibels),
    /// Anything else, such as the loss of higher modes.
    pub other: Decibels,
}

impl Plant {
    /// A plant of patch cable at the highest loss the cabling standards allow: multimode 3.5 dB/km and
    /// 0.75 dB for each mated connector. **Source**: TIA-568, partly from memory.
    pub const fn multimode(length: Length, connectors: u32) -> Self {
        let (fibre, connector) = (Decibels::from_thousandths(3_500), Decibels::from_thousandths(750));
        let none = Decibels::from_thousandths(0);
        Self { length, loss_per_kilometre: fibre, connectors: (connectors, connector), splices: (0, none), other: none }
    }

    /// Its whole loss, rounded up to a thousandth of a decibel.
    pub fn loss(&self) -> Decibels {
        let length = i128::from(self.length.millimetres());
        let fibre = (length * i128::from(self.loss_per_kilometre.0) + 999_999).div_euclid(1_000_000);
        let fibre = Decibels(i64::try_from(fibre).unwrap_or(i64::MAX));
        fibre + self.connectors.1.times(self.connectors.0) + self.splices.1.times(self.splices.0) + self.other
    }
}

/// What is left of `budget` over `plant`; below zero the link does not work. 3 dB are wanted against
/// ageing and dirt (common practice, no source).
pub fn margin(budget: Decibels, plant: &Plant) -> Decibels {
    budget - plant.loss()
}

/// Whether an optic works over a plant: its reach first (dispersion), then its power.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OpticalVerdict {
    /// Both hold.
    Works,
    /// Longer than the optic reaches, whatever the power.
    BeyondReach(Length),
    /// More loss than the standard allows the plant.
    TooMuchLoss(Decibels),
}

/// Tests both limits of an optic.
pub fn verdict(optic: &Optic, plant: &Plant) -> OpticalVerdict {
    if plant.length > optic.reach {
        return OpticalVerdict::BeyondReach(optic.reach);
    }
    match optic.most_loss.or_else(|| optic.budget()) {
        Some(most) if plant.loss() > most => OpticalVerdict::TooMuchLoss(most),
        _ => OpticalVerdict::Works,
    }
}
