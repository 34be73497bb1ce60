//! Who asks about groups and who wants them, added up.

use super::complaints::Complaints;
use super::limited::Limited;
use super::{keep, seen};
use crate::facts::{Membership, Querier};
use crate::frame::{Frame, Packet};
use crate::protocol::igmp::{self, Change, Igmp, Wish};
use crate::seen::{Moment, Trust};
use std::net::{IpAddr, Ipv4Addr};

/// Most queriers and most wishes that are kept. **Source**: own choice; 2,000 devices with 16 streams each fit twice.
const MOST_QUERIERS: usize = 1_024;
const MOST_WISHES: usize = 65_536;
/// Most senders that are kept of one wish. **Source**: own choice.
const MOST_SENDERS: usize = 64;

type Place = (u32, Option<u16>, Ipv4Addr);

/// Queriers and wishes so far.
#[derive(Clone)]
pub struct Groups {
    queriers: Limited<(Place, u8), (Querier, Option<Moment>)>,
    wishes: Limited<(Place, Ipv4Addr), Membership>,
}

impl Default for Groups {
    fn default() -> Self {
        Self { queriers: Limited::new(MOST_QUERIERS), wishes: Limited::new(MOST_WISHES) }
    }
}

impl Groups {
    /// Adds one message.
    pub fn add(&mut self, frame: &Frame<'_>, packet: &Packet<'_>, complaints: &mut Complaints) {
        let IpAddr::V4(host) = packet.from else { return };
        let place = (frame.stored.interface, frame.vlan, host);
        match igmp::read(packet.payload) {
            Some(Igmp::Report { version, wishes }) => {
                for wish in wishes {
                    self.wish(frame, place, version, wish);
                }
            }
            Some(query @ Igmp::Query { .. }) => self.query(frame, place, &query),
            None => complaints.add(&frame.stored, "a group membership message is of a kind that is not read here, or cut off"),
        }
    }

    fn query(&mut self, frame: &Frame<'_>, place: Place, query: &Igmp) {
        let Igmp::Query { version, group, response_time, interval } = *query else { return };
        let row = self.queriers.get_or((place, version), || {
            let mut seen = seen(frame, Trust::Measured);
            seen.times = 0;
            let (address, mac, vlan) = (place.2, frame.from, frame.vlan);
            let (shortest_interval, longest_interval, stated_interval) = (None, None, None);
            let querier = Querier {
                seen,
                address,
                mac,
                vlan,
                version,
                general: 0,
                response_time,
                stated_interval,
                shortest_interval,
                longest_interval,
            };
            (querier, None)
        });
        let Some((querier, last)) = row else { return };
        querier.seen.again(frame.stored.time);
        if group.is_some() {
            return;
        }
        querier.general = querier.general.saturating_add(1);
        querier.response_time = response_time;
        querier.stated_interval = interval.or(querier.stated_interval);
        if let Some((now, before)) = frame.stored.time.zip(*last) {
            let passed = now.since(before);
            querier.shortest_interval = Some(querier.shortest_interval.map_or(passed, |least| least.min(passed)));
            querier.longest_interval = Some(querier.longest_interval.map_or(passed, |most| most.max(passed)));
        }
        *last = frame.stored.time.or(*last);
    }

    fn wish(&mut self, frame: &Frame<'_>, place: Place, version: u8, wish: Wish) {
        let row = self.wishes.get_or((place, wish.group), || {
            let mut seen = seen(frame, Trust::Measured);
            seen.times = 0;
            let (host, mac, vlan, group) = (place.2, frame.from, frame.vlan, wish.group);
            Membership { seen, host, mac, vlan, group, version, reports: 0, leaves: 0, is_member: false, senders: Vec::new() }
        });
        let Some(row) = row else { return };
        row.seen.again(frame.stored.time);
        row.version = row.version.max(version);
        match wish.change {
            Change::Want => {
                row.reports = row.reports.saturating_add(1);
                row.is_member = true;
                for sender in wish.senders {
                    keep(&mut row.senders, sender, MOST_SENDERS);
                }
            }
            Change::Leave => {
                row.leaves = row.leaves.saturating_add(1);
                row.is_member = false;
                row.senders.clear();
            }
            Change::Block => {
                row.leaves = row.leaves.saturating_add(1);
                let had_senders = !row.senders.is_empty();
                row.senders.retain(|sender| !wish.senders.contains(sender));
                row.is_member &= !(had_senders && row.senders.is_empty());
            }
        }
    }

    /// All of them.
    pub fn finish(self) -> (Vec<Querier>, Vec<Membership>) {
        (self.queriers.into_values().map(|(querier, _)| querier).collect(), self.wishes.into_values().collect())
    }
}
