//! `address/duplicate`.

use super::*;
use std::net::Ipv4Addr;

rule! {
    /// Two interfaces have the same address.
    ///
    /// Both answer, traffic goes to whichever was heard last, and the audio of both stutters. It is one of the
    /// hardest faults to see, because each device works when the other is off.
    ///
    /// **Example:** a replaced stage box that was given the address of the one still in the rack.
    ///
    /// **Source**: RFC 5227: an address belongs to one interface of a link.
    "address/duplicate", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let mut by_address: IndexMap<Ipv4Addr, Vec<Item>> = IndexMap::new();
    for (at, interface) in &all.wiring.interfaces {
        by_address.entry(interface.address.address).or_default().push(port(at));
    }
    for (id, found) in &all.wiring.switches {
        found.address.iter().for_each(|set| by_address.entry(set.address).or_default().push(switch(id)));
    }
    by_address.into_iter().filter(|(_, items)| items.len() > 1).map(|(address, items)| duplicate(address, items)).collect()
}

fn duplicate(address: Ipv4Addr, items: Vec<Item>) -> Finding {
    let names: Vec<String> = items.iter().map(Item::name).collect();
    let says = format!("{} have the same address {address}.", list(&names));
    let remedy = format!("Give {} another address.", list(&names[1..]));
    let figures = (format!("{} interfaces with {address}", items.len()), "1 interface");
    Finding::new((RULE.code, Severity::Stop), items, says, remedy).with_figures(figures.0, figures.1).with_source("RFC 5227")
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.address("desk/1", "10.1.0.11/24");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
