//! `address/no-dhcp-server`.

use super::*;

rule! {
    /// A network takes its addresses from a server, and no server is planned.
    ///
    /// Devices that find no server fall back to link-local addresses, some sooner and some later, and a mix
    /// of both ranges does not talk to each other.
    ///
    /// **Example:** `addresses = "dhcp"` for control, and the router that used to serve it stayed in the truck.
    ///
    /// **Source**: RFC 3927 (falling back to 169.254/16); how it shows is common practice, no source.
    "address/no-dhcp-server", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let by_server = all.plan.networks.iter().filter(|(_, network)| network.addresses == Addressing::Dhcp && network.dhcp_server.is_none());
    by_server.filter(|(id, _)| is_used(all, id) && !is_served(all, id)).map(|(id, _)| missing(id)).collect()
}

fn is_used(all: &Analysis, id: &Id) -> bool {
    all.layout.slots().any(|(_, slot)| slot.network.as_ref() == Some(id))
}

fn is_served(all: &Analysis, at: &Id) -> bool {
    let serving = all.geared().filter(|(_, found, gear)| gear.dhcp_server && found.mode != Some(RouterMode::AccessPoint));
    serving.flat_map(|(id, _, _)| all.layout.plugs(id)).any(|plug| all.networks_of(plug).contains(&at))
}

fn missing(id: &Id) -> Finding {
    let says = format!("Network {id} takes addresses from a server, but no device on it gives any out.");
    let remedy = format!("Name the server of network {id} (dhcp-server), or plan fixed addresses.");
    Finding::new((RULE.code, Severity::Warn), vec![network(id)], says, remedy).with_figures("0 servers", "1 server").with_source("RFC 3927")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.plan.networks["b"].addresses = Addressing::Dhcp;
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
