//! `multicast/mac-clash`.

use super::*;
use loomwright_model::multicast::{hardware_address, hardware_text};
use std::net::Ipv4Addr;

rule! {
    /// Two multicast groups share one hardware address.
    ///
    /// Only 23 bits of a group reach the hardware address, so 32 groups share each one. Switches that snoop by
    /// hardware address then send both streams to whoever asked for one, and every interface must throw
    /// half of it away.
    ///
    /// **Example:** 239.69.1.1 and 239.197.1.1, both 01:00:5e:45:01:01.
    ///
    /// **Source**: RFC 1112 section 6.4; RFC 4541 section 2.1.2.
    "multicast/mac-clash", check, tests::firing
}

/// Packet streams by their group.
type Users<'a> = IndexMap<Ipv4Addr, &'a (Id, u32)>;

fn check(all: &Analysis) -> Vec<Finding> {
    let mut by_mac: IndexMap<(&Id, [u8; 6]), Users> = IndexMap::new();
    for (stream, groups) in &all.wiring.groups {
        for (id, group) in groups {
            by_mac.entry((id, hardware_address(*group))).or_default().insert(*group, stream);
        }
    }
    by_mac.into_iter().filter(|(_, groups)| groups.len() > 1).map(|((id, mac), groups)| clash(id, mac, &groups)).collect()
}

fn clash(id: &Id, mac: [u8; 6], groups: &Users<'_>) -> Finding {
    let says = format!("On network {id}, {} share the hardware address {}.", list(groups.keys()), hardware_text(mac));
    let streams: IndexSet<&Id> = groups.values().map(|(stream, _)| stream).collect();
    let remedy = format!("Give {} a group whose last 23 bits differ.", streams.last().expect("a clash has streams"));
    let items = streams.into_iter().map(|id| Item::Stream(id.clone())).chain([network(id)]).collect();
    let figures = count(groups.len(), "group");
    Finding::new((RULE.code, Severity::Warn), items, says, remedy).with_figures(figures, "1 group per hardware address").with_source("RFC 1112 section 6.4")
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.stream("back", "desk", &["box-1"], 8).group(("back", 1), "a", "239.64.1.1").group(("back", 1), "b", "239.192.2.9");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
