//! The classic formulas, for single items and small groups.

/// Share of time that an item is up. **Unit**: both times the same. **Source**: A = MTBF / (MTBF + MTTR), inherent
/// availability of MIL-HDBK-338B.
pub fn up_share(mtbf: f64, mttr: f64) -> f64 {
    mtbf / (mtbf + mttr)
}

/// Share of time that an item is down, without the loss of figures that `1 - up_share` has.
pub fn down_share(mtbf: f64, mttr: f64) -> f64 {
    mttr / (mtbf + mttr)
}

/// Chance that an item fails within `hours` with no repair: 1 - exp(-hours / MTBF).
pub fn fails_within(mtbf: f64, hours: f64) -> f64 {
    -(-hours / mtbf).exp_m1()
}

/// Chance that at least one of several independent items is down.
pub fn any_down(downs: impl IntoIterator<Item = f64>) -> f64 {
    -downs.into_iter().map(|down| (-down).ln_1p()).sum::<f64>().exp_m1()
}

/// Chance that all of several independent items are down.
pub fn all_down(downs: impl IntoIterator<Item = f64>) -> f64 {
    downs.into_iter().product()
}

/// Chance that at least `least` of `of` equal items are up.
pub fn at_least(least: u32, of: u32, up: f64) -> f64 {
    let exactly = |count: u32| choose(of, count) * up.powi(count as i32) * (1.0 - up).powi((of - count) as i32);
    (least..=of).map(exactly).sum()
}

fn choose(of: u32, count: u32) -> f64 {
    (0..count).fold(1.0, |product, n| product * f64::from(of - n) / f64::from(n + 1))
}

/// Mean time between failures of items that are all needed: rates add.
pub fn series_mtbf(mtbfs: impl IntoIterator<Item = f64>) -> f64 {
    1.0 / mtbfs.into_iter().map(|mtbf| 1.0 / mtbf).sum::<f64>()
}

/// Minutes down in a year of 365 days.
pub fn minutes_down_per_year(down: f64) -> f64 {
    down * 365.0 * 24.0 * 60.0
}

/// One of two equal items is enough. Failure and repair rates, and how many can be repaired at once.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OneOfTwo {
    /// Failures per hour of one item.
    pub failure_rate: f64,
    /// Repairs per hour.
    pub repair_rate: f64,
    /// Whether both can be repaired at the same time.
    pub two_repairers: bool,
}

impl OneOfTwo {
    /// Share of time that both are down. **Source**: two-state Markov chains, any reliability text.
    pub fn down_share(&self) -> f64 {
        let (fails, repairs) = (self.failure_rate, self.repair_rate);
        if self.two_repairers {
            return (fails / (fails + repairs)).powi(2);
        }
        2.0 * fails * fails / (repairs * repairs + 2.0 * fails * repairs + 2.0 * fails * fails)
    }

    /// Mean time until both are down for the first time: (3 l + m) / (2 l^2). **Source**: any reliability text.
    pub fn mean_time_to_failure(&self) -> f64 {
        (3.0 * self.failure_rate + self.repair_rate) / (2.0 * self.failure_rate * self.failure_rate)
    }
}

/// Mean time to the first failure without repair of a system of equal items that fail at `rate`.
/// `working[i]` is how many sets of `i` working items keep it up.
///
/// Integral of the sum of working[i] p^i (1-p)^(m-i) with p = exp(-rate t), term by term.
pub fn mean_time_to_failure(working: &[f64], rate: f64) -> f64 {
    let items = working.len().saturating_sub(1) as u32;
    let terms = working.iter().zip(0u32..).skip(1).map(|(sets, up)| sets / (f64::from(up) * choose(items, up)));
    terms.sum::<f64>() / rate
}
