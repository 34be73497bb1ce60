//! Questions and answers about groups. **Source**: RFC 1112 appendix I, RFC 2236, RFC 3376 section 4.

use crate::bytes::Octets;
use std::net::Ipv4Addr;

/// Kinds of message. **Source**: RFC 2236 section 2.1, RFC 3376 section 4.
const QUERY: u8 = 0x11;
const REPORT_1: u8 = 0x12;
const REPORT_2: u8 = 0x16;
const LEAVE: u8 = 0x17;
const REPORT_3: u8 = 0x22;
/// Most senders that are kept of one record. **Source**: own choice.
const MOST_SENDERS: usize = 64;

/// A message.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Igmp {
    /// Who wants this group, or any (`None`)?
    Query {
        /// Version, 1 to 3.
        version: u8,
        /// The group; `None` is a general query.
        group: Option<Ipv4Addr>,
        /// How long answers may take. **Unit**: tenth of a second.
        response_time: u32,
        /// How often it asks, version 3. **Unit**: second.
        interval: Option<u32>,
    },
    /// What a host wants.
    Report {
        /// Version, 1 to 3.
        version: u8,
        /// Group by group.
        wishes: Vec<Wish>,
    },
}

/// One host's wish for one group.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wish {
    /// The group.
    pub group: Ipv4Addr,
    /// What it wants.
    pub change: Change,
    /// Senders that it names.
    pub senders: Vec<Ipv4Addr>,
}

/// What a host wants of a group.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Change {
    /// Have it.
    Want,
    /// Leave it.
    Leave,
    /// No longer have these senders.
    Block,
}

/// Reads a message; records that are cut off are left out.
pub fn read(payload: &[u8]) -> Option<Igmp> {
    let mut octets = Octets(payload);
    let kind = octets.u8()?;
    let code = octets.u8()?;
    octets.u16()?;
    let plain = |version, change, group| Igmp::Report { version, wishes: vec![Wish { group, change, senders: Vec::new() }] };
    match kind {
        QUERY => query(code, payload.len(), &mut octets),
        REPORT_1 => Some(plain(1, Change::Want, octets.ipv4()?)),
        REPORT_2 => Some(plain(2, Change::Want, octets.ipv4()?)),
        LEAVE => Some(plain(2, Change::Leave, octets.ipv4()?)),
        REPORT_3 => {
            octets.u16()?;
            let count = octets.u16()?;
            let wishes = (0..count).map_while(|_| wish(&mut octets)).flatten().collect();
            Some(Igmp::Report { version: 3, wishes })
        }
        _ => None,
    }
}

/// Version by length and code. **Source**: RFC 3376 section 7.1.
fn query(code: u8, length: usize, octets: &mut Octets<'_>) -> Option<Igmp> {
    let group = Some(octets.ipv4()?).filter(|group| !group.is_unspecified());
    if length < 12 {
        let (version, response_time) = if code == 0 { (1, 100) } else { (2, code.into()) };
        return Some(Igmp::Query { version, group, response_time, interval: None });
    }
    octets.u8()?;
    let interval = Some(floating(octets.u8()?));
    Some(Igmp::Query { version: 3, group, response_time: floating(code), interval })
}

/// Small numbers as they are, large ones with three bits of exponent. **Source**: RFC 3376 section 4.1.1.
fn floating(code: u8) -> u32 {
    match code {
        0..=127 => code.into(),
        _ => u32::from(code & 0x0f | 0x10) << (u32::from(code >> 4 & 7) + 3),
    }
}

/// One record; the inner `None` is a kind that is not known.
fn wish(octets: &mut Octets<'_>) -> Option<Option<Wish>> {
    let kind = octets.u8()?;
    let auxiliary = usize::from(octets.u8()?) * 4;
    let count = octets.u16()?;
    let group = octets.ipv4()?;
    let mut senders: Vec<Ipv4Addr> = Vec::new();
    for _ in 0..count {
        let sender = octets.ipv4()?;
        if senders.len() < MOST_SENDERS {
            senders.push(sender);
        }
    }
    octets.take(auxiliary)?;
    // Only these senders; all but these; from now on the same; add; take away. **Source**: RFC 3376 section 4.2.12.
    let change = match (kind, count) {
        (1 | 3, 0) => Change::Leave,
        (1 | 3, _) | (2 | 4, _) | (5, 1..) => Change::Want,
        (6, 1..) => Change::Block,
        _ => return Some(None),
    };
    // Senders that are excluded are not wanted.
    if matches!(kind, 2 | 4) {
        senders.clear();
    }
    Some(Some(Wish { group, change, senders }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn large_times_float() {
        // Worked from RFC 3376 section 4.1.1.
        for (code, value) in [(100, 100), (127, 127), (0x80, 128), (0xff, 31_744)] {
            assert_eq!(floating(code), value, "{code}");
        }
    }

    #[test]
    fn versions_by_length_and_code() {
        let query = |code, more: &[u8]| read(&[&[0x11, code, 0, 0, 0, 0, 0, 0], more].concat());
        for (code, more, expected) in [(0, &[][..], 1), (100, &[], 2), (100, &[0, 125, 0, 0], 3)] {
            assert!(matches!(query(code, more), Some(Igmp::Query { version, group: None, .. }) if version == expected), "{expected}");
        }
    }

    #[test]
    fn records_join_leave_and_stop_where_cut() {
        let octets = [
            0x22, 0, 0, 0, 0, 0, 0, 3, // three records
            4, 0, 0, 0, 239, 69, 0, 1, // exclude nothing: join
            3, 0, 0, 0, 239, 69, 0, 2, // include nothing: leave
            1, 0, 0, 1, 232, 1, 1, 1, 10, 0, 0, 9, // one sender only
        ];
        let Some(Igmp::Report { version: 3, wishes }) = read(&octets) else { panic!("a report") };
        let changes: Vec<Change> = wishes.iter().map(|wish| wish.change).collect();
        assert_eq!(changes, [Change::Want, Change::Leave, Change::Want]);
        assert_eq!(wishes[2].senders, [Ipv4Addr::new(10, 0, 0, 9)]);
        let Some(Igmp::Report { wishes, .. }) = read(&octets[..26]) else { panic!("a report") };
        assert_eq!(wishes.len(), 2);
    }
}
