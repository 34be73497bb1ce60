//! Boxes and their ports, as their own management reports them.

use crate::mac::Mac;
use crate::seen::Seen;
use loomwright_model::BitRate;
use std::net::IpAddr;

/// A box that reported about itself. **Source**: SNMPv2-MIB (RFC 3418), LLDP-MIB local system data, BRIDGE-MIB (RFC 4188).
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct System {
    /// When and where.
    pub seen: Seen,
    /// Its name.
    pub name: Option<String>,
    /// What it says it is.
    pub description: Option<String>,
    /// Where it says it is.
    pub location: Option<String>,
    /// How long it has been running. **Unit**: hundredth of a second.
    pub uptime: Option<u64>,
    /// Hardware addresses by which it names itself: chassis and bridge.
    pub macs: Vec<Mac>,
    /// Its own management addresses.
    pub addresses: Vec<IpAddr>,
    /// The root of its spanning tree: priority and address.
    pub tree_root: Option<(u16, Mac)>,
    /// Its own spanning-tree priority.
    pub tree_priority: Option<u16>,
    /// Its distance from the root.
    pub root_cost: Option<u32>,
    /// Its port towards the root, by name.
    pub root_port: Option<String>,
    /// Spanning-tree timers in use: hello, oldest message, forward delay. **Unit**: hundredth of a second.
    pub tree_timers: Option<[u32; 3]>,
    /// How often its tree changed.
    pub tree_changes: Option<u64>,
    /// After what time it forgets where an address is. **Unit**: second.
    pub ageing: Option<u32>,
    /// What its power supply for ports can give and gives now. **Unit**: watt.
    pub power_budget: Option<(u32, u32)>,
}

impl System {
    /// Nothing known yet.
    pub fn new(seen: Seen) -> Self {
        Self {
            seen,
            name: None,
            description: None,
            location: None,
            uptime: None,
            macs: Vec::new(),
            addresses: Vec::new(),
            tree_root: None,
            tree_priority: None,
            root_cost: None,
            root_port: None,
            tree_timers: None,
            tree_changes: None,
            ageing: None,
            power_budget: None,
        }
    }
}

/// A port as its box reports it. **Source**: IF-MIB (RFC 2863), BRIDGE-MIB (RFC 4188), EtherLike-MIB (RFC 3635).
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Port {
    /// When and where.
    pub seen: Seen,
    /// The box, by its own name.
    pub system: Option<String>,
    /// The port's name, as its management writes it.
    pub name: String,
    /// Its interface index.
    pub index: Option<u32>,
    /// Its number among the bridge's ports.
    pub bridge_port: Option<u32>,
    /// Its longer name, if it differs.
    pub description: Option<String>,
    /// What a person wrote about it.
    pub alias: Option<String>,
    /// Its hardware address.
    pub mac: Option<Mac>,
    /// Whether it is a cable port (Ethernet), as far as its type tells.
    pub is_ethernet: Option<bool>,
    /// Whether a person left it switched on.
    pub is_enabled: Option<bool>,
    /// Whether its link is up.
    pub is_up: Option<bool>,
    /// Speed in use; `None` also where the box says 0.
    pub speed: Option<BitRate>,
    /// Whether both directions work at once.
    pub full_duplex: Option<bool>,
    /// Longest packet. **Unit**: octet.
    pub longest_packet: Option<u32>,
    /// What the spanning tree lets it do.
    pub tree: Option<TreeState>,
    /// Its cost in the tree.
    pub tree_cost: Option<u32>,
    /// The VLAN of its untagged frames.
    pub untagged_vlan: Option<u16>,
    /// Power over the cable.
    pub power: Option<PortPower>,
    /// What it counted since it started.
    pub counters: Counters,
    /// When its link last changed. **Unit**: hundredth of a second after the box started.
    pub last_change: Option<u64>,
}

impl Port {
    /// A port of which only the name is known.
    pub fn new(seen: Seen, system: Option<String>, name: String) -> Self {
        Self {
            seen,
            system,
            name,
            index: None,
            bridge_port: None,
            description: None,
            alias: None,
            mac: None,
            is_ethernet: None,
            is_enabled: None,
            is_up: None,
            speed: None,
            full_duplex: None,
            longest_packet: None,
            tree: None,
            tree_cost: None,
            untagged_vlan: None,
            power: None,
            counters: Counters::default(),
            last_change: None,
        }
    }
}

/// What the spanning tree lets a port do. **Source**: RFC 4188 `dot1dStpPortState`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum TreeState {
    /// Switched off.
    Disabled,
    /// Held in reserve: the tree would close a loop here.
    Blocking,
    /// On the way to forwarding.
    Listening,
    /// On the way to forwarding.
    Learning,
    /// Passes frames.
    Forwarding,
    /// At fault.
    Broken,
}

/// Power over the cable, as the feeding port reports it. **Source**: POWER-ETHERNET-MIB (RFC 3621).
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct PortPower {
    /// Whether a person left it switched on.
    pub is_enabled: Option<bool>,
    /// What it does now.
    pub status: Option<PowerStatus>,
    /// Class of the powered device, 0 to 4 (the table knows no higher ones; some boxes go on counting to 8).
    pub class: Option<u8>,
    /// How often power was refused for want of budget.
    pub denied: Option<u64>,
    /// How often it was overloaded.
    pub overloads: Option<u64>,
}

/// What a feeding port does now. **Source**: RFC 3621 `pethPsePortDetectionStatus`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum PowerStatus {
    /// Switched off.
    Disabled,
    /// Looks for a device.
    Searching,
    /// Delivers power.
    Delivering,
    /// At fault.
    Fault,
    /// Under test.
    Test,
    /// At fault for another reason.
    OtherFault,
}

/// What a port counted since it started; `None` where its box does not say. **Source**: RFC 2863, RFC 3635.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, serde::Serialize)]
pub struct Counters {
    /// Octets in, header and check sequence included.
    pub octets_in: Option<u64>,
    /// Octets out.
    pub octets_out: Option<u64>,
    /// Group packets in.
    pub multicast_in: Option<u64>,
    /// Group packets out.
    pub multicast_out: Option<u64>,
    /// Packets thrown away on the way in.
    pub discards_in: Option<u64>,
    /// Packets thrown away on the way out: a full queue.
    pub discards_out: Option<u64>,
    /// Damaged frames in: a bad cable or connector.
    pub errors_in: Option<u64>,
    /// Frames that could not be sent.
    pub errors_out: Option<u64>,
    /// Frames with a wrong check sequence.
    pub check_errors: Option<u64>,
    /// Collisions too late to be legal: the two ends disagree about duplex.
    pub late_collisions: Option<u64>,
    /// PAUSE frames in.
    pub pauses_in: Option<u64>,
    /// PAUSE frames out.
    pub pauses_out: Option<u64>,
}
