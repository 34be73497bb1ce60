//! Precision-time messages. **Source**: IEEE 1588-2008 clause 13 (field order from memory, checked in tests against the project's
//! own recordings of a PTP daemon only).

use crate::bytes::Octets;
use crate::facts::{Announce, ClockIdentity};

/// UDP ports of event and general messages. **Source**: IEEE 1588-2008 annex D.
pub const EVENT: u16 = 319;
/// General messages.
pub const GENERAL: u16 = 320;
/// The group of all messages but those between neighbours. **Source**: IEEE 1588-2008 annex D (from memory).
pub const GROUP: std::net::Ipv4Addr = std::net::Ipv4Addr::new(224, 0, 1, 129);
/// Flags: a Follow_Up comes; the offset from UTC is valid. **Source**: clause 13.3.2.6.
const TWO_STEP: u16 = 0x0200;
const UTC_VALID: u16 = 0x0004;

/// A message taken apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ptp {
    /// Kind of message. **Source**: table 19.
    pub kind: Kind,
    /// Upper half of the first octet.
    pub profile: u8,
    /// Version of the protocol.
    pub version: u8,
    /// The domain.
    pub domain: u8,
    /// Whether a Follow_Up comes.
    pub is_two_step: bool,
    /// The sender: clock and port.
    pub sender: (ClockIdentity, u16),
    /// Number of the message.
    pub sequence: u16,
    /// The interval that it states. **Unit**: power of two of a second.
    pub interval: i8,
    /// What an Announce says.
    pub announce: Option<Announce>,
    /// Whom a Delay_Resp answers.
    pub answers: Option<ClockIdentity>,
}

/// Kinds of message. **Source**: IEEE 1588-2008 table 19.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Time, from the leader.
    Sync,
    /// A follower measures the delay.
    DelayRequest,
    /// A neighbour measures the delay.
    PeerRequest,
    /// A neighbour answers.
    PeerResponse,
    /// When the Sync really left.
    FollowUp,
    /// The leader answers a follower.
    DelayResponse,
    /// When the neighbour's answer really left.
    PeerFollowUp,
    /// How good a clock this is.
    Announce,
    /// Talk between clocks.
    Signalling,
    /// Talk with management.
    Management,
    /// None of these.
    Other,
}

fn kind(number: u8) -> Kind {
    match number {
        0x0 => Kind::Sync,
        0x1 => Kind::DelayRequest,
        0x2 => Kind::PeerRequest,
        0x3 => Kind::PeerResponse,
        0x8 => Kind::FollowUp,
        0x9 => Kind::DelayResponse,
        0xa => Kind::PeerFollowUp,
        0xb => Kind::Announce,
        0xc => Kind::Signalling,
        0xd => Kind::Management,
        _ => Kind::Other,
    }
}

fn identity(octets: &mut Octets<'_>) -> Option<ClockIdentity> {
    Some(ClockIdentity(octets.take(8)?.try_into().ok()?))
}

/// Reads a message of version 2; `None` if it is of another version or too short.
pub fn read(payload: &[u8]) -> Option<Ptp> {
    let mut octets = Octets(payload);
    let first = octets.u8()?;
    let version = octets.u8()? & 0x0f;
    octets.u16()?;
    let domain = octets.u8()?;
    octets.u8()?;
    let flags = octets.u16()?;
    octets.take(12)?;
    let sender = (identity(&mut octets)?, octets.u16()?);
    let sequence = octets.u16()?;
    octets.u8()?;
    let interval = i8::from_be_bytes([octets.u8()?]);
    if version != 2 {
        return None;
    }
    let kind = kind(first & 0x0f);
    let announce = if kind == Kind::Announce { announce(&mut octets, flags) } else { None };
    let answers = if kind == Kind::DelayResponse { octets.take(10).and_then(|_| identity(&mut octets)) } else { None };
    Some(Ptp {
        kind,
        profile: first >> 4,
        version,
        domain,
        is_two_step: flags & TWO_STEP != 0,
        sender,
        sequence,
        interval,
        announce,
        answers,
    })
}

fn announce(octets: &mut Octets<'_>, flags: u16) -> Option<Announce> {
    octets.take(10)?;
    let offset = i16::from_be_bytes(octets.u16()?.to_be_bytes());
    octets.u8()?;
    Some(Announce {
        priority1: octets.u8()?,
        class: octets.u8()?,
        accuracy: octets.u8()?,
        variance: octets.u16()?,
        priority2: octets.u8()?,
        leader: identity(octets)?,
        steps: octets.u16()?,
        time_source: octets.u8()?,
        utc_offset: (flags & UTC_VALID != 0).then_some(offset),
    })
}
