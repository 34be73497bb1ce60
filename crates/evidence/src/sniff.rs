//! Recognises what a file is, by its content first and by its name second.

use serde::Serialize;

/// What a file is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Format {
    /// A capture of the older kind.
    Pcap,
    /// A capture of the newer kind.
    PcapNg,
    /// A neighbour daemon's table as JSON, of either shape.
    NeighboursJson,
    /// A neighbour daemon's table as `key=value` lines.
    NeighboursKeyValue,
    /// A neighbour daemon's table as a person reads it.
    NeighboursText,
    /// The output of an SNMP walk, with numbers or names.
    Walk,
    /// A recorded walk, `number|type|value`.
    WalkRecord,
    /// A Linux bridge's tables as JSON.
    BridgeJson,
    /// A Linux machine's addresses as JSON.
    AddressesJson,
    /// A Linux machine's address table.
    NeighbourCache,
    /// Answers to ARP probes.
    ArpProbe,
    /// A DHCP server's leases.
    Leases,
    /// What a DHCP client logged.
    DhcpLog,
    /// Offers that a probe collected, as JSON.
    DhcpOffers,
    /// A clock daemon's answers.
    ClockStates,
    /// What receivers counted, one JSON object a line.
    Receivers,
    /// A table of what a person saw.
    Notes,
    /// A stream description.
    StreamDescription,
    /// The wire itself, as it was listened to.
    Wire,
}

impl Format {
    /// What it is, in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Pcap => "capture (pcap)",
            Self::PcapNg => "capture (pcapng)",
            Self::NeighboursJson => "neighbour table (JSON)",
            Self::NeighboursKeyValue => "neighbour table (key=value)",
            Self::NeighboursText => "neighbour table (text)",
            Self::Walk => "SNMP walk",
            Self::WalkRecord => "recorded SNMP walk",
            Self::BridgeJson => "bridge tables (JSON)",
            Self::AddressesJson => "interface addresses (JSON)",
            Self::NeighbourCache => "address table",
            Self::ArpProbe => "answers to ARP probes",
            Self::Leases => "DHCP leases",
            Self::DhcpLog => "log of a DHCP client",
            Self::DhcpOffers => "DHCP offers",
            Self::ClockStates => "answers of a clock daemon",
            Self::Receivers => "counts of receivers",
            Self::Notes => "notes (CSV)",
            Self::StreamDescription => "stream description (SDP)",
            Self::Wire => "the wire",
        }
    }

    /// Whether it can be taken piece by piece.
    pub const fn is_capture(self) -> bool {
        matches!(self, Self::Pcap | Self::PcapNg)
    }
}

/// Whether the first octets are a capture's. **Source**: the formats' own magic numbers (draft-ietf-opsawg-pcap,
/// draft-ietf-opsawg-pcapng; from memory).
pub fn capture(head: &[u8]) -> Option<Format> {
    match head {
        [0xd4, 0xc3, 0xb2, 0xa1, ..] | [0xa1, 0xb2, 0xc3, 0xd4, ..] | [0x4d, 0x3c, 0xb2, 0xa1, ..] | [0xa1, 0xb2, 0x3c, 0x4d, ..] => {
            Some(Format::Pcap)
        }
        [0x0a, 0x0d, 0x0d, 0x0a, ..] => Some(Format::PcapNg),
        _ => None,
    }
}

/// What a text is, by its shape. The name decides only where the content does not.
pub fn text(name: &str, text: &str) -> Option<Format> {
    let start = text.trim_start_matches('\u{feff}').trim_start();
    match start.as_bytes().first()? {
        b'{' | b'[' => json(start),
        _ if start.starts_with("v=0") => Some(Format::StreamDescription),
        _ => start.lines().map(str::trim).filter(|line| !line.is_empty()).take(LINES).find_map(line).or_else(|| by_name(name)),
    }
}

/// How many lines are looked at. **Source**: own choice; preambles are shorter.
const LINES: usize = 60;

fn json(text: &str) -> Option<Format> {
    let has = |key: &str| text.contains(&format!("\"{key}\""));
    match () {
        () if has("lldp") => Some(Format::NeighboursJson),
        () if has("host") && has("pkts") => Some(Format::Receivers),
        () if has("offer") && has("server") => Some(Format::DhcpOffers),
        () if has("fdb") || has("mdb") || (has("ifname") && (has("hairpin") || has("mac"))) => Some(Format::BridgeJson),
        () if has("addr_info") => Some(Format::AddressesJson),
        () if has("dst") && has("lladdr") => Some(Format::NeighbourCache),
        () => None,
    }
}

fn line(line: &str) -> Option<Format> {
    let has = |part: &str| line.contains(part);
    match () {
        () if line.starts_with("lldp.") && has("=") => Some(Format::NeighboursKeyValue),
        () if line.starts_with("LLDP neighbors") || (line.starts_with("Interface:") && has("via:")) => Some(Format::NeighboursText),
        () if is_record(line) => Some(Format::WalkRecord),
        () if has(" = ") && (line.starts_with(".1.") || line.starts_with("1.") || line.starts_with("iso.") || has("::")) => {
            Some(Format::Walk)
        }
        () if line.starts_with("ARPING ") || has("bytes from ") && has("(") => Some(Format::ArpProbe),
        () if has(" lladdr ") || (has(" dev ") && (has("FAILED") || has("INCOMPLETE"))) => Some(Format::NeighbourCache),
        () if line.starts_with("lease ") && line.ends_with('{') => Some(Format::Leases),
        () if is_short_lease(line) => Some(Format::Leases),
        () if line.starts_with("udhcpc: ") || line.starts_with("DHCPOFFER ") || line.starts_with("DHCPACK ") => Some(Format::DhcpLog),
        () if line.starts_with("sending: GET ") || has("RESPONSE MANAGEMENT") => Some(Format::ClockStates),
        () if crate::text::notes::is_heading(line) => Some(Format::Notes),
        () => None,
    }
}

fn is_record(line: &str) -> bool {
    let mut parts = line.splitn(3, '|');
    let number = parts.next().unwrap_or_default();
    let kind = parts.next().unwrap_or_default();
    parts.next().is_some()
        && number.contains('.')
        && number.bytes().all(|b| b.is_ascii_digit() || b == b'.')
        && kind.bytes().next().is_some_and(|b| b.is_ascii_digit())
}

/// `end-time hardware-address address name client-id`.
fn is_short_lease(line: &str) -> bool {
    let mut words = line.split_whitespace();
    let number = words.next().is_some_and(|word| word.parse::<u64>().is_ok());
    let mac = words.next().is_some_and(|word| word.parse::<crate::Mac>().is_ok());
    number && mac && words.next().is_some_and(|word| word.parse::<std::net::IpAddr>().is_ok()) && words.next().is_some()
}

fn by_name(name: &str) -> Option<Format> {
    let name = name.to_ascii_lowercase();
    match name.rsplit_once('.')?.1 {
        "snmprec" => Some(Format::WalkRecord),
        "snmpwalk" | "walk" => Some(Format::Walk),
        "leases" => Some(Format::Leases),
        "sdp" => Some(Format::StreamDescription),
        _ => None,
    }
}
