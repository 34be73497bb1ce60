//! Code points, multicast, membership, addresses and spanning tree.

use crate::row::Row;
use crate::rules;
use loomwright_forwarding::membership::{Membership, querier, response_tenths};
use loomwright_forwarding::{Fabric, forward, is_always_flooded};
use loomwright_model::multicast::{Scope, hardware_address, hardware_text};
use loomwright_model::net::{USABLE_LINK_LOCAL, is_usable_link_local};
use loomwright_model::{Dscp, InterfaceAddress, StreamFormat};
use std::net::Ipv4Addr;

pub fn evaluate(row: &Row) -> Option<String> {
    quality(row).or_else(|| multicast(row)).or_else(|| membership(row)).or_else(|| address(row)).or_else(|| tree(row))
}

fn quality(row: &Row) -> Option<String> {
    let dscp = || Dscp::new(row.get("dscp")).expect("a code point");
    let format = StreamFormat::default();
    Some(match row.topic.as_str() {
        "qos.dscp" => Dscp::from_name(row.word("phb"))?.get().to_string(),
        "qos.tos_byte" => format!("0x{:02X}", dscp().tos_octet()),
        "qos.default_pcp" => dscp().default_priority().to_string(),
        "qos.aes67" if row.word("traffic") == "ptp_event" => format.clock_dscp.to_string(),
        "qos.aes67" if row.word("traffic") == "rtp_media" => format.media_dscp.to_string(),
        _ => return None,
    })
}

fn multicast(row: &Row) -> Option<String> {
    let group = |key: &str| row.get::<Ipv4Addr>(key);
    Some(match row.topic.as_str() {
        "mcast.mac" => hardware_text(hardware_address(group("ip"))),
        "mcast.collision" => (hardware_address(group("a")) == hardware_address(group("b"))).to_string(),
        "mcast.groups_per_mac" => groups_on_one_address().to_string(),
        "mcast.always_flooded" => is_always_flooded(group("ip")).to_string(),
        "mcast.scope" => Scope::of(group("ip")).to_string(),
        _ => return None,
    })
}

/// Every group whose last two parts are 1.1 that shares the hardware address of 239.69.1.1.
fn groups_on_one_address() -> usize {
    let wanted = hardware_address(Ipv4Addr::new(239, 69, 1, 1));
    let groups = (224..=239u8).flat_map(|first| (0..=255u8).map(move |second| Ipv4Addr::new(first, second, 1, 1)));
    groups.filter(|group| hardware_address(*group) == wanted).count()
}

fn membership(row: &Row) -> Option<String> {
    let timers = || Membership { robustness: row.get("rv"), query_interval: row.get("qi"), response_interval: row.get("qri") };
    Some(match row.topic.as_str() {
        "igmp.membership_interval" => timers().interval().to_string(),
        "igmp.other_querier" => timers().other_querier().to_string(),
        "igmp.max_resp_code" => response_tenths(row.get("code")).to_string(),
        "igmp.querier_election" => {
            let candidates = row.word("candidates").split(',').map(|text| text.parse().expect("an address"));
            querier(candidates).map_or_else(|| "nobody".to_owned(), |address| address.to_string())
        }
        _ => return None,
    })
}

fn address(row: &Row) -> Option<String> {
    Some(match row.topic.as_str() {
        "ip.subnet" => {
            let subnet = row.input.parse::<InterfaceAddress>().expect("an address with its prefix").subnet;
            format!("{};{};{}", subnet.base(), subnet.broadcast(), subnet.hosts())
        }
        "ip.linklocal_count" => USABLE_LINK_LOCAL.to_string(),
        "ip.linklocal_valid" => is_usable_link_local(row.input.parse().expect("an address")).to_string(),
        _ => return None,
    })
}

fn tree(row: &Row) -> Option<String> {
    match row.topic.as_str() {
        "stp.cost_long" => {
            let ring = rules::bridges(&[("1", "2", row.get("mbps"))]);
            Some(Fabric::new(&ring.0, &ring.1).cables[0].tree[0].cost.to_string())
        }
        "stp.triangle" => Some(blocked_port(row)),
        _ => None,
    }
}

/// Which port of the triangle blocks: `bridge3 port to bridge1`.
fn blocked_port(row: &Row) -> String {
    let links: Vec<(&str, &str, u64)> = row.word("links").split(',').map(link).collect();
    let (plan, wiring) = rules::bridges(&links);
    let fabric = Fabric::new(&plan, &wiring);
    let blocked = forward(&plan, &wiring, &fabric).tree.blocked_ports;
    let name = |(cable, end): &(loomwright_forwarding::CableIx, usize)| {
        let ends = &fabric.cables[cable.0 as usize].ends;
        format!("{} port to {}", ends[*end].item, ends[1 - *end].item)
    };
    blocked.iter().map(name).collect::<Vec<_>>().join(", ")
}

/// `1-2:1G` or `1-3:100M`.
fn link(text: &str) -> (&str, &str, u64) {
    let (ends, speed) = text.split_once(':').expect("ends and speed");
    let (one, two) = ends.split_once('-').expect("two ends");
    (one, two, if speed == "1G" { 1_000 } else { speed.trim_end_matches('M').parse().expect("megabits") })
}
