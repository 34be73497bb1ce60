//! `address/second-dhcp-server`.

use super::*;

rule! {
    /// A second box gives out addresses.
    ///
    /// Devices take the first answer that comes, so after the next power-up some are in one range and some in
    /// another. The usual culprit is a Wi-Fi router as it leaves the factory. In a network with fixed addresses
    /// one such box is already too many: whatever was left on automatic follows it.
    ///
    /// **Example:** a Wi-Fi router for the remote-control tablet, not switched to access-point mode.
    ///
    /// **Source**: RFC 2131 (a client may take any offer); the culprit is common practice, no source.
    "address/second-dhcp-server", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    all.plan.networks.keys().filter_map(|id| second(all, id)).collect()
}

/// Devices that give out addresses unless told not to, on network `at`.
fn volunteers<'a>(all: &'a Analysis, at: &Id) -> Vec<&'a Id> {
    let serves = |found: &Device, gear: &Gear| gear.dhcp_server && found.mode != Some(RouterMode::AccessPoint);
    let on_it = |id: &Id| all.layout.plugs(id).iter().any(|plug| all.networks_of(plug).contains(&at));
    all.geared().filter(|(id, found, gear)| serves(found, gear) && on_it(id)).map(|(id, _, _)| id).collect()
}

fn second(all: &Analysis, at: &Id) -> Option<Finding> {
    let found = all.plan.networks.get(at)?;
    let unasked: Vec<&Id> = volunteers(all, at).into_iter().filter(|id| Some(*id) != found.dhcp_server.as_ref()).collect();
    let first = unasked.first()?;
    let wanted = found.dhcp_server.is_some() || found.addresses != Addressing::Dhcp;
    if !wanted && unasked.len() == 1 {
        return None;
    }
    let severity = if found.addresses == Addressing::Dhcp { Severity::Stop } else { Severity::Warn };
    let beside = found.dhcp_server.as_ref().map_or_else(String::new, |server| format!(" beside {server}"));
    let says = format!("{} would give out addresses on network {at}{beside}, where addresses are {}.", list(&unasked), found.addresses);
    let remedy = format!("Set {first} to access-point mode, or switch its address server off.");
    let items = unasked.iter().copied().map(device).chain([network(at)]).collect();
    let limit = if found.addresses == Addressing::Dhcp { "1 server" } else { "no server" };
    let figures = count(unasked.len() + usize::from(found.dhcp_server.is_some()), "server");
    Some(Finding::new((RULE.code, severity), items, says, remedy).with_figures(figures, limit).with_source("RFC 2131"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.router("tablet-wifi", RouterMode::Router).cable("A-008", ["tablet-wifi/1", "sw-a/8"], "a");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn an_access_point_only_forwards() {
        let mut trial = Trial::good();
        firing(&mut trial);
        trial.plan.devices["tablet-wifi"].mode = Some(RouterMode::AccessPoint);
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring)), vec![]);
    }

    #[test]
    fn a_router_may_serve_a_network_that_wants_it() {
        let mut trial = Trial::good();
        firing(&mut trial);
        trial.plan.networks["a"].addresses = Addressing::Dhcp;
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring)), vec![]);
    }
}
