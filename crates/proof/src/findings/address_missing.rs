//! `address/missing`.

use super::*;

rule! {
    /// Interfaces of a network with fixed addresses have none planned.
    ///
    /// Somebody will choose one at load-in, or the device falls back to a link-local address that nobody else is on.
    ///
    /// **Example:** three stage boxes were added, and the address sheet still shows the old list.
    ///
    /// **Source**: the plan's own choice `addresses = "fixed"`.
    "address/missing", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let mut by_network: IndexMap<&Id, Vec<&PortRef>> = IndexMap::new();
    for (_, slot) in all.layout.slots() {
        if let Some(id) = missing_in(all, slot) {
            by_network.entry(id).or_default().push(&slot.port);
        }
    }
    by_network.into_iter().map(|(id, ports)| missing(id, &ports)).collect()
}

fn missing_in<'a>(all: &Analysis, slot: &'a Slot) -> Option<&'a Id> {
    let id = slot.network.as_ref()?;
    let fixed = all.plan.networks.get(id)?.addresses == Addressing::Fixed;
    (fixed && !all.wiring.interfaces.contains_key(&slot.port)).then_some(id)
}

fn missing(id: &Id, ports: &[&PortRef]) -> Finding {
    let says = format!("{} of network {id} {} no address: {}.", count(ports.len(), "interface"), if ports.len() == 1 { "has" } else { "have" }, list(ports));
    let remedy = "Let the design give addresses, or write them in the wiring file.";
    let items = ports.iter().copied().map(port).chain([network(id)]).collect();
    let source = "your choice addresses = \"fixed\"";
    Finding::new((RULE.code, Severity::Warn), items, says, remedy).with_figures(format!("{} without", ports.len()), "0").with_source(source)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires, port};

    pub(super) fn firing(trial: &mut Trial) {
        trial.wiring.interfaces.shift_remove(&port("desk/1"));
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
