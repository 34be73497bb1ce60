//! Neighbour messages of a capture: the latest word of each sender.

use super::complaints::Complaints;
use super::limited::Limited;
use super::seen;
use crate::evidence::CaptureInterface;
use crate::facts::{Identifier, Neighbour};
use crate::frame::Frame;
use crate::mac::Mac;
use crate::protocol::lldp;
use crate::seen::Trust;

/// Most senders that are kept. **Source**: own choice; one port hears a handful.
const MOST: usize = 16_384;

/// Interface, sender, chassis, port.
type Key = (u32, Option<Mac>, Option<Identifier>, Option<Identifier>);

/// Senders so far.
#[derive(Clone)]
pub struct Neighbours(Limited<Key, (u32, Neighbour)>);

impl Default for Neighbours {
    fn default() -> Self {
        Self(Limited::new(MOST))
    }
}

impl Neighbours {
    /// Adds one message.
    pub fn add(&mut self, frame: &Frame<'_>, complaints: &mut Complaints) {
        let Some((says, wrong)) = lldp::read(frame.payload) else {
            complaints.add(&frame.stored, "a neighbour message makes no sense");
            return;
        };
        for wrong in wrong {
            complaints.add(
                &frame.stored,
                match wrong {
                    "ends within a part" => "a neighbour message ends within a part; the rest was read",
                    _ => "a neighbour message has a part that makes no sense; the rest was read",
                },
            );
        }
        let interface = frame.stored.interface;
        let key = (interface, frame.from, says.chassis.clone(), says.port.clone());
        let mut is_new = false;
        let row = self.0.get_or(key, || {
            is_new = true;
            let neighbour = Neighbour {
                seen: seen(frame, Trust::Announced),
                system: None,
                local_port: None,
                local_number: None,
                sender: frame.from,
                vlan: frame.vlan,
                says: says.clone(),
            };
            (interface, neighbour)
        });
        if let Some((_, neighbour)) = row.filter(|_| !is_new) {
            neighbour.seen.again(frame.stored.time);
            neighbour.says = says;
        }
    }

    /// All of them.
    pub fn finish(self, interfaces: &[CaptureInterface]) -> Vec<Neighbour> {
        let named = |(interface, mut neighbour): (u32, Neighbour)| {
            let at = usize::try_from(interface).ok().and_then(|n| interfaces.get(n));
            neighbour.local_port = at.and_then(|interface| interface.name.clone());
            neighbour
        };
        self.0.into_values().map(named).collect()
    }
}
