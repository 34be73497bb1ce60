//! Planned against heard, as it stands: streams, clock leaders, queriers and address servers, for watching while it comes in.

use crate::differences::Names;
use loomwright_evidence::{Evidence, Moment};
use loomwright_model::{Id, Plan, Wiring};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use std::net::Ipv4Addr;

/// What was heard of what is planned.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Heard {
    /// Every planned group of the networks that are listened to, in the order of the wiring.
    pub streams: Vec<StreamHeard>,
    /// Groups with audio that are not planned.
    pub unplanned: Vec<Ipv4Addr>,
    /// Clock leaders that announce, by domain.
    pub leaders: Vec<LeaderHeard>,
    /// Boxes that ask about groups.
    pub queriers: Vec<QuerierHeard>,
    /// Boxes of the plan that were heard at all, and all of them.
    pub boxes: (usize, usize),
    /// Frames, and from the first to the last. **Unit**: nanosecond.
    pub frames: u64,
    /// **Unit**: nanosecond.
    pub lasted: u64,
}

/// One planned group.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct StreamHeard {
    /// Its stream.
    pub stream: Id,
    /// Its network.
    pub network: Id,
    /// The group.
    pub group: Ipv4Addr,
    /// Packets that came; 0 is not heard.
    pub packets: u64,
    /// Packets that are missing among them.
    pub lost: u64,
}

/// One clock leader that announces.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LeaderHeard {
    /// Clock domain.
    pub domain: u8,
    /// The box, or its clock identity.
    pub who: String,
    /// Whether it is the planned leader; `None` if none is planned or it is not known who it is.
    pub is_planned: Option<bool>,
}

/// One box that asks about groups.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct QuerierHeard {
    /// Its address.
    pub address: Ipv4Addr,
    /// The box, if the plan knows it.
    pub who: Option<Id>,
    /// Whether it is the planned querier of its network; `None` if none is planned.
    pub is_planned: Option<bool>,
}

/// What was heard so far. With `networks` given, only their groups count as planned here.
///
/// ```
/// # let (plan, wiring) = { let loaded = loomwright_planfile::read_bytes(("p.toml", b"[plan]\nname = \"x\"\n"), None).expect("a plan"); (loaded.plan, loaded.wiring) };
/// let heard = loomwright_linecheck::heard((&plan, &wiring), &Default::default(), &[]);
/// assert_eq!((heard.frames, heard.streams.len()), (0, 0));
/// ```
pub fn heard((plan, wiring): (&Plan, &Wiring), evidence: &Evidence, networks: &[Id]) -> Heard {
    let names = Names::new(plan, wiring, evidence);
    let captures = || evidence.sources.iter().filter_map(|source| source.capture.as_ref());
    let first = captures().filter_map(|capture| Some(capture.time?.0)).min();
    let last = captures().filter_map(|capture| Some(capture.time?.1)).max();
    Heard {
        streams: streams(&names, networks),
        unplanned: unplanned(&names),
        leaders: leaders(&names),
        queriers: queriers(&names),
        boxes: (boxes(&names).len(), plan.devices.len() + wiring.switches.len()),
        frames: captures().map(|capture| capture.frames).fold(0, u64::saturating_add),
        lasted: last.zip(first).map_or(0, |(last, first): (Moment, Moment)| last.since(first)),
    }
}

fn streams(names: &Names<'_>, networks: &[Id]) -> Vec<StreamHeard> {
    let mut counts: BTreeMap<Ipv4Addr, (u64, u64)> = BTreeMap::new();
    for flow in &names.evidence.flows {
        let (packets, lost) = counts.entry(flow.destination).or_default();
        *packets = packets.saturating_add(flow.rtp.iter().map(|rtp| rtp.packets).fold(0, u64::saturating_add));
        *lost = lost.saturating_add(flow.rtp.iter().map(|rtp| rtp.lost).fold(0, u64::saturating_add));
    }
    let groups =
        names.wiring.groups.iter().flat_map(|((stream, _), groups)| groups.iter().map(move |(network, group)| (stream, network, group)));
    let here = groups.filter(|(_, network, _)| networks.is_empty() || networks.contains(network));
    here.map(|(stream, network, group)| {
        let (packets, lost) = counts.get(group).copied().unwrap_or_default();
        StreamHeard { stream: stream.clone(), network: network.clone(), group: *group, packets, lost }
    })
    .collect()
}

fn unplanned(names: &Names<'_>) -> Vec<Ipv4Addr> {
    let media = names.evidence.flows.iter().filter(|flow| flow.destination.is_multicast() && !flow.rtp.is_empty());
    let groups: BTreeSet<Ipv4Addr> = media.map(|flow| flow.destination).filter(|group| names.group(*group).is_none()).collect();
    groups.into_iter().collect()
}

fn leaders(names: &Names<'_>) -> Vec<LeaderHeard> {
    let planned = names.wiring.clock.leader.as_ref();
    let said = names.evidence.clocks.iter().filter_map(|row| Some((row.domain, row.announce?.leader)));
    let all: BTreeSet<_> = said.collect();
    let told = |(domain, clock)| {
        let known = names.by_clock(clock);
        let is_planned = planned.zip(known).map(|(planned, known)| planned == known);
        LeaderHeard { domain, who: known.map_or_else(|| format!("{clock}"), ToString::to_string), is_planned }
    };
    all.into_iter().map(told).collect()
}

fn queriers(names: &Names<'_>) -> Vec<QuerierHeard> {
    let all: BTreeSet<Ipv4Addr> = names.evidence.queriers.iter().map(|row| row.address).filter(|one| !one.is_unspecified()).collect();
    let told = |address| {
        let who = names.by_address(address).map(|port| port.item.clone());
        let planned = names.network_of(address).and_then(|(network, _)| names.wiring.querier.get(network));
        QuerierHeard { address, is_planned: planned.map(|planned| who.as_ref() == Some(planned)), who }
    };
    all.into_iter().map(told).collect()
}

/// Boxes of the plan that spoke: by neighbour message, address, stream, wish or clock.
fn boxes(names: &Names<'_>) -> BTreeSet<Id> {
    let evidence = names.evidence;
    let by_address = |address| names.by_address(address).map(|port| port.item.clone());
    let mut all: BTreeSet<Id> = evidence.neighbours.iter().filter_map(|row| names.speaker(&row.says).cloned()).collect();
    all.extend(evidence.flows.iter().filter_map(|flow| by_address(flow.sender)));
    all.extend(evidence.memberships.iter().filter_map(|row| by_address(row.host)));
    all.extend(evidence.queriers.iter().filter_map(|row| by_address(row.address)));
    all.extend(evidence.clocks.iter().filter_map(|row| names.by_clock(row.identity).cloned()));
    all.extend(evidence.bindings.iter().filter_map(|row| names.by_mac(row.mac?).cloned()));
    all
}
