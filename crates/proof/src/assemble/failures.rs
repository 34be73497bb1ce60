//! Failures of the report, singly and in pairs.

use crate::analysis::Analysis;
use crate::report::{FailureCounts, FailureLine, GapLine, Pairs, SilentLine};
use loomwright_model::Item;
use loomwright_survival::{Effect, Loss};
use std::collections::BTreeSet;

/// How many pairs of failures are kept by name. Own choice: what fits a page; all are counted.
pub(crate) const PAIRS_KEPT: usize = 20;

/// Every single failure.
pub(super) fn singles(analysis: &Analysis) -> Vec<FailureLine> {
    analysis.survival.effects(&analysis.singles).map(|effect| line(analysis, &effect)).collect()
}

/// What all single failures do, counted.
pub(super) fn counts(analysis: &Analysis) -> FailureCounts {
    let demands = analysis.survival.demands();
    let silent = (0..analysis.singles.losses().len()).map(|failure| analysis.singles.silent(failure));
    let gaps = analysis.survival.interruptions(&analysis.singles).flat_map(|(_, gaps)| gaps);
    FailureCounts {
        tried: analysis.singles.losses().len(),
        silencing: silent.clone().filter(|silent| !silent.is_empty()).count(),
        silencing_essential: silent.filter(|silent| silent.iter().any(|demand| demands[*demand as usize].essential)).count(),
        longest_gap_ns: gaps.map(|(_, gap)| gap.whole().nanoseconds_up()).max(),
    }
}

/// Pairs that silence an essential stream though neither failure does alone.
pub(super) fn pairs(analysis: &Analysis) -> Pairs {
    let doubles = analysis.pairs();
    let worst = doubles.worst.iter().map(|pair| line(analysis, &analysis.survival.whatif(&pair.losses)));
    Pairs { count: doubles.count, worst: worst.collect() }
}

/// One effect, with names.
pub(crate) fn line(analysis: &Analysis, effect: &Effect) -> FailureLine {
    let demands = analysis.survival.demands();
    let named = |demand: &u32| {
        let demand = &demands[*demand as usize];
        SilentLine { stream: (&demand.stream).into(), to: (&demand.to).into() }
    };
    let gap = |(demand, gap): &(u32, loomwright_survival::Gap)| {
        let demand = &demands[*demand as usize];
        (format!("{}>{}", demand.stream, demand.to), gap.whole().nanoseconds_up())
    };
    let gone: BTreeSet<Item> = effect.losses.iter().map(Loss::item).chain(effect.gone_too.iter().cloned()).collect();
    FailureLine {
        without: effect.losses.iter().map(|loss| loss.item().to_string()).collect(),
        frozen: effect.losses.iter().any(Loss::is_frozen),
        gone_too: effect.gone_too.iter().map(|item| item.to_string()).collect(),
        silent: effect.silent.iter().map(named).collect(),
        one_leg_left: effect.one_leg_left.iter().map(named).collect(),
        gap_ns: effect.gaps.iter().map(gap).collect(),
        longest_gap: effect
            .gaps
            .iter()
            .map(|(_, gap)| *gap)
            .max_by_key(loomwright_survival::Gap::whole)
            .map(|gap| GapLine { tree_ns: gap.tree.nanoseconds_up(), members_ns: gap.members.nanoseconds_up() }),
        clock_changes: analysis.clock.changes(&analysis.plan, &analysis.fabric, &gone),
    }
}
