//! `address/wrong-mask`.

use super::*;

rule! {
    /// An interface believes its network to be larger or smaller than it is.
    ///
    /// It is the classic silent fault: one side reaches directly, the other answers through a gateway that is
    /// not there, and some pairs of devices work while others do not.
    ///
    /// **Example:** 10.10.1.11 set with /24 in a network planned as /22: it cannot see 10.10.2.20.
    ///
    /// **Source**: RFC 4632; common practice, no source, for how it shows.
    "address/wrong-mask", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let mut by_network: IndexMap<&Id, Vec<&PortRef>> = IndexMap::new();
    for (_, slot) in all.layout.slots() {
        let Some(id) = &slot.network else { continue };
        let planned = all.plan.networks.get(id).and_then(|network| network.subnet);
        let set = all.wiring.interfaces.get(&slot.port).map(|interface| interface.address);
        if let (Some(planned), Some(set)) = (planned, set)
            && planned.contains(set.address)
            && set.subnet.prefix() != planned.prefix()
        {
            by_network.entry(id).or_default().push(&slot.port);
        }
    }
    by_network.into_iter().filter_map(|(id, ports)| wrong(all, id, &ports)).collect()
}

fn wrong(all: &Analysis, id: &Id, ports: &[&PortRef]) -> Option<Finding> {
    let planned = all.plan.networks.get(id)?.subnet?;
    let set = all.wiring.interfaces.get(*ports.first()?)?.address;
    let says = format!("{} in network {id} set to /{}, but the network is {planned}.", verb(ports), set.subnet.prefix());
    let remedy = format!("Set the mask {} on {}.", planned.mask(), list(ports));
    let items = ports.iter().copied().map(port).chain([network(id)]).collect();
    let figures = (format!("/{}", set.subnet.prefix()), format!("/{}", planned.prefix()));
    Some(Finding::new((RULE.code, Severity::Stop), items, says, remedy).with_figures(figures.0, figures.1).with_source("RFC 4632"))
}

fn verb(ports: &[&PortRef]) -> String {
    format!("{} {}", list(ports), if ports.len() == 1 { "is" } else { "are" })
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.address("desk/1", "10.1.0.12/16");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
