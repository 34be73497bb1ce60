//! How long a cable is cut or chosen, and how long it may be.

use loomwright_model::plan::Counted;
use loomwright_model::{Length, Medium, Plan};
use loomwright_placement::stock::{self, Pieces};

/// Copper may be planned this long, slack included. **Source**: 90 m is the fixed part of the 100 m channel of
/// TIA-568 and ISO/IEC 11801 (read second-hand); the other 10 m stay for cords.
pub(crate) const COPPER_LIMIT: Length = Length::from_millimetres(90_000);

/// Fibre may be planned this long. **Source**: 1000BASE-LX on single mode, IEEE 802.3 clause 38 (read second-hand).
pub(crate) const FIBRE_LIMIT: Length = Length::from_millimetres(5_000_000);

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

/// The way plus the plan's slack, in millimetres, before rounding.
pub(crate) fn with_slack(plan: &Plan, way: u64) -> u64 {
    let along = u128::from(way) * u128::from(plan.stock.slack.along.parts_per_million());
    at_least(plan, way).saturating_add(u64::try_from(along.div_ceil(1_000_000)).unwrap_or(u64::MAX))
}

/// The way plus what must be left at both ends: a service loop only where the cable leaves its place.
fn at_least(plan: &Plan, way: u64) -> u64 {
    let slack = plan.stock.slack;
    let coil = if way > 0 { slack.service_loop.millimetres() } else { 0 };
    way.saturating_add(slack.per_end.millimetres().saturating_add(coil).saturating_mul(2))
}

/// The length for a cable over `way` millimetres of routes: the next stock length, else whole metres
/// (below 10 m) or whole 5 m.
pub(crate) fn cut(plan: &Plan, medium: Medium, way: u64) -> Cut {
    let need = with_slack(plan, way);
    let longer_than = |least: u64| plan.stock.lengths(medium).filter(|piece| piece.millimetres() >= least).min();
    // A piece from the truck that only lacks the share of the way will do: it still reaches both ports with slack at the ends.
    match longer_than(need).or_else(|| longer_than(at_least(plan, way))) {
        Some(length) => Cut { length, in_stock: true },
        None => Cut { length: made(need), in_stock: !plan.stock.has_lengths(medium) || on_a_reel(plan, medium, made(need)) },
    }
}

/// Whether some reel is that long.
fn on_a_reel(plan: &Plan, medium: Medium, length: Length) -> bool {
    plan.stock.reels(medium).iter().any(|reel| reel.count > 0 && reel.length >= length)
}

/// No cable of `medium` over `way` is shorter.
pub(crate) fn shortest(plan: &Plan, medium: Medium, way: u64) -> Length {
    let cut = cut(plan, medium, way).length;
    let may_be_made = !plan.stock.counted(medium).is_empty() || !plan.stock.reels(medium).is_empty();
    if may_be_made { cut.min(made(with_slack(plan, way))) } else { cut }
}

/// Lengths for all cables of one medium together, ways given; `taken` are those of cables that hold their pieces. Counted pieces go to the longest first and are not given out
/// twice. What they do not serve comes as long as it is needed, off a reel or made.
pub(crate) fn cut_all(plan: &Plan, medium: Medium, ways: &[u64], taken: &[Length]) -> Vec<Cut> {
    let counted = plan.stock.counted(medium);
    if counted.is_empty() {
        return ways.iter().map(|way| cut(plan, medium, *way)).collect();
    }
    let unlimited = plan.stock.lengths(medium).filter(|length| counted.iter().all(|own| own.length != *length));
    let mut pieces: Vec<Pieces> = unlimited.map(|length| Pieces { length: length.millimetres(), count: None }).collect();
    let left = |own: &Counted| {
        let gone = taken.iter().filter(|length| **length == own.length).count();
        own.count.saturating_sub(u32::try_from(gone).unwrap_or(u32::MAX))
    };
    pieces.extend(counted.iter().map(|own| Pieces { length: own.length.millimetres(), count: Some(left(own)) }));
    pieces.retain(|piece| piece.length <= limit(medium).millimetres());
    let first: Vec<u64> = ways.iter().map(|way| with_slack(plan, *way)).collect();
    let chosen = stock::choose(&first, &pieces);
    let lengths = ways.iter().zip(&first).zip(chosen).map(|((_, need), chosen)| match chosen {
        Some(at) => Cut { length: Length::from_millimetres(pieces[at].length), in_stock: true },
        None => Cut { length: made(*need), in_stock: on_a_reel(plan, medium, made(*need)) },
    });
    lengths.collect()
}

/// No two cables over ways of together `both` millimetres are shorter in sum: see [`cut`].
pub(crate) fn least_of_two(plan: &Plan, both: u64) -> Length {
    Length::from_millimetres(at_least(plan, both).saturating_add(at_least(plan, 0)))
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
    use crate::plans::{empty, metres};

    #[test]
    fn slack_and_rounding() {
        let plan = empty();
        for (way, metres) in [(0, 4), (4_000, 9), (6_000, 15), (38_000, 45), (80_000, 90), (82_000, 95)] {
            assert_eq!(made(with_slack(&plan, way)).millimetres(), metres * 1_000, "{way}");
        }
    }

    fn counted(length: u64, count: u32) -> Counted {
        Counted { length: metres(length), count }
    }

    #[test]
    fn counted_pieces_are_given_out_once_and_the_longest_run_first() {
        let mut plan = empty();
        plan.stock.copper_count = vec![counted(10, 1), counted(50, 2)];
        plan.stock.copper_reels = vec![counted(100, 1)];
        let lengths = |plan: &Plan, ways: &[u64], taken: &[Length]| -> Vec<u64> {
            cut_all(plan, Medium::Copper, ways, taken).iter().map(|cut| cut.length.millimetres() / 1_000).collect()
        };
        assert_eq!(lengths(&plan, &[5_000, 30_000, 5_000, 40_000], &[]), [10, 50, 10, 50], "the third is made, and 10 m long");
        assert_eq!(lengths(&plan, &[30_000, 40_000, 20_000], &[]), [50, 50, 25], "two pieces, then off the reel");
        assert_eq!(lengths(&plan, &[30_000, 40_000], &[metres(50)]), [40, 50], "one piece holds another cable");
        plan.stock.slack.service_loop = metres(3);
        assert_eq!(lengths(&plan, &[0, 44_000], &[]), [10, 60], "coils only where the cable leaves its place");
    }
}
