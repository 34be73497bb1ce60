//! `survive/silent-for-a-while`.

use super::survive_essential_silenced::{culprits, essential_of, named, streams};
use super::*;
use loomwright_model::Time;
use loomwright_survival::Loss;

rule! {
    /// After a failure, an essential stream is heard again, but only once the network has found a new way.
    ///
    /// Spanning tree needs its time, and a switch that snoops then waits for the next question before it sends a
    /// stream to where it was never wanted before. Two separate networks have no such gap. The figure is an upper
    /// bound from the standards' timers.
    ///
    /// **Example:** a ring of three switches in one network: a trunk is pulled, and the stage is silent for half a minute.
    ///
    /// **Source**: IEEE 802.1D timers (read second-hand), RFC 3376 section 8.2 (query interval 125 s); the order was seen in own cable-pulling trials.
    "survive/silent-for-a-while", check, tests::firing
}

/// Shorter silences are not told: one packet time or two. Own choice.
const SHORTEST: Time = Time::from_milliseconds(10);

fn check(all: &Analysis) -> Vec<Finding> {
    if all.plan.targets.survive == Survive::Nothing {
        return Vec::new();
    }
    let mut by_silence: IndexMap<Vec<u32>, (Time, Vec<Loss>)> = IndexMap::new();
    for (failure, gaps) in all.survival.interruptions(&all.singles) {
        let long = gaps.iter().filter(|(_, gap)| gap.whole() >= SHORTEST);
        let demands: Vec<u32> = long.clone().map(|(demand, _)| *demand).collect();
        let essential = essential_of(all, &demands);
        let worst = long.map(|(_, gap)| gap.whole()).max();
        if let (false, Some(worst)) = (essential.is_empty(), worst) {
            let entry = by_silence.entry(essential).or_insert((Time::ZERO, Vec::new()));
            entry.0 = entry.0.max(worst);
            entry.1.push(all.singles.losses()[failure].clone());
        }
    }
    by_silence.iter().map(|(silent, (worst, losses))| gap(all, silent, *worst, losses)).collect()
}

fn gap(all: &Analysis, silent: &[u32], worst: Time, losses: &[Loss]) -> Finding {
    let culprits = culprits(&losses.iter().collect::<Vec<_>>());
    let verb = if silent.len() == 1 { "is" } else { "are" };
    let says = format!("When {} fails, {} {verb} silent for up to {worst}.", any_of(&culprits), named(all, silent));
    let streams = streams(all, silent);
    let remedy = format!("Give {} a leg in a second network, or shorten the query interval and the tree's timers.", list(streams.iter().map(Item::name)));
    let items = culprits.into_iter().chain(streams).collect();
    let source = "IEEE 802.1D timers (read second-hand), RFC 3376 section 8.2";
    Finding::new((RULE.code, Severity::Warn), items, says, remedy).with_figures(worst, SHORTEST).with_source(source)
}

fn any_of(culprits: &IndexSet<Item>) -> String {
    let names = list(culprits.iter().map(Item::name));
    if culprits.len() == 1 { names } else { format!("any one of {names}") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.unplug("B-001").unplug("B-002").unplug("A-002");
        for name in ["sw-a2", "sw-a3"] {
            trial.switch(name, ("switch", "stage"), &["a"]);
        }
        trial.cable("T-1", ["sw-a/10", "sw-a2/10"], "a").cable("T-2", ["sw-a2/9", "sw-a3/10"], "a").cable("T-3", ["sw-a3/9", "sw-a/9"], "a");
        trial.cable("A-002", ["desk/1", "sw-a2/1"], "a");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
