//! Who sends and who listens: every packet stream of every leg, as sockets to open. Pure.

use crate::blueprint::Blueprint;
use loomwright_forwarding::{Fabric, NetworkIx, PacketStreams};
use loomwright_model::plan::Mode;
use loomwright_model::{Id, Plan, Wiring};
use loomwright_survival::Survival;
use std::collections::BTreeMap;
use std::net::Ipv4Addr;

/// Where media goes. **Source**: RFC 3551 section 8 names 5004 as the default port of RTP.
const MEDIA_PORT: u16 = 5_004;
/// Groups that are made up where the wiring has none. **Source**: RFC 2365 section 6.1, 239.255.0.0/16 is local.
const MADE_UP_GROUPS: Ipv4Addr = Ipv4Addr::new(239, 255, 0, 0);

/// One sender of one packet stream on one network.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sender {
    /// Index of its host in the blueprint.
    pub host: u32,
    /// Its address.
    pub from: Ipv4Addr,
    /// The group, or the receiver's address.
    pub to: Ipv4Addr,
    /// The port.
    pub udp_port: u16,
    /// Octet of the IPv4 header with the code point.
    pub tos: u8,
    /// Audio octets in one packet.
    pub payload: usize,
    /// Samples of each channel in one second.
    pub sample_rate: u32,
}

/// One receiver of one sender.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Listener {
    /// Index of the leg in [`Cast::legs`].
    pub leg: u32,
    /// Index of its host in the blueprint.
    pub host: u32,
    /// Index of the sender it wants.
    pub sender: u32,
}

/// One stream at one receiver over one network.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Leg {
    /// Index of its demand in [`Survival::demands`].
    pub demand: u32,
    /// The stream.
    pub stream: Id,
    /// The receiver.
    pub to: Id,
    /// The network.
    pub network: Id,
}

/// All of them.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Cast {
    /// Every leg, in the order of [`Survival::legs`].
    pub legs: Vec<Leg>,
    /// Senders; their number, from 1, is the stream's mark in every packet (SSRC).
    pub senders: Vec<Sender>,
    /// Listeners, in the order of the legs.
    pub listeners: Vec<Listener>,
    /// What had to be made up, in sentences.
    pub notes: Vec<String>,
}

impl Cast {
    /// Every packet stream of every leg. A leg whose ends have no host (nothing is plugged in) has no listener.
    pub fn new((plan, wiring): (&Plan, &Wiring), fabric: &Fabric, survival: &Survival, blueprint: &Blueprint) -> Self {
        let mut caster = Caster {
            plan,
            wiring,
            fabric,
            blueprint,
            packets: PacketStreams::new(plan),
            known: BTreeMap::new(),
            made_up: 0,
            cast: Self::default(),
        };
        for leg in survival.legs() {
            let demand = &survival.demands()[leg.demand as usize];
            caster.add(leg.demand, (&demand.stream, &demand.to), leg.network);
        }
        if caster.made_up > 0 {
            let says = format!("{} packet streams have no planned group: they got made-up ones from 239.255.0.0/16.", caster.made_up);
            caster.cast.notes.push(says);
        }
        caster.cast
    }

    /// Listeners of each leg.
    pub fn listeners_of(&self, leg: u32) -> impl Iterator<Item = (usize, &Listener)> {
        self.listeners.iter().enumerate().filter(move |(_, listener)| listener.leg == leg)
    }
}

/// What tells senders apart: stream, packet stream, network, and the receiver of a unicast stream.
type Key = (usize, u32, NetworkIx, Option<u32>);

struct Caster<'a> {
    plan: &'a Plan,
    wiring: &'a Wiring,
    fabric: &'a Fabric,
    blueprint: &'a Blueprint,
    packets: PacketStreams,
    known: BTreeMap<Key, u32>,
    made_up: u32,
    cast: Cast,
}

impl Caster<'_> {
    fn add(&mut self, demand: u32, (stream, to): (&Id, &Id), network: NetworkIx) {
        let leg = self.cast.legs.len() as u32;
        let name = self.fabric.networks[network.0 as usize].clone();
        self.cast.legs.push(Leg { demand, stream: stream.clone(), to: to.clone(), network: name });
        let Some((at, _, planned)) = self.plan.streams.get_full(stream) else { return };
        let (Some(sender), Some(receiver)) = (self.host(&planned.from, network), self.host(to, network)) else { return };
        for number in 1..=self.packets.of(at).len() as u32 {
            let key = (at, number, network, (planned.mode == Mode::Unicast).then_some(receiver));
            let sender = match self.known.get(&key) {
                Some(known) => *known,
                None => self.add_sender(key, sender),
            };
            self.cast.listeners.push(Listener { leg, host: receiver, sender });
        }
    }

    fn host(&self, device: &Id, network: NetworkIx) -> Option<u32> {
        let device = self.plan.devices.get_index_of(device)?;
        let attachment = self.fabric.audio.get(device)?.iter().find(|audio| audio.network == network)?;
        self.blueprint.host_at(attachment.node)
    }

    fn address(&self, host: u32) -> Ipv4Addr {
        self.blueprint.hosts[host as usize].addresses.first().map_or(Ipv4Addr::UNSPECIFIED, |address| address.address)
    }

    fn add_sender(&mut self, key: Key, host: u32) -> u32 {
        let at = self.cast.senders.len() as u32;
        let (stream, number, network, receiver) = key;
        let packet = &self.packets.of(stream)[number as usize - 1];
        let payload = packet.payload.bytes() as usize;
        let format = &self.plan.streams[stream].format;
        // Unicast streams to one receiver are told apart by their port, multicast ones by their group.
        let udp_port = if receiver.is_some() { MEDIA_PORT.saturating_add((2 * at % 50_000) as u16) } else { MEDIA_PORT };
        let (tos, sample_rate) = (format.media_dscp.tos_octet(), (format.sample_rate.millihertz() / 1_000).max(1) as u32);
        let to = match receiver {
            Some(receiver) => self.address(receiver),
            None => self.group(stream, number, network),
        };
        self.cast.senders.push(Sender { host, from: self.address(host), to, udp_port, tos, payload, sample_rate });
        self.known.insert(key, at);
        at
    }

    fn group(&mut self, stream: usize, number: u32, network: NetworkIx) -> Ipv4Addr {
        let planned = self.plan.streams.get_index(stream).and_then(|(id, _)| self.wiring.groups.get(&(id.clone(), number)));
        let planned = planned.and_then(|groups| groups.get(&self.fabric.networks[network.0 as usize])).copied();
        planned.filter(Ipv4Addr::is_multicast).unwrap_or_else(|| {
            self.made_up += 1;
            Ipv4Addr::from(u32::from(MADE_UP_GROUPS) + self.made_up)
        })
    }
}
