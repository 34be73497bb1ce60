//! `survive/essential-silenced`.

use super::*;
use loomwright_survival::Loss;

rule! {
    /// One failure silences an essential stream.
    ///
    /// The plan says that no single failure may do that. Cables, switches (dead or frozen), devices, power feeds,
    /// routes and hazards are each taken away once. Failures that silence the same streams are told together: mend
    /// the weakness once, and all of them are mended. A stream's own sender and receiver do not count.
    ///
    /// **Example:** both legs of the front-of-house mix go through one trench.
    ///
    /// **Source**: the plan's own target `survive`; the failures are found as cut vertices (Tarjan 1972, Hopcroft and Tarjan 1973).
    "survive/essential-silenced", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    if all.plan.targets.survive == Survive::Nothing {
        return Vec::new();
    }
    let mut by_silence: IndexMap<Vec<u32>, Vec<&Loss>> = IndexMap::new();
    for (failure, loss) in all.singles.losses().iter().enumerate() {
        let essential = essential_of(all, all.singles.silent(failure));
        if !essential.is_empty() {
            by_silence.entry(essential).or_default().push(loss);
        }
    }
    by_silence.iter().map(|(silent, losses)| silenced(all, silent, losses)).collect()
}

/// Those of `demands` that are essential.
pub(super) fn essential_of(all: &Analysis, demands: &[u32]) -> Vec<u32> {
    demands.iter().copied().filter(|demand| all.survival.demands()[*demand as usize].essential).collect()
}

/// `mics at desk`, each stream at each receiver.
pub(super) fn named(all: &Analysis, demands: &[u32]) -> String {
    list(demands.iter().map(|demand| &all.survival.demands()[*demand as usize]).map(|demand| format!("{} at {}", demand.stream, demand.to)))
}

/// Streams of `demands`, each once.
pub(super) fn streams(all: &Analysis, demands: &[u32]) -> IndexSet<Item> {
    demands.iter().map(|demand| Item::Stream(all.survival.demands()[*demand as usize].stream.clone())).collect()
}

/// Names of losses; a switch that is told as dead is not told as frozen again.
pub(super) fn culprits(losses: &[&Loss]) -> IndexSet<Item> {
    losses.iter().map(|loss| loss.item()).collect()
}

fn silenced(all: &Analysis, silent: &[u32], losses: &[&Loss]) -> Finding {
    let culprits = culprits(losses);
    let streams = streams(all, silent);
    let names = list(culprits.iter().map(Item::name));
    let any = if culprits.len() == 1 { String::new() } else { "any one of ".to_owned() };
    let verb = if silent.len() == 1 { "is" } else { "are" };
    let says = format!("Without {any}{names}, {} {verb} silent.", named(all, silent));
    let remedy = format!("Give {} a second way that shares none of these, or do not call it essential.", list(streams.iter().map(Item::name)));
    let target = format!("your target survive = \"{}\"", all.plan.targets.survive);
    let figures = count(culprits.len(), "single failure");
    let items = culprits.into_iter().chain(streams).collect();
    Finding::new((RULE.code, Severity::Stop), items, says, remedy).with_figures(figures, "0 single failures").with_source(target)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.unplug("B-002");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn one_weakness_is_told_once_with_everything_that_triggers_it() {
        let mut trial = Trial::good();
        firing(&mut trial);
        let found = check(&Analysis::new(&trial.plan, &trial.wiring));
        assert_eq!(found.len(), 1, "{found:#?}");
        let items: Vec<String> = found[0].items.iter().map(ToString::to_string).collect();
        for item in ["cable:A-001", "cable:A-002", "switch:sw-a", "feed:mains-stage", "route:left", "hazard:left-side", "stream:mics"] {
            assert!(items.contains(&item.to_owned()), "{item} in {items:?}");
        }
    }

    #[test]
    fn a_plan_that_asks_for_nothing_is_told_nothing() {
        let mut trial = Trial::good();
        firing(&mut trial);
        trial.plan.targets.survive = Survive::Nothing;
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring)), vec![]);
    }
}
