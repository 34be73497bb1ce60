//! How long a switch remembers who wants a group, and who asks.

use std::net::Ipv4Addr;

/// Timers of group membership, whole seconds. **Source**: RFC 3376 section 8.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Membership {
    /// How many lost messages are put up with. Default 2 (section 8.1).
    pub robustness: u32,
    /// Time between questions. Default 125 s (section 8.2).
    pub query_interval: u32,
    /// Time in which members may answer. Default 10 s (section 8.3).
    pub response_interval: u32,
}

impl Default for Membership {
    fn default() -> Self {
        Self { robustness: 2, query_interval: 125, response_interval: 10 }
    }
}

impl Membership {
    /// Seconds after which a member that nobody heard again is forgotten. **Source**: RFC 3376 section 8.4.
    ///
    /// ```
    /// assert_eq!(loomwright_forwarding::membership::Membership::default().interval(), 260);
    /// ```
    pub const fn interval(self) -> u32 {
        self.robustness.saturating_mul(self.query_interval).saturating_add(self.response_interval)
    }

    /// Seconds after which another querier takes over from one that went silent. **Source**: RFC 3376 section 8.5.
    pub const fn other_querier(self) -> u32 {
        self.robustness.saturating_mul(self.query_interval).saturating_add(self.response_interval / 2)
    }
}

/// Tenths of a second in which members may answer, from the code in a question. **Source**: RFC 3376 section 4.1.1.
pub const fn response_tenths(code: u8) -> u32 {
    match code {
        0..=127 => code as u32,
        _ => ((code & 0x0f) as u32 | 0x10) << (((code >> 4) & 0x07) + 3),
    }
}

/// Who asks of several that could: the lowest address; 0.0.0.0 never counts.
/// **Source**: RFC 3376 section 6.6.2, RFC 4541 section 2.1.1 (4).
pub fn querier(candidates: impl IntoIterator<Item = Ipv4Addr>) -> Option<Ipv4Addr> {
    candidates.into_iter().filter(|address| !address.is_unspecified()).min()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_response_times_are_coded_as_floating_point() {
        assert_eq!([response_tenths(127), response_tenths(128), response_tenths(255)], [127, 128, 31_744]);
    }

    #[test]
    fn nobody_asks_where_nobody_has_an_address() {
        assert_eq!(querier([Ipv4Addr::UNSPECIFIED]), None);
    }
}
