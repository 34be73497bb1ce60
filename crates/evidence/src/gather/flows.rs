//! UDP flows of a capture, and the RTP senders within them.

use super::limited::Limited;
use super::rtp::Listener;
use super::{keep, seen};
use crate::facts::{Announcement, Flow, Media};
use crate::frame::{Frame, Packet, Udp};
use crate::mac::Mac;
use crate::protocol::rtp;
use crate::seen::{Moment, Seen, Trust};
use std::net::{IpAddr, Ipv4Addr};

/// Most flows that are kept. **Source**: own choice; 2,000 devices with four streams each fit.
const MOST: usize = 8_192;
/// Most RTP senders that are kept of one flow. **Source**: own choice: more than a few is no RTP.
const MOST_SENDERS: usize = 16;

/// Interface, VLAN, sender, destination, ports.
type Key = (u32, Option<u16>, Ipv4Addr, Ipv4Addr, (u16, u16));

/// Flows so far.
#[derive(Clone)]
pub struct Flows {
    rows: Limited<Key, Sums>,
    /// Later pieces of packets: they have no port.
    pieces: Limited<(u32, Option<u16>, Ipv4Addr, Ipv4Addr), u64>,
}

impl Default for Flows {
    fn default() -> Self {
        Self { rows: Limited::new(MOST), pieces: Limited::new(MOST) }
    }
}

#[derive(Clone)]
struct Sums {
    seen: Seen,
    mac: Option<Mac>,
    /// One bit for each.
    code_points: u64,
    hops_left: (u8, u8),
    octets: u64,
    frame_octets: (u32, u32),
    longest_gap: u64,
    last: Option<Moment>,
    fragmented: u64,
    senders: Vec<Listener>,
}

impl Flows {
    /// Adds a datagram; `is_special` says that its port belongs to another protocol than media.
    pub fn add(&mut self, frame: &Frame<'_>, packet: &Packet<'_>, datagram: &Udp<'_>, is_special: bool) {
        let (IpAddr::V4(from), IpAddr::V4(to)) = (packet.from, packet.to) else { return };
        let key = (frame.stored.interface, frame.vlan, from, to, (datagram.from, datagram.to));
        let Some(sums) = self.rows.get_or(key, || Sums::new(frame, packet)) else { return };
        sums.count(frame, packet);
        if !is_special {
            sums.rtp(frame, datagram);
        }
    }

    /// Adds a later piece of a packet.
    pub fn piece(&mut self, frame: &Frame<'_>, packet: &Packet<'_>) {
        let (IpAddr::V4(from), IpAddr::V4(to)) = (packet.from, packet.to) else { return };
        if let Some(count) = self.pieces.get_or((frame.stored.interface, frame.vlan, from, to), || 0) {
            *count = count.saturating_add(1);
        }
    }

    /// Datagrams that found no room.
    pub const fn left_out(&self) -> u64 {
        self.rows.left_out
    }

    /// All of them; the announcements tell sample rates.
    pub fn finish(self, announcements: &[Announcement]) -> Vec<Flow> {
        self.rows.into_rows().map(|(key, sums)| sums.flow(key, announcements)).collect()
    }
}

impl Sums {
    fn new(frame: &Frame<'_>, packet: &Packet<'_>) -> Self {
        let mut seen = seen(frame, Trust::Measured);
        seen.times = 0;
        Self {
            seen,
            mac: frame.from,
            code_points: 0,
            hops_left: (packet.hops, packet.hops),
            octets: 0,
            frame_octets: (frame.stored.length, frame.stored.length),
            longest_gap: 0,
            last: None,
            fragmented: 0,
            senders: Vec::new(),
        }
    }

    fn count(&mut self, frame: &Frame<'_>, packet: &Packet<'_>) {
        let length = frame.stored.length;
        self.seen.again(frame.stored.time);
        self.code_points |= 1 << (packet.code_point & 63);
        self.hops_left = (self.hops_left.0.min(packet.hops), self.hops_left.1.max(packet.hops));
        self.octets = self.octets.saturating_add(length.into());
        self.frame_octets = (self.frame_octets.0.min(length), self.frame_octets.1.max(length));
        self.fragmented = self.fragmented.saturating_add(packet.is_piece.into());
        if let Some((now, before)) = frame.stored.time.zip(self.last) {
            self.longest_gap = self.longest_gap.max(now.since(before));
        }
        self.last = frame.stored.time.or(self.last);
    }

    fn rtp(&mut self, frame: &Frame<'_>, datagram: &Udp<'_>) {
        let Some(header) = rtp::read(datagram.payload) else {
            return;
        };
        let carried = u32::try_from(datagram.carried.saturating_sub(header.octets)).ok();
        if let Some(sender) = self.senders.iter_mut().find(|sender| sender.ssrc() == header.ssrc) {
            sender.add(&header, frame.stored.time, carried);
        } else if self.senders.len() < MOST_SENDERS {
            self.senders.push(Listener::new(&header, frame.stored.time, carried));
        }
    }

    fn flow(self, key: Key, announcements: &[Announcement]) -> Flow {
        let (interface, vlan, sender, destination, udp_ports) = key;
        let mut code_points = Vec::new();
        (0..64).filter(|bit| self.code_points >> bit & 1 == 1).for_each(|bit| keep(&mut code_points, bit, 64));
        let likely: u64 = self.senders.iter().filter(|sender| sender.is_likely()).map(Listener::packets).sum();
        // Most packets must agree: a protocol that only looks like it at times is none.
        let is_rtp = likely > self.seen.times / 2;
        let media = medium(announcements, destination, udp_ports.1);
        let senders = self.senders.into_iter().filter(|sender| is_rtp && sender.is_likely());
        Flow {
            seen: self.seen,
            interface,
            mac: self.mac,
            sender,
            destination,
            udp_ports,
            vlan,
            code_points,
            hops_left: self.hops_left,
            octets: self.octets,
            frame_octets: self.frame_octets,
            longest_gap: self.longest_gap,
            fragmented: self.fragmented,
            rtp: senders.map(|sender| sender.finish(media)).collect(),
        }
    }
}

/// What the announcements say about a group and port.
fn medium(announcements: &[Announcement], group: Ipv4Addr, udp_port: u16) -> Option<&Media> {
    let mut media = announcements.iter().flat_map(|announcement| &announcement.media);
    media.find(|media| media.group == Some(group.into()) && media.udp_port == udp_port && media.sample_rate.is_some())
}
