//! A stream description as a file of its own. **Source**: RFC 8866.

use super::{complain, line_number};
use crate::evidence::Evidence;
use crate::facts::Announcement;
use crate::protocol::sdp;
use crate::seen::{Seen, Spot, Trust};

/// Reads the description.
pub fn read(text: &str) -> Evidence {
    let mut evidence = Evidence::default();
    let session = sdp::read(text);
    for (line, says) in session.wrong {
        complain(&mut evidence, line_number(line.saturating_sub(1)), says);
    }
    evidence.announcements.push(Announcement {
        seen: Seen::at(Spot::Whole, Trust::Announced),
        from: session.origin.as_ref().and_then(|(_, _, address)| address.parse().ok()),
        mac: None,
        vlan: None,
        hash: 0,
        is_deleted: false,
        name: session.name,
        origin: session.origin,
        media: session.media,
        duplicates: session.duplicates,
    });
    evidence
}
