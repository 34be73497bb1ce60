//! Stream announcements of a capture: the latest text of each session.

use super::complaints::Complaints;
use super::limited::Limited;
use super::seen;
use crate::facts::Announcement;
use crate::frame::{Frame, Udp};
use crate::protocol::{sap, sdp};
use crate::seen::Trust;
use std::net::IpAddr;

/// Most sessions that are kept. **Source**: own choice; many times a campus.
const MOST: usize = 16_384;

/// Sessions so far: by interface, VLAN, announcer, and the session's number or else the text's hash.
#[derive(Clone)]
pub struct Announcements(Limited<(u32, Option<u16>, IpAddr, u64), Announcement>);

impl Default for Announcements {
    fn default() -> Self {
        Self(Limited::new(MOST))
    }
}

impl Announcements {
    /// Adds one announcement.
    pub fn add(&mut self, frame: &Frame<'_>, datagram: &Udp<'_>, complaints: &mut Complaints) {
        let Some(sap) = sap::read(datagram.payload) else {
            complaints.add(&frame.stored, "a stream announcement is cut off or makes no sense");
            return;
        };
        let Some(text) = sap.text else {
            complaints.add(&frame.stored, "a stream announcement is encrypted or compressed: it cannot be read");
            return;
        };
        let is_whole = datagram.carried <= datagram.payload.len();
        if !is_whole {
            complaints.add(&frame.stored, "a stream announcement was stored shortened: only its beginning was read");
        }
        let session = sdp::read(&String::from_utf8_lossy(text));
        if !session.wrong.is_empty() && is_whole {
            complaints.add(&frame.stored, "a stream description has lines that make no sense; the rest was read");
        }
        let number = session.origin.as_ref().map_or(u64::from(sap.hash), |(number, ..)| *number);
        let row = self.0.get_or((frame.stored.interface, frame.vlan, sap.origin, number), || {
            let mut seen = seen(frame, Trust::Announced);
            seen.times = 0;
            Announcement {
                seen,
                from: Some(sap.origin),
                mac: frame.from,
                vlan: frame.vlan,
                hash: sap.hash,
                is_deleted: false,
                name: String::new(),
                origin: None,
                media: Vec::new(),
                duplicates: Vec::new(),
            }
        });
        let Some(row) = row else { return };
        row.seen.again(frame.stored.time);
        row.is_deleted = sap.is_deletion;
        row.hash = sap.hash;
        // A deletion repeats only the origin line.
        if !sap.is_deletion && (row.media.is_empty() || is_whole) {
            (row.name, row.origin, row.media, row.duplicates) = (session.name, session.origin, session.media, session.duplicates);
        }
    }

    /// All of them.
    pub fn finish(self) -> Vec<Announcement> {
        self.0.into_values().collect()
    }
}
