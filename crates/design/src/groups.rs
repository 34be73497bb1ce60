//! Gives every packet stream a multicast group on every network that carries it.
//!
//! Groups come from 239.192.0.0/14, the range for private plans (RFC 2365 section 6.2). All of it maps to distinct
//! MAC addresses (RFC 1112 section 6.4 keeps 23 bits), none of them one that switches flood (those of
//! 224.0.0.0/24). Every network has a part of its own, so that the last two octets are the same on A and B.
//! Groups that are there already stay.

use crate::demand;
use crate::draft::Draft;
use crate::load;
use indexmap::IndexMap;
use loomwright_forwarding::PacketStreams;
use loomwright_model::plan::Mode;
use loomwright_model::{Id, Item};
use std::collections::BTreeSet;
use std::net::Ipv4Addr;

/// First address of the range. **Source**: RFC 2365 section 6.2.
const BASE: u32 = u32::from_be_bytes([239, 192, 0, 0]);
/// How many addresses it has: a /14. **Source**: RFC 2365 section 6.2.
const SIZE: u32 = 1 << 18;
/// Bits of a group that its MAC address keeps. **Source**: RFC 1112 section 6.4.
const MAC_BITS: u32 = 0x7F_FFFF;

/// Gives groups.
pub(crate) fn decide(draft: &mut Draft) {
    let audio = demand::audio_networks(draft.plan);
    let part = SIZE / u32::try_from(audio.len()).unwrap_or(1).max(4).next_power_of_two();
    let packets = PacketStreams::new(draft.plan);
    let networks = load::device_networks(draft);
    let mut wishes: Vec<((Id, u32), Vec<Id>)> = Vec::new();
    for packet in &packets.all {
        let Some((id, stream)) = draft.plan.streams.get_index(packet.stream as usize) else { continue };
        let carried = load::stream_networks(draft, &networks, stream);
        if stream.mode == Mode::Multicast && !carried.is_empty() {
            wishes.push(((id.clone(), packet.number), carried.into_iter().map(|(network, _)| network).collect()));
        }
    }
    let mut taken: BTreeSet<u32> = BTreeSet::new();
    let mut groups: IndexMap<(Id, u32), IndexMap<Id, Ipv4Addr>> = wishes.iter().map(|(key, _)| (key.clone(), IndexMap::new())).collect();
    for (key, networks) in &wishes {
        let Some(before) = draft.before.groups.get(key) else { continue };
        for network in networks {
            if let Some(group) = before.get(network).filter(|group| may_stay(**group) && taken.insert(mac(**group))) {
                groups[key].insert(network.clone(), *group);
            }
        }
    }
    let mut slots = slots(part);
    let address = |network: &Id, slot: u32| {
        let index = audio.iter().position(|other| other == network).unwrap_or(0);
        Ipv4Addr::from(BASE + u32::try_from(index).unwrap_or(0) * part + slot)
    };
    let mut without: Vec<Id> = Vec::new();
    for (key, networks) in &wishes {
        let missing: Vec<&Id> = networks.iter().filter(|network| !groups[key].contains_key(*network)).collect();
        if missing.is_empty() {
            continue;
        }
        let Some(slot) = slots.find(|slot| missing.iter().all(|network| !taken.contains(&mac(address(network, *slot))))) else {
            without.push(key.0.clone());
            continue;
        };
        for network in missing {
            taken.insert(mac(address(network, slot)));
            groups[key].insert(network.clone(), address(network, slot));
        }
        let order: Vec<&Id> = networks.iter().collect();
        groups[key].sort_by(|one, _, other, _| order.iter().position(|id| *id == one).cmp(&order.iter().position(|id| *id == other)));
    }
    draft.done.wiring.groups = groups;
    without.dedup();
    if !without.is_empty() {
        let says = format!("No multicast group is left for: {}.", crate::draft::listed(&without, 5));
        let items = without.into_iter().map(Item::Stream).collect();
        draft.stop("design/no-group", items, [says, "Split the plan into separate networks.".to_owned()]);
    }
}

/// Last parts of groups in the order they are given: 1.1, 1.2 .. 1.254, 2.1 ..: no octet is 0 or 255.
fn slots(part: u32) -> impl Iterator<Item = u32> {
    (256..part).filter(|slot| !matches!(slot % 256, 0 | 255))
}

fn mac(group: Ipv4Addr) -> u32 {
    u32::from(group) & MAC_BITS
}

/// Whether a group from before can be kept: multicast of private scope, and not on a MAC address that is flooded.
fn may_stay(group: Ipv4Addr) -> bool {
    group.octets()[0] == 239 && mac(group) > 0xFF
}
