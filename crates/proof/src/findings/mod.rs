//! Every kind of finding, one file each: what it is, why it matters, an example, its source, the check and its tests.

use crate::analysis::Analysis;
use crate::layout::{InterfaceKind, Plug, Slot, chains, networks_at};
use crate::rule::{Explanation, Rule, rule};
use crate::wording::{count, list};
use indexmap::{IndexMap, IndexSet};
use loomwright_model::plan::{Addressing, Carries, Mode, RouterMode};
use loomwright_model::{Cable, Device, Finding, Gear, GearKind, Id, Item, Pairing, PortRef, PortRole, Severity, SpanningTree, Survive};

macro_rules! registry {
    ($($file:ident),+ $(,)?) => {
        $(mod $file;)+

        /// Every rule, in the order of their codes.
        pub fn all() -> &'static [Rule] {
            const ALL: &[Rule] = &[$($file::RULE),+];
            ALL
        }
    };
}

registry! {
    address_control_wrong,
    address_duplicate,
    address_missing,
    address_networks_overlap,
    address_no_dhcp_server,
    address_outside_network,
    address_second_dhcp_server,
    address_two_interfaces_one_subnet,
    address_wrong_mask,
    clock_computer_leads,
    clock_eee,
    clock_error_over_target,
    clock_leader_cannot_lead,
    clock_leader_not_set,
    clock_leader_off_network,
    clock_never_follows,
    clock_no_leader,
    clock_two_leaders,
    delay_memory_too_small,
    delay_memory_unknown,
    delay_mouth_to_ear_over,
    delay_no_bound,
    delay_no_common_setting,
    delay_over_target,
    delay_processing_unknown,
    delay_settings_too_short,
    fate_no_second_way,
    fate_shared_feed,
    fate_shared_route,
    fate_shared_switch,
    load_link_over,
    multicast_flooded_group,
    multicast_group_missing,
    multicast_group_used_twice,
    multicast_mac_clash,
    multicast_no_querier,
    multicast_outside_scope,
    multicast_slow_port_drowns,
    multicast_slow_port_unasked,
    multicast_wifi_flooded,
    physical_cable_shorter_than_route,
    physical_copper_too_long,
    physical_fibre_too_long,
    physical_route_broken,
    physical_route_refuses_medium,
    physical_speed_mismatch,
    physical_wrong_medium,
    plan_no_streams,
    power_no_poe_port,
    power_poe_class_too_low,
    power_poe_over_budget,
    safety_life_safety_stream,
    stream_payload_over_mtu,
    stream_too_many_for_device,
    survive_essential_silenced,
    survive_silent_for_a_while,
    survive_target,
    wiring_chain_end_path_cost,
    wiring_chain_too_long,
    wiring_chained_twice,
    wiring_loop,
    wiring_networks_joined,
    wiring_no_such_port,
    wiring_not_connected,
    wiring_pairing_not_offered,
    wiring_port_convention,
    wiring_port_used_twice,
    wiring_root_not_core,
    wiring_same_network_twice,
    wiring_spanning_tree_cuts_network,
    wiring_spare_ports,
    wiring_unreached,
    wiring_wrong_network,
}

/// The explanation of the finding with this code; `None` if there is no such code.
pub fn explain(code: &str) -> Option<Explanation> {
    all().iter().find(|rule| rule.code == code).map(Rule::explanation)
}

/// What the trade does and no document that we read says.
const PRACTICE: &str = "common practice, no source";

fn cable(id: &Id) -> Item {
    Item::Cable(id.clone())
}

fn device(id: &Id) -> Item {
    Item::Device(id.clone())
}

fn switch(id: &Id) -> Item {
    Item::Switch(id.clone())
}

fn network(id: &Id) -> Item {
    Item::Network(id.clone())
}

fn port(port: &PortRef) -> Item {
    Item::Port(port.clone())
}

impl Analysis {
    /// Networks that carry audio, in the plan's order.
    fn audio_networks(&self) -> impl Iterator<Item = &Id> {
        self.plan.networks.iter().filter(|(_, network)| network.carries == Carries::Audio).map(|(id, _)| id)
    }

    /// How a device's two audio ports are set; `None` with fewer than two.
    fn pairing(&self, id: &Id) -> Option<Pairing> {
        let device = self.plan.devices.get(id)?;
        self.wiring.pairing_of(id, device, self.plan.gear_of(device)?)
    }

