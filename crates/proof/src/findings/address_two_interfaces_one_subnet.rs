//! `address/two-interfaces-one-subnet`.

use super::*;

rule! {
    /// Two interfaces of one device are in the same subnet.
    ///
    /// The device then picks one of them for everything it sends there, and answers on one what was asked on
    /// the other. Audio on the second network goes quiet, though every light is on.
    ///
    /// **Example:** network A and network B of a desk both set to 10.10.x.x with mask 255.255.0.0.
    ///
    /// **Source**: JT-NM TR-1001-1: media networks on separate subnets (public copy read).
    "address/two-interfaces-one-subnet", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let mut own: IndexMap<&Id, Vec<&PortRef>> = IndexMap::new();
    for (id, slot) in all.layout.slots().filter(|(_, slot)| slot.kind != InterfaceKind::MergedControl) {
        own.entry(id).or_default().push(&slot.port);
    }
    own.into_iter().filter_map(|(id, ports)| clash(all, id, &ports)).collect()
}

fn clash(all: &Analysis, id: &Id, ports: &[&PortRef]) -> Option<Finding> {
    let set = |at: &PortRef| all.wiring.interfaces.get(at).map(|interface| interface.address);
    let pairs = ports.iter().enumerate().flat_map(|(n, one)| ports[n + 1..].iter().map(move |two| (*one, *two)));
    let (one, two, subnets) = pairs.filter_map(|(one, two)| Some((one, two, (set(one)?, set(two)?)))).find(|(_, _, (x, y))| x.subnet.overlaps(y.subnet))?;
    let says = format!("{id} has {one} ({}) and {two} ({}) in one subnet.", subnets.0, subnets.1);
    let remedy = format!("Give {two} an address of another network.");
    let figures = (format!("{} and {}", subnets.0.subnet, subnets.1.subnet), "separate subnets");
    let items = vec![device(id), port(one), port(two)];
    Some(Finding::new((RULE.code, Severity::Stop), items, says, remedy).with_figures(figures.0, figures.1).with_source("JT-NM TR-1001-1"))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.address("desk/2", "10.1.0.13/24");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
