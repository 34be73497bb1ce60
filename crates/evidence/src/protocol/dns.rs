//! Names and services that devices tell the whole network. **Source**: RFC 1035 section 4, RFC 6762, RFC 6763.

use crate::bytes::{Octets, text};
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr};

/// The UDP port. **Source**: RFC 6762 section 3.
pub const PORT: u16 = 5353;
/// Longest name in its printed form. **Source**: RFC 1035 section 2.3.4.
const LONGEST_NAME: usize = 255;
/// Most jumps within one name. **Source**: own choice: each jump must also lead backwards, so there is no circle.
const MOST_JUMPS: usize = 32;
/// Most records of one message. **Source**: own choice.
const MOST_RECORDS: usize = 512;

/// One record of an answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Record {
    /// Labels of the name it is about.
    pub name: Vec<String>,
    /// For how long it is good. **Unit**: second; 0 takes it back.
    pub time_to_live: u32,
    /// What it says.
    pub says: Says,
}

/// What a record says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Says {
    /// The name has this address.
    Address(IpAddr),
    /// The name stands for this one.
    Pointer(Vec<String>),
    /// The service is at this port of this host.
    Service(u16, Vec<String>),
    /// Further particulars.
    Text(Vec<String>),
}

/// The records of an answer; empty for a question. `None` if it is damaged before the first record.
pub fn read(payload: &[u8]) -> Option<Vec<Record>> {
    let mut octets = Octets(payload);
    octets.u16()?;
    let flags = octets.u16()?;
    let [questions, answers, authorities, further] = [octets.u16()?, octets.u16()?, octets.u16()?, octets.u16()?];
    if flags & 0x8000 == 0 {
        return Some(Vec::new());
    }
    let mut at = payload.len() - octets.0.len();
    for _ in 0..questions {
        at = name(payload, at)?.1.checked_add(4)?;
    }
    let count = usize::from(answers) + usize::from(authorities) + usize::from(further);
    let mut records = Vec::new();
    for _ in 0..count.min(MOST_RECORDS) {
        let Some((record, next)) = record(payload, at) else { break };
        records.extend(record);
        at = next;
    }
    Some(records)
}

/// A record, `None` inside if it is of another kind; and where the next begins.
fn record(message: &[u8], at: usize) -> Option<(Option<Record>, usize)> {
    let (owner, at) = name(message, at)?;
    let mut octets = Octets(message.get(at..)?);
    let kind = octets.u16()?;
    octets.u16()?;
    let time_to_live = octets.u32()?;
    let length = usize::from(octets.u16()?);
    let begin = at + 10;
    let data = octets.take(length)?;
    let says = match kind {
        1 => <[u8; 4]>::try_from(data).ok().map(|octets| Says::Address(Ipv4Addr::from(octets).into())),
        28 => <[u8; 16]>::try_from(data).ok().map(|octets| Says::Address(Ipv6Addr::from(octets).into())),
        12 => name(message, begin).map(|(name, _)| Says::Pointer(name)),
        33 => {
            Octets(data.get(4..).unwrap_or_default()).u16().zip(name(message, begin + 6)).map(|(port, (host, _))| Says::Service(port, host))
        }
        16 => Some(Says::Text(strings(data))),
        _ => None,
    };
    Some((says.map(|says| Record { name: owner, time_to_live, says }), begin + length))
}

fn strings(data: &[u8]) -> Vec<String> {
    let mut octets = Octets(data);
    let mut found = Vec::new();
    while let Some(length) = octets.u8() {
        let Some(string) = octets.take(length.into()) else { break };
        if !string.is_empty() {
            found.push(text(string));
        }
    }
    found
}

/// The labels of the name at `at`, and where what follows begins. Jumps must lead backwards.
fn name(message: &[u8], at: usize) -> Option<(Vec<String>, usize)> {
    let mut labels = Vec::new();
    let (mut at, mut end, mut length) = (at, None, 0);
    for _ in 0..MOST_JUMPS {
        let start = at;
        loop {
            match *message.get(at)? {
                0 => return Some((labels, end.unwrap_or(at + 1))),
                size @ 1..=63 => {
                    let label = message.get(at + 1..at + 1 + usize::from(size))?;
                    length += label.len() + 1;
                    if length > LONGEST_NAME {
                        return None;
                    }
                    labels.push(text(label));
                    at += 1 + usize::from(size);
                }
                high @ 192.. => {
                    let to = usize::from(high & 0x3f) << 8 | usize::from(*message.get(at + 1)?);
                    end = end.or(Some(at + 2));
                    if to >= start {
                        return None;
                    }
                    at = to;
                    break;
                }
                _ => return None,
            }
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn jumps_lead_backwards_only() {
        let message = [1, b'a', 0, 1, b'b', 0xc0, 0, 0xc0, 7, 0xc0, 3];
        assert_eq!(name(&message, 3), Some((vec!["b".to_owned(), "a".to_owned()], 7)));
        assert_eq!(name(&message, 9), Some((vec!["b".to_owned(), "a".to_owned()], 11)));
        assert_eq!(name(&message, 7), None);
        assert_eq!(name(&message, 99), None);
        assert_eq!(name(&[[63; 64], [63; 64], [63; 64], [63; 64], [63; 64]].concat(), 0), None);
    }
}