    /// Devices with their gear, in the plan's order.
    fn geared(&self) -> impl Iterator<Item = (&Id, &Device, &Gear)> {
        self.plan.devices.iter().filter_map(|(id, device)| Some((id, device, self.plan.gear_of(device)?)))
    }

    /// Placed switches with their gear, in the wiring's order.
    fn placed(&self) -> impl Iterator<Item = (&Id, &loomwright_model::Switch, &Gear)> {
        self.wiring.switches.iter().filter_map(|(id, switch)| Some((id, switch, self.plan.gear.get(&switch.gear)?)))
    }

    /// Networks that a device's plug really leads into: those of the switch at its far end, else the cable's label.
    fn networks_of(&self, plug: &Plug) -> Vec<&Id> {
        self.wiring.cables.get(&plug.cable).map(|cable| networks_at(&self.wiring, cable, &plug.far)).unwrap_or_default()
    }

    /// Networks that a device's audio ports lead into, each once.
    fn audio_networks_of(&self, device: &Id) -> IndexSet<&Id> {
        self.layout.audio_plugs(device).flat_map(|plug| self.networks_of(plug)).collect()
    }

    /// Whether one of them joins frames of its ports: a switch, a router, or a chained device.
    fn joins(&self, item: &Id) -> bool {
        self.wiring.switches.contains_key(item)
            || self.pairing(item) == Some(Pairing::Chained)
            || self.plan.devices.get(item).and_then(|device| self.plan.gear_of(device)).is_some_and(Gear::is_switching)
    }

    /// Whether frames of `network` can get from `from` to `to` without passing `without`. O(cables).
    fn reaches(&self, (from, to): (&Id, &Id), without: &Id, network: &Id) -> bool {
        let mut seen: IndexSet<&Id> = IndexSet::from([from]);
        let mut next = 0;
        while let Some(&at) = seen.get_index(next) {
            next += 1;
            if at == to {
                return true;
            }
            if self.joins(at) {
                let onward =
                    self.layout.plugs(at).iter().filter(|plug| plug.far.item != *without && self.networks_of(plug).contains(&network));
                seen.extend(onward.map(|plug| &plug.far.item));
            }
        }
        false
    }

    /// How bad it is that both networks go together: a warning where failures have to be survived.
    fn fate(&self) -> Severity {
        if self.plan.targets.survive == Survive::Nothing { Severity::Note } else { Severity::Warn }
    }

    /// Whether a cable joins two switches.
    fn is_trunk(&self, cable: &Cable) -> bool {
        cable.ends.iter().all(|end| self.wiring.switches.contains_key(&end.item))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::Trial;
    use std::collections::BTreeSet;

    fn codes(trial: &Trial) -> BTreeSet<&'static str> {
        crate::findings_of(&Analysis::new(&trial.plan, &trial.wiring)).into_iter().map(|finding| finding.code).collect()
    }

    #[test]
    fn every_code_is_used_once_and_explained() {
        let mut seen = BTreeSet::new();
        for rule in all() {
            assert!(seen.insert(rule.code), "{} twice", rule.code);
            let explained = explain(rule.code).expect("every rule explains itself");
            assert!(explained.title.ends_with('.') && explained.text.contains("Example:"), "{}: {explained:?}", rule.code);
            assert!(!explained.source.is_empty(), "{} names no source", rule.code);
        }
        assert!(all().is_sorted_by_key(|rule| rule.code), "keep the registry in order");
    }

    #[test]
    fn a_good_plan_has_nothing_to_find() {
        let trial = Trial::good();
        let findings = crate::findings_of(&Analysis::new(&trial.plan, &trial.wiring));
        assert!(findings.is_empty(), "{findings:#?}");
    }

    #[test]
    fn every_finding_fires_on_its_own_spoilt_plan() {
        for rule in all() {
            let mut trial = Trial::good();
            (rule.firing)(&mut trial);
            assert!(codes(&trial).contains(rule.code), "{} does not fire; found {:?}", rule.code, codes(&trial));
        }
    }

    #[test]
    fn every_finding_names_a_culprit_and_gives_an_order() {
        for rule in all() {
            let mut trial = Trial::good();
            (rule.firing)(&mut trial);
            for finding in (rule.check)(&Analysis::new(&trial.plan, &trial.wiring)) {
                assert!(!finding.items.is_empty() && finding.says.ends_with('.'), "{finding:?}");
                assert!(finding.remedy.ends_with('.') && finding.source.is_some(), "{finding:?}");
            }
        }
    }
}
