//! `multicast/flooded-group`.

use super::*;
use loomwright_forwarding::is_always_flooded;
use loomwright_model::multicast::{hardware_address, hardware_text};

rule! {
    /// A stream uses a group that switches send everywhere, snooping or not.
    ///
    /// The hardware addresses 01:00:5e:00:00:xx belong to the housekeeping of the network and are never held
    /// back. A stream on a group that maps there reaches every port, also the slow ones.
    ///
    /// **Example:** 239.128.0.251 has the hardware address of multicast name lookup, 01:00:5e:00:00:fb.
    ///
    /// **Source**: RFC 4541 section 2.1.2 (2) for 224.0.0.x; RFC 1112 section 6.4 for the mapping.
    "multicast/flooded-group", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let groups = all.wiring.groups.iter().flat_map(|(stream, groups)| groups.iter().map(move |(network, group)| (stream, network, *group)));
    groups
        .filter(|(_, _, group)| is_always_flooded(*group))
        .map(|((stream, number), at, group)| {
            let says = format!("{stream} packet stream {number} uses {group} on network {at}, whose hardware address {} goes to every port.", hardware_text(hardware_address(group)));
            let remedy = format!("Give {stream} a group from 239.192.0.0/14 whose last three parts are not 0.0.x or 128.0.x.");
            let items = vec![Item::Stream(stream.clone()), network(at)];
            Finding::new((RULE.code, Severity::Warn), items, says, remedy)
                .with_figures(hardware_text(hardware_address(group)), "not 01:00:5e:00:00:xx")
                .with_source("RFC 4541 section 2.1.2 (2); RFC 1112 section 6.4")
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.group(("mics", 1), "a", "239.128.0.251");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
