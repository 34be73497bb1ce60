//! Spanning-tree messages of a capture: the latest word of each bridge port.

use super::complaints::Complaints;
use super::limited::Limited;
use super::seen;
use crate::facts::{BridgeSender, TreeKind};
use crate::frame::{Frame, Inside};
use crate::mac::Mac;
use crate::protocol::bpdu;
use crate::seen::Trust;

/// Most senders that are kept. **Source**: own choice; per-VLAN trees send one message for each VLAN.
const MOST: usize = 16_384;

/// Senders so far: by interface, port address, kind, VLAN.
#[derive(Clone)]
pub struct Bridges(Limited<(u32, Mac, TreeKind, Option<u16>), BridgeSender>);

impl Default for Bridges {
    fn default() -> Self {
        Self(Limited::new(MOST))
    }
}

impl Bridges {
    /// Adds one message.
    pub fn add(&mut self, frame: &Frame<'_>, is_per_vlan: bool, complaints: &mut Complaints) {
        let payload = match frame.inside {
            Inside::Length(_) => frame.payload.get(bpdu::LINK.len()..).unwrap_or_default(),
            _ => frame.payload,
        };
        let Some(message) = bpdu::read(payload, is_per_vlan) else {
            complaints.add(&frame.stored, "a spanning-tree message makes no sense");
            return;
        };
        let mac = frame.from.unwrap_or(Mac::ZERO);
        let vlan = message.vlan.or(frame.vlan);
        let key = (frame.stored.interface, mac, message.kind, vlan);
        let mut sender = BridgeSender {
            seen: seen(frame, Trust::Announced),
            kind: message.kind,
            mac,
            vlan,
            last: None,
            root_changes: 0,
            change_notices: 0,
        };
        sender.seen.times = 0;
        let Some(sender) = self.0.get_or(key, || sender) else { return };
        sender.seen.again(frame.stored.time);
        let tells_of_change = message.says.as_ref().is_none_or(|says| says.is_changing);
        sender.change_notices = sender.change_notices.saturating_add(tells_of_change.into());
        if let Some(says) = message.says {
            let is_new_root = sender.last.as_ref().is_some_and(|last| last.root != says.root);
            sender.root_changes = sender.root_changes.saturating_add(is_new_root.into());
            sender.last = Some(says);
        }
    }

    /// All of them.
    pub fn finish(self) -> Vec<BridgeSender> {
        self.0.into_values().collect()
    }
}
