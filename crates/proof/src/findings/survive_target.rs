//! `survive/target`.

use super::*;

rule! {
    /// Two failures together silence an essential stream, and the plan wants any two to be survived.
    ///
    /// Pairs are counted where neither failure silences the stream alone. Two networks survive any one failure;
    /// surviving any two takes a third way, or a shorter list of what is essential.
    ///
    /// **Example:** the trunk of network A and the switch of network B.
    ///
    /// **Source**: the plan's own target `survive`.
    "survive/target", check, tests::firing
}

/// How many pairs a finding names. Own choice: enough to see the pattern.
const NAMED: usize = 3;

fn check(all: &Analysis) -> Vec<Finding> {
    if all.plan.targets.survive != Survive::AnyTwo || all.pairs().count == 0 {
        return Vec::new();
    }
    let pairs = all.pairs();
    let first = pairs.worst.iter().take(NAMED).map(|pair| format!("{} with {}", pair.losses[0].item().name(), pair.losses[1].item().name()));
    let says = format!("{} of failures silence an essential stream, among them {}.", count(pairs.count as usize, "pair"), list(first));
    let items: IndexSet<Item> = pairs.worst.iter().take(NAMED).flat_map(|pair| pair.losses.iter().map(|loss| loss.item())).collect();
    let remedy = "Add a third way for what must survive two failures, or set survive = \"any-one\".";
    let figures = count(pairs.count as usize, "pair");
    let source = "your target survive = \"any-two\"";
    let items = if items.is_empty() { vec![Item::Plan] } else { items.into_iter().collect() };
    vec![Finding::new((RULE.code, Severity::Warn), items, says, remedy).with_figures(figures, "0 pairs").with_source(source)]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.plan.targets.survive = Survive::AnyTwo;
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
