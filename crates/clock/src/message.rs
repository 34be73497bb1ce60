//! Clock messages: their arithmetic, sizes and timers.

use loomwright_model::Time;

/// UDP port of general messages (Announce, Follow_Up). **Source**: IEEE 1588-2008 annex D.
pub const GENERAL_PORT: u16 = 320;
/// UDP port of event messages (Sync, Delay_Req), which are time-stamped. **Source**: IEEE 1588-2008 annex D.
pub const EVENT_PORT: u16 = 319;
/// Bytes of a Sync or Delay_Req frame over UDP and IPv4, check sequence included, untagged: 44 of message,
/// 8 UDP, 20 IP, 18 Ethernet. **Source**: IEEE 1588-2008 13.6 (44, from memory), RFC 768, RFC 791, IEEE 802.3.
pub const EVENT_FRAME_BYTES: u64 = 90;

/// Four time stamps of one exchange, nanoseconds: Sync sent and received, Delay_Req sent and received.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Exchange(pub [i64; 4]);

impl Exchange {
    /// Twice the follower's offset from its leader. **Source**: IEEE 1588-2008 11.3.
    pub fn twice_offset(self) -> i64 {
        let [t1, t2, t3, t4] = self.0;
        (t2 - t1) - (t4 - t3)
    }

    /// Twice the mean path delay. **Source**: IEEE 1588-2008 11.3.
    pub fn twice_mean_delay(self) -> i64 {
        let [t1, t2, t3, t4] = self.0;
        (t2 - t1) + (t4 - t3)
    }
}

/// Error that unequal ways there and back cause: half their difference. The protocol cannot see it.
/// **Source**: IEEE 1588-2008 7.4.2.
pub fn asymmetry_error(there: Time, back: Time) -> Time {
    let apart = there.max(back) - there.min(back);
    Time::from_picoseconds(apart.picoseconds().div_ceil(2))
}

/// Clock identity made from a hardware address: `FF-FE` in its middle. **Source**: IEEE 1588-2008 7.5.2.2.2.
pub fn identity_from_mac([a, b, c, d, e, f]: [u8; 6]) -> [u8; 8] {
    [a, b, c, 0xFF, 0xFE, d, e, f]
}

/// What a clockAccuracy code promises; `None` for codes that promise nothing.
///
/// **Source**: IEEE 1588-2008 7.6.2.5.
pub fn accuracy(code: u8) -> Option<Time> {
    const NANOSECONDS: [u64; 17] = [
        25,
        100,
        250,
        1_000,
        2_500,
        10_000,
        25_000,
        100_000,
        250_000,
        1_000_000,
        2_500_000,
        10_000_000,
        25_000_000,
        100_000_000,
        250_000_000,
        1_000_000_000,
        10_000_000_000,
    ];
    let at = usize::from(code.checked_sub(0x20)?);
    NANOSECONDS.get(at).copied().map(Time::from_nanoseconds)
}

/// How announcements are timed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Announcing {
    /// Time between announcements, as power of two of a second.
    pub log_interval: i8,
    /// Intervals of silence after which a leader counts as lost.
    pub timeout: u8,
}

impl Default for Announcing {
    /// 2 s and 3 intervals. **Source**: IEEE 1588-2008 annex J.3 and AES67 media profile (read second-hand).
    fn default() -> Self {
        Self { log_interval: 1, timeout: 3 }
    }
}

impl Announcing {
    /// Time between announcements.
    pub fn interval(self) -> Time {
        const SECOND: u64 = 1_000_000_000_000;
        match u32::from(self.log_interval.unsigned_abs()) {
            power if self.log_interval >= 0 => Time::from_picoseconds(SECOND.checked_shl(power).unwrap_or(u64::MAX)),
            power => Time::from_picoseconds(SECOND.checked_shr(power).unwrap_or(0)),
        }
    }

    /// Silence after which the leader counts as lost.
    pub fn leader_timeout(self) -> Time {
        self.interval().times(u64::from(self.timeout))
    }

    /// Longest until all follow another leader after theirs is gone: the timeout, up to one interval before
    /// it starts to run, and two announcements of the new one. Trials with 1 s and 2 s settled in 4.5 and 9.2 s.
    ///
    /// **Source**: timeout as above; two announcements before a new leader counts: IEEE 1588-2008 9.3.2.4.4, from memory.
    pub fn takeover(self) -> Time {
        self.leader_timeout() + self.interval().times(3)
    }
}
