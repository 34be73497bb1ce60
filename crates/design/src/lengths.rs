//! How long a cable is cut or chosen, and how long it may be.

use loomwright_model::{Length, Medium, Plan};

/// Copper may be planned this long, slack included. **Source**: 90 m is the fixed part of the 100 m channel of
/// TIA-568 and ISO/IEC 11801 (read second-hand); the other 10 m stay for cords.
pub(crate) const COPPER_LIMIT: Length = Length::from_millimetres(90_000);

/// Fibre may be planned this long. **Source**: 1000BASE-LX on single mode, IEEE 802.3 clause 38 (read second-hand).
pub(crate) const FIBRE_LIMIT: Length = Length::from_millimetres(5_000_000);

/// Service slack: 5 % of the way and 2 m at each end. Own choice: enough to reach the port, dress the cable and
/// cut one bad end off; not so much that it lies about in coils.
const SLACK_PERCENT: u64 = 5;
const SLACK_PER_END: u64 = 2_000;

/// A length to cut or to take from the truck.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Cut {
    /// The length.
    pub length: Length,
    /// False if the truck holds no piece that long.
    pub in_stock: bool,
}

/// The longest that a cable of `medium` may be.
pub(crate) fn limit(medium: Medium) -> Length {
    match medium {
        Medium::Copper => COPPER_LIMIT,
        _ => FIBRE_LIMIT,
    }
}

/// The way plus slack, in millimetres, before rounding.
pub(crate) fn with_slack(way: u64) -> u64 {
    way.saturating_add(way.saturating_mul(SLACK_PERCENT).div_ceil(100)).saturating_add(2 * SLACK_PER_END)
}

/// The length for a cable over `way` millimetres of routes: the next stock length, else whole metres
/// (below 10 m) or whole 5 m.
pub(crate) fn cut(plan: &Plan, medium: Medium, way: u64) -> Cut {
    let need = with_slack(way);
    let stock = match medium {
        Medium::Copper => &plan.stock.copper,
        _ => &plan.stock.fibre,
    };
    let longer_than = |least: u64| stock.iter().filter(|piece| piece.millimetres() >= least).min();
    // A piece from the truck that only lacks the 5 % will do: it still reaches both ports with slack at the ends.
    let piece = longer_than(need).or_else(|| longer_than(way.saturating_add(2 * SLACK_PER_END)));
    match piece {
        Some(piece) => Cut { length: *piece, in_stock: true },
        None => Cut { length: made(need), in_stock: stock.is_empty() },
    }
}

/// No two cables over ways of together `both` millimetres are shorter in sum: see [`cut`].
pub(crate) fn least_of_two(both: u64) -> Length {
    Length::from_millimetres(both.saturating_add(4 * SLACK_PER_END))
}

fn made(need: u64) -> Length {
    let step: u64 = if need < 10_000 { 1_000 } else { 5_000 };
    Length::from_millimetres(need.div_ceil(step).saturating_mul(step))
}

/// Whether a cable of `medium` over `way` stays within its limit.
pub(crate) fn within_reach(plan: &Plan, medium: Medium, way: u64) -> bool {
    cut(plan, medium, way).length <= limit(medium)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slack_and_rounding() {
        for (way, metres) in [(0, 4), (4_000, 9), (6_000, 15), (38_000, 45), (80_000, 90), (82_000, 95)] {
            assert_eq!(made(with_slack(way)).millimetres(), metres * 1_000, "{way}");
        }
    }
}
