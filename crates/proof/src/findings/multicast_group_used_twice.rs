//! `multicast/group-used-twice`.

use super::*;
use std::net::Ipv4Addr;

rule! {
    /// Two packet streams use the same group on one network.
    ///
    /// Every receiver of either hears the packets of both and cannot play one of them cleanly.
    ///
    /// **Example:** a stream copied in the plan, with its group.
    ///
    /// **Source**: RFC 1112: a group reaches everybody who joined it, whoever sends.
    "multicast/group-used-twice", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let mut users: IndexMap<(&Id, Ipv4Addr), Vec<&(Id, u32)>> = IndexMap::new();
    for (stream, groups) in &all.wiring.groups {
        groups.iter().for_each(|(id, group)| users.entry((id, *group)).or_default().push(stream));
    }
    users.into_iter().filter(|(_, streams)| streams.len() > 1).map(|((id, group), streams)| twice(id, group, &streams)).collect()
}

fn twice(id: &Id, group: Ipv4Addr, streams: &[&(Id, u32)]) -> Finding {
    let says = format!("On network {id}, {} all use group {group}.", list(streams.iter().map(|(stream, number)| format!("{stream}.{number}"))));
    let remedy = format!("Give {} a group of its own.", streams[1].0);
    let items = streams.iter().map(|(stream, _)| Item::Stream(stream.clone())).chain([network(id)]).collect();
    let figures = count(streams.len(), "packet stream");
    Finding::new((RULE.code, Severity::Stop), items, says, remedy).with_figures(figures, "1 packet stream").with_source("RFC 1112")
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.stream("back", "desk", &["box-1"], 8).group(("back", 1), "a", "239.192.1.1").group(("back", 1), "b", "239.192.2.9");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
