//! Networks.

use crate::fields::{Fields, Header};
use crate::log::{Log, Wants};
use crate::tree::{Entry, entries};
use indexmap::IndexMap;
use loomwright_model::plan::{Addressing, Carries};
use loomwright_model::{Id, Network};
use toml::de::DeTable;

const KEYS: &[&str] = &["subnet", "vlan", "addresses", "carries", "dhcp-server"];

pub(super) fn all(root: &DeTable<'_>, log: &mut Log) -> IndexMap<Id, Network> {
    entries(root, "network", log).iter().filter_map(|entry| Some((entry.id.clone(), network(entry, log)?))).collect()
}

fn network(entry: &Entry<'_, '_>, log: &mut Log) -> Option<Network> {
    let fields = Fields::open(entry.value, Header::of("network", entry), KEYS, log)?;
    let addresses = fields.or("addresses", Addressing::Fixed, log);
    if addresses != Addressing::LinkLocal {
        fields.require("subnet", "\"10.10.0.0/22\"", log);
    }
    let usual = if entry.name == "control" { Carries::Control } else { Carries::Audio };
    Some(Network {
        subnet: fields.maybe("subnet", log),
        vlan: fields.maybe("vlan", log),
        addresses,
        carries: fields.or("carries", usual, log),
        dhcp_server: fields.refer("dhcp-server", Wants::DeviceOrSwitch, log),
    })
}
