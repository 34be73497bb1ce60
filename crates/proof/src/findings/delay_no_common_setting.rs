//! `delay/no-common-setting`.

use super::*;
use crate::listening::{Group, air, groups, needs};

rule! {
    /// Receivers that the plan wants in step have no setting in common that is long enough for all.
    ///
    /// Two loudspeakers that play the same a few hundred microseconds apart do not add up: they comb, and the image
    /// moves to the earlier one. Only receivers that play the same time after a sample's entry are in step.
    ///
    /// **Example:** one amplifier that can be set to 1 and 5 ms and one that can be set to 2 and 4 ms.
    ///
    /// **Source**: `in-phase` and `receive-delays` of the plan; one setting for all: AES67 link offset, from memory.
    "delay/no-common-setting", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let needs = needs(all);
    groups(all, &needs).iter().filter(|group| group.is_declared).filter_map(|group| none_in_common(all, group)).collect()
}

fn none_in_common(all: &Analysis, group: &Group<'_>) -> Option<Finding> {
    let (needed, common) = (group.needed()?, group.common_settings(all)?);
    if common.iter().any(|setting| *setting >= needed) {
        return None;
    }
    let spread = group.spread()?;
    let has = if common.is_empty() { "no setting in common".to_owned() } else { format!("only {} in common", list(&common)) };
    let receivers: IndexSet<&Id> = group.players.iter().map(|player| player.to).collect();
    let says = format!(
        "The {} of {} need {needed} and have {has}; without one they may play {spread} apart, {} of air.",
        count(receivers.len(), "receiver"),
        group.name,
        air(spread)
    );
    let remedy = format!("Take receivers for {} that share a setting of {needed} or more, or shorten its packets or its way.", group.name);
    let streams: IndexSet<&Id> = group.players.iter().map(|player| player.stream).collect();
    let items = receivers.into_iter().map(device).chain(streams.into_iter().map(|stream| Item::Stream(stream.clone()))).collect();
    Some(Finding::new((RULE.code, Severity::Warn), items, says, remedy).with_figures(needed, has).with_source("in-phase of your plan"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires, id};
    use loomwright_model::Time;
    use loomwright_model::plan::InPhase;

    pub(super) fn firing(trial: &mut Trial) {
        trial.device("speaker", "mono", "stage").cable("A-003", ["speaker/1", "sw-a/3"], "a");
        trial.stream("hall", "box-1", &["desk", "speaker"], 8);
        trial.plan.gear["box"].receive_delays = vec![Time::from_milliseconds(1), Time::from_milliseconds(5)];
        trial.plan.gear["mono"].receive_delays = vec![Time::from_milliseconds(1), Time::from_milliseconds(4)];
        trial.plan.listening.in_phase.insert(id("hang"), InPhase { streams: vec![id("hall")], to: vec![] });
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn one_setting_in_common_is_enough() {
        let mut trial = Trial::good();
        firing(&mut trial);
        trial.plan.gear["mono"].receive_delays.push(Time::from_milliseconds(5));
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring)), vec![]);
    }
}
