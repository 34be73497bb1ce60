//! Tables and lists as programs print them and people type them, one format to a file.

mod address_lines;
mod bridge_json;
mod clock_lines;
mod dhcp_lines;
mod neighbours_json;
mod neighbours_lines;
pub mod notes;
mod receivers;
mod stream_description;
mod walk;
mod words;

use crate::evidence::Evidence;
use crate::seen::{Complaint, Spot};
use crate::sniff::Format;
use std::borrow::Cow;

/// Octets as text, and whether they were text throughout. A byte-order mark goes; UTF-16, as some tools write, is taken too.
pub fn decode(octets: &[u8]) -> (Cow<'_, str>, bool) {
    let wide = |big: bool| {
        let units = octets.get(2..).unwrap_or_default().chunks_exact(2).map(move |pair| match (big, pair) {
            (true, &[high, low]) => u16::from_be_bytes([high, low]),
            (_, &[low, high]) => u16::from_le_bytes([low, high]),
            _ => 0,
        });
        let text: String = char::decode_utf16(units).map(|unit| unit.unwrap_or(char::REPLACEMENT_CHARACTER)).collect();
        let is_exact = !text.contains(char::REPLACEMENT_CHARACTER);
        (Cow::Owned(text), is_exact)
    };
    match octets {
        [0xff, 0xfe, ..] => wide(false),
        [0xfe, 0xff, ..] => wide(true),
        _ => {
            let octets = octets.strip_prefix(&[0xef, 0xbb, 0xbf]).unwrap_or(octets);
            let text = String::from_utf8_lossy(octets);
            let is_exact = matches!(text, Cow::Borrowed(_));
            (text, is_exact)
        }
    }
}

/// Reads a text whose format is known.
pub fn read(format: Format, text: &str) -> Evidence {
    match format {
        Format::NeighboursJson => neighbours_json::read(text),
        Format::NeighboursKeyValue => neighbours_lines::key_value(text),
        Format::Notes => notes::read(text),
        Format::Walk => walk::read_walk(text),
        Format::WalkRecord => walk::read_record(text),
        Format::NeighboursText => neighbours_lines::printed(text),
        Format::BridgeJson => bridge_json::tables(text),
        Format::AddressesJson => bridge_json::addresses(text),
        Format::NeighbourCache => address_lines::cache(text),
        Format::ArpProbe => address_lines::probe(text),
        Format::Leases => dhcp_lines::leases(text),
        Format::DhcpLog => dhcp_lines::log(text),
        Format::DhcpOffers => dhcp_lines::offers(text),
        Format::ClockStates => clock_lines::read(text),
        Format::Receivers => receivers::read(text),
        Format::StreamDescription => stream_description::read(text),
        Format::Pcap | Format::PcapNg | Format::Wire => {
            let mut evidence = Evidence::default();
            complain(&mut evidence, Spot::Whole, "a capture cannot be read as text");
            evidence
        }
    }
}

/// Reads JSON; a mistake is told with its line.
fn json(text: &str, evidence: &mut Evidence) -> Vec<serde_json::Value> {
    let mut values = Vec::new();
    for value in serde_json::Deserializer::from_str(text).into_iter() {
        match value {
            Ok(value) => values.push(value),
            Err(error) => {
                let line = u64::try_from(error.line()).unwrap_or(u64::MAX);
                complain(evidence, Spot::Line(line), format!("no JSON: {error}"));
                break;
            }
        }
    }
    values
}

/// Adds a complaint; the same words are said once and counted.
fn complain(evidence: &mut Evidence, spot: Spot, says: impl Into<String>) {
    let says = says.into();
    if let Some(complaint) = evidence.complaints.iter_mut().find(|complaint| complaint.says == says) {
        complaint.times = complaint.times.saturating_add(1);
    } else if evidence.complaints.len() < MOST_COMPLAINTS {
        evidence.complaints.push(Complaint { source: 0, spot, says, times: 1 });
    }
}

/// Most different complaints of one text. **Source**: own choice.
const MOST_COMPLAINTS: usize = 256;

/// The line's number, from 1.
fn line_number(index: usize) -> Spot {
    Spot::Line(u64::try_from(index).unwrap_or(u64::MAX).saturating_add(1))
}

/// The entry's number, from 1.
fn entry_number(index: usize) -> Spot {
    Spot::Entry(u64::try_from(index).unwrap_or(u64::MAX).saturating_add(1))
}
