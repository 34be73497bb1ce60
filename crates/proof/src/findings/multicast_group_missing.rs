//! `multicast/group-missing`.

use super::*;

rule! {
    /// Packet streams have no group planned on a network that they use.
    ///
    /// Devices often pick a group by themselves. Then nobody can promise that two of them did not pick the same,
    /// or two that share a hardware address.
    ///
    /// **Example:** a stream was widened from 8 to 16 channels, and its second packet stream has no group.
    ///
    /// **Source**: common practice, no source.
    "multicast/group-missing", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let missing: Vec<(&Id, u32, &Id)> = all
        .flows()
        .filter(|(_, stream, _)| stream.1.mode == Mode::Multicast)
        .map(|(flow, stream, number)| (stream.0, number, &all.fabric.networks[flow.network.0 as usize]))
        .filter(|(stream, number, id)| !all.wiring.groups.get(&((*stream).clone(), *number)).is_some_and(|groups| groups.contains_key(*id)))
        .collect();
    let Some((stream, number, at)) = missing.first() else { return Vec::new() };
    let streams: IndexSet<&Id> = missing.iter().map(|(stream, _, _)| *stream).collect();
    let severity = if all.wiring.groups.is_empty() { Severity::Note } else { Severity::Warn };
    let says = format!("{} no group; the first is {stream}.{number} on network {at}.", has(missing.len()));
    let items = streams.into_iter().map(|id| Item::Stream(id.clone())).collect();
    let remedy = "Let the design give groups, or write them in the wiring file.";
    vec![Finding::new((RULE.code, severity), items, says, remedy).with_figures(format!("{} without", missing.len()), "0").with_source(PRACTICE)]
}

fn has(n: usize) -> String {
    format!("{} {}", count(n, "packet stream"), if n == 1 { "has" } else { "have" })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.plan.streams["mics"].channels = 16;
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
