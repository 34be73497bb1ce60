//! Precision-time messages of a capture: the latest word of each clock port.

use super::complaints::Complaints;
use super::limited::Limited;
use super::{keep, seen};
use crate::facts::{ClockIdentity, ClockSender, MessageCounts, Transport};
use crate::frame::{Frame, Packet, Udp};
use crate::protocol::ptp::{self, Kind, Ptp};
use crate::seen::Trust;
use std::net::IpAddr;

/// Most senders that are kept. **Source**: own choice; a campus has some thousand clocks.
const MOST: usize = 16_384;
/// Most followers that are kept of one leader. **Source**: own choice.
const MOST_ANSWERED: usize = 64;
/// Versions before 2 say theirs in another place. **Source**: IEEE 1588-2002 (from memory).
const OLD: u8 = 1;

/// How a message came, and its octets.
#[derive(Clone)]
pub struct Way<'a> {
    /// What carried it.
    pub transport: Transport,
    /// The sender's address.
    pub address: Option<IpAddr>,
    /// Its code point.
    pub code_point: Option<u8>,
    /// The message.
    pub message: &'a [u8],
}

impl<'a> Way<'a> {
    /// By UDP.
    pub fn udp(packet: &Packet<'_>, datagram: &Udp<'a>) -> Self {
        let transport = if packet.from.is_ipv4() { Transport::Udp4 } else { Transport::Udp6 };
        Self { transport, address: Some(packet.from), code_point: Some(packet.code_point), message: datagram.payload }
    }

    /// By Ethernet.
    pub const fn ethernet(frame: &Frame<'a>) -> Self {
        Self { transport: Transport::Ethernet, address: None, code_point: None, message: frame.payload }
    }
}

type Key = (u32, Transport, u8, ClockIdentity, u16, Option<u16>);

/// Senders so far.
#[derive(Clone)]
pub struct Clocks(Limited<Key, ClockSender>);

impl Default for Clocks {
    fn default() -> Self {
        Self(Limited::new(MOST))
    }
}

impl Clocks {
    /// Adds one message.
    pub fn add(&mut self, frame: &Frame<'_>, way: &Way<'_>, complaints: &mut Complaints) {
        let Some(message) = ptp::read(way.message) else {
            let is_old = way.message.get(1).is_some_and(|version| version & 0x0f == OLD);
            let says = if is_old {
                "a precision-time message of version 1, which is not read here"
            } else {
                "a precision-time message is cut off or makes no sense"
            };
            complaints.add(&frame.stored, says);
            return;
        };
        let (identity, port) = message.sender;
        let key = (frame.stored.interface, way.transport, message.domain, identity, port, frame.vlan);
        let Some(sender) = self.0.get_or(key, || begin(frame, way, &message)) else { return };
        sender.seen.again(frame.stored.time);
        update(sender, way, &message);
        if message.announce.is_some() {
            let span = sender.announced.map_or(frame.stored.time, |(first, _)| Some(first)).zip(frame.stored.time);
            sender.announced = span.or(sender.announced);
        }
    }

    /// All of them.
    pub fn finish(self) -> Vec<ClockSender> {
        self.0.into_values().collect()
    }
}

fn begin(frame: &Frame<'_>, way: &Way<'_>, message: &Ptp) -> ClockSender {
    let mut seen = seen(frame, Trust::Announced);
    seen.times = 0;
    ClockSender {
        seen,
        identity: message.sender.0,
        port: message.sender.1,
        domain: message.domain,
        profile: message.profile,
        version: message.version,
        transport: way.transport,
        address: way.address,
        mac: frame.from,
        vlan: frame.vlan,
        event_code_points: Vec::new(),
        general_code_points: Vec::new(),
        messages: MessageCounts::default(),
        announce: None,
        announced: None,
        announce_interval: None,
        sync_interval: None,
        is_two_step: None,
        answers: Vec::new(),
    }
}

fn update(sender: &mut ClockSender, way: &Way<'_>, message: &Ptp) {
    let count = counter(&mut sender.messages, message.kind);
    *count = count.saturating_add(1);
    match message.kind {
        Kind::Sync => {
            sender.sync_interval = Some(message.interval);
            sender.is_two_step = Some(message.is_two_step);
        }
        Kind::Announce => {
            sender.announce_interval = Some(message.interval);
            sender.announce = message.announce.or(sender.announce);
        }
        _ => {}
    }
    if let Some(answered) = message.answers {
        keep(&mut sender.answers, answered, MOST_ANSWERED);
    }
    if let Some(code_point) = way.code_point {
        let is_event = matches!(message.kind, Kind::Sync | Kind::DelayRequest | Kind::PeerRequest | Kind::PeerResponse);
        let code_points = if is_event { &mut sender.event_code_points } else { &mut sender.general_code_points };
        keep(code_points, code_point, 64);
    }
}

fn counter(counts: &mut MessageCounts, kind: Kind) -> &mut u64 {
    match kind {
        Kind::Sync => &mut counts.sync,
        Kind::DelayRequest => &mut counts.delay_request,
        Kind::PeerRequest => &mut counts.peer_request,
        Kind::PeerResponse | Kind::PeerFollowUp => &mut counts.peer_response,
        Kind::FollowUp => &mut counts.follow_up,
        Kind::DelayResponse => &mut counts.delay_response,
        Kind::Announce => &mut counts.announce,
        Kind::Signalling => &mut counts.signalling,
        Kind::Management => &mut counts.management,
        Kind::Other => &mut counts.other,
    }
}
