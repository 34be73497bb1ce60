//! Spanning-tree messages. **Source**: IEEE 802.1D clause 9, IEEE 802.1Q clause 14 (read second-hand).

use crate::mac::Mac;
use crate::seen::Seen;

/// One bridge port that sends spanning-tree messages.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct BridgeSender {
    /// When and where.
    pub seen: Seen,
    /// Which protocol.
    pub kind: TreeKind,
    /// The port's own hardware address.
    pub mac: Mac,
    /// The VLAN that the message speaks for (per-VLAN kinds), else its tag.
    pub vlan: Option<u16>,
    /// What it said last; `None` if it only told of changes.
    pub last: Option<BridgeMessage>,
    /// How often it changed its mind about the root.
    pub root_changes: u64,
    /// Messages that tell of a change of the tree.
    pub change_notices: u64,
}

/// Which protocol a message belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum TreeKind {
    /// IEEE 802.1D-1998.
    Stp,
    /// IEEE 802.1D-2004.
    Rstp,
    /// IEEE 802.1Q multiple trees.
    Mstp,
    /// One tree for every VLAN, as some makers do it.
    PerVlan,
}

/// What a bridge port says.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct BridgeMessage {
    /// The root: priority (with the VLAN or instance number in its lower 12 bits) and address.
    pub root: (u16, Mac),
    /// Distance from the root.
    pub root_cost: u32,
    /// The sender: priority and address.
    pub bridge: (u16, Mac),
    /// The sending port: priority and number.
    pub port: u16,
    /// Whether the tree is changing.
    pub is_changing: bool,
    /// What the port is for (RSTP and later).
    pub duty: Option<PortDuty>,
    /// Whether it forwards (RSTP and later).
    pub forwards: Option<bool>,
    /// Age, oldest age, hello time, forward delay. **Unit**: 1/256 second.
    pub timers: [u16; 4],
    /// Region of multiple trees: name and revision.
    pub region: Option<(String, u16)>,
    /// Further trees.
    pub instances: Vec<MstInstance>,
}

/// What a port is for. **Source**: IEEE 802.1D-2004 clause 9.3.3 (read second-hand).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum PortDuty {
    /// Not told.
    Unknown,
    /// In reserve.
    Reserve,
    /// Leads to the root.
    Root,
    /// Serves what is behind it.
    Designated,
}

/// One of several trees.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct MstInstance {
    /// Its number.
    pub instance: u16,
    /// Its regional root: priority and address.
    pub root: (u16, Mac),
    /// Distance from it within the region.
    pub cost: u32,
}

/// The part of a bridge's priority that is set. **Source**: IEEE 802.1D-2004 clause 9.2.5.
const SET: u16 = 0xf000;

/// A priority field taken apart: what was set, and the number of the VLAN or tree that it speaks for.
pub const fn priority_parts(field: u16) -> (u16, u16) {
    (field & SET, field & !SET)
}
