//! What is there and what is wanted: the content of `NAME.toml`.

use crate::gear::{Gear, Medium, Pairing, UnknownWord, words};
use crate::id::{Id, PortRef};
use crate::net::{Dscp, Subnet, VlanId};
use crate::units::{Frequency, Length, Money, Share, Time};
use indexmap::IndexMap;
use std::fmt;
use std::str::FromStr;

/// The whole plan. **Invariant** (kept by the reader): every reference names something that is there,
/// and device, switch and place names are distinct. Maps keep the order of the file.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Title block.
    pub about: About,
    /// What has to hold.
    pub targets: Targets,
    /// The audio format unless a stream says otherwise.
    pub stream_format: StreamFormat,
    /// Networks by name.
    pub networks: IndexMap<Id, Network>,
    /// Places by name.
    pub places: IndexMap<Id, Place>,
    /// Ways a cable can lie.
    pub routes: IndexMap<Id, Route>,
    /// Every gear type known: the plan's own first, then the shipped catalogue.
    pub gear: IndexMap<Id, Gear>,
    /// Devices by name.
    pub devices: IndexMap<Id, Device>,
    /// Audio that has to flow.
    pub streams: IndexMap<Id, Stream>,
    /// What is in the truck.
    pub stock: Stock,
    /// What work costs; only for comparing designs.
    pub labour: Labour,
    /// What has to arrive together, and whole ways of sound through several devices.
    pub listening: Listening,
}

/// The title block.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct About {
    /// What the plan is for.
    pub name: String,
    /// Its revision letter or number.
    pub revision: String,
    /// Date as written, `YYYY-MM-DD`.
    pub date: Option<String>,
    /// Who made it.
    pub by: Option<String>,
    /// Free text for the first sheet.
    pub note: Option<String>,
}

words!(
    /// How many failures no essential stream may fall silent under.
    Survive {
        /// None: any failure may silence it.
        Nothing = "nothing",
        /// Any one failure.
        AnyOne = "any-one",
        /// Any two failures.
        AnyTwo = "any-two",
    }
);

/// What has to hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Targets {
    /// Worst case, last bit out of the sender to last bit into the receiver.
    pub network_delay: Time,
    /// Largest error between any follower and its leader.
    pub clock_error: Time,
    /// Failures to survive.
    pub survive: Survive,
    /// Highest share of a link that streams may use.
    pub link_load: Share,
    /// Share of each switch's ports to leave free.
    pub spare_ports: Share,
    /// Longest a sound may take from the first device of a journey to the end of the last; `None` sets no limit.
    pub mouth_to_ear: Option<Time>,
}

impl Default for Targets {
    /// 1 ms, 1 us, nothing, 75 %, 10 %: common practice, no source; the load share is the AVB default (IEEE 802.1Q, read second-hand).
    fn default() -> Self {
        Self {
            network_delay: Time::from_milliseconds(1),
            clock_error: Time::from_microseconds(1),
            survive: Survive::Nothing,
            link_load: Share::from_parts_per_million(750_000),
            spare_ports: Share::from_parts_per_million(100_000),
            mouth_to_ear: None,
        }
    }
}

/// How audio is cut into packets and marked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StreamFormat {
    /// Samples per second and channel.
    pub sample_rate: Frequency,
    /// Bits per sample: 16, 24 or 32.
    pub bits: u8,
    /// Nominal audio time per packet.
    pub packet_time: Time,
    /// Code point of media packets.
    pub media_dscp: Dscp,
    /// Code point of clock event messages.
    pub clock_dscp: Dscp,
    /// Most channels in one packet stream; more are split.
    pub channels_per_packet_stream: u32,
}

impl Default for StreamFormat {
    /// 48 kHz, 24 bit, 1 ms, AF41 and EF, 8 channels. **Source**: AES67 (read second-hand).
    fn default() -> Self {
        Self {
            sample_rate: Frequency::from_millihertz(48_000_000),
            bits: 24,
            packet_time: Time::from_milliseconds(1),
            media_dscp: Dscp::AF41,
            clock_dscp: Dscp::EF,
            channels_per_packet_stream: 8,
        }
    }
}

words!(
    /// How interfaces of a network get their addresses.
    Addressing {
        /// Set by hand at the device.
        Fixed = "fixed",
        /// By a server, with reservations.
        Dhcp = "dhcp",
        /// Chosen by each device from 169.254/16 (RFC 3927).
        LinkLocal = "link-local",
    }
);

words!(
    /// What a network is for.
    Carries {
        /// Audio and its clock.
        Audio = "audio",
        /// Device control only.
        Control = "control",
    }
);

/// One network.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Network {
    /// Address range; `None` only for link-local networks.
    pub subnet: Option<Subnet>,
    /// VLAN number where networks share switches.
    pub vlan: Option<VlanId>,
    /// How addresses are given.
    pub addresses: Addressing,
    /// What it is for. Default: `control` for the network named `control`, else `audio`.
    pub carries: Carries,
    /// The one device that gives out addresses on it, if any.
    pub dhcp_server: Option<Id>,
}

/// A point on the floor plan, millimetres.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Position {
    /// Across, to the right.
    pub x: i64,
    /// Along, away from the reader's eye in the plan view.
    pub y: i64,
    /// Height.
    pub z: i64,
}

/// Where gear stands.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Place {
    /// What people call it.
    pub name: String,
    /// Where it is; `None` where the plan does not say.
    pub at: Option<Position>,
    /// Power feeds; the first is the default of what stands here.
    pub feeds: Vec<Id>,
}

/// A way a cable can lie between two places.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Route {
    /// The places at its ends.
    pub between: [Id; 2],
    /// How long it is.
    pub length: Length,
    /// Media that may lie in it.
    pub takes: Vec<Medium>,
    /// Hazards: everything that names the same one goes together.
    pub shares: Vec<Id>,
}

words!(
    /// How a Wi-Fi router is set.
    RouterMode {
        /// Gives out addresses (as it leaves the factory).
        Router = "router",
        /// Only forwards.
        AccessPoint = "access-point",
    }
);

/// One device.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Device {
    /// Its gear type.
    pub gear: Id,
    /// Where it stands.
    pub place: Id,
    /// What people call it, if not its id.
    pub title: Option<String>,
    /// Pairing asked for; `None` leaves it to the designer.
    pub pairing: Option<Pairing>,
    /// Power feeds; empty means the first feed of its place.
    pub feeds: Vec<Id>,
    /// Networks it must be on; empty leaves it to the designer.
    pub networks: Vec<Id>,
    /// For Wi-Fi routers.
    pub mode: Option<RouterMode>,
}

/// Which networks a stream uses.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Legs {
    /// Every audio network that both ends are on.
    Both,
    /// Only these.
    Only(Vec<Id>),
}

words!(
    /// How a stream is addressed.
    Mode {
        /// One copy per link, to a group.
        Multicast = "multicast",
        /// One copy per receiver.
        Unicast = "unicast",
    }
);

/// Audio that has to flow from one device to others.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stream {
    /// Sender.
    pub from: Id,
    /// Receivers.
    pub to: Vec<Id>,
    /// Audio channels; split into packet streams by the format's limits.
    pub channels: u32,
    /// Whether the show stops without it.
    pub essential: bool,
    /// Which networks carry it.
    pub legs: Legs,
    /// Multicast or unicast.
    pub mode: Mode,
    /// Its format: the plan's, with what the stream itself says.
    pub format: StreamFormat,
    /// Its own delay limit, if other than the plan's.
    pub network_delay: Option<Time>,
    /// Whether it feeds a voice-alarm or other life-safety system: marked and referred, never judged.
    pub life_safety: bool,
}

/// Receivers that must play in step.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct InPhase {
    /// Streams whose receivers belong together.
    pub streams: Vec<Id>,
    /// Only these receivers of them; empty means all.
    pub to: Vec<Id>,
}

/// A way of sound through several devices: each stream ends in the device that sends the next.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Journey {
    /// Streams in the order in which the sound takes them.
    pub through: Vec<Id>,
    /// The last device; `None` means every receiver of the last stream.
    pub to: Option<Id>,
    /// Its own limit, if other than the plan's `mouth-to-ear`.
    pub limit: Option<Time>,
}

/// What is asked of the sound as a whole, beyond single streams.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Listening {
    /// Groups of receivers that must play in step, by name.
    pub in_phase: IndexMap<Id, InPhase>,
    /// Ways of sound from the first device to the last, by name.
    pub journeys: IndexMap<Id, Journey>,
}

/// What is in the truck.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Stock {
    /// Copper lengths to choose from; empty means any length is made.
    pub copper: Vec<Length>,
    /// Fibre lengths to choose from; empty means any length is made.
    pub fibre: Vec<Length>,
    /// Switch types and how many; `None` means any of the known types may be bought.
    pub switches: Option<IndexMap<Id, u32>>,
    /// Copper pieces of which there are so many and no more.
    pub copper_count: Vec<Counted>,
    /// Fibre pieces of which there are so many and no more.
    pub fibre_count: Vec<Counted>,
    /// Reels of copper to cut from.
    pub copper_reels: Vec<Counted>,
    /// Reels of fibre to cut from.
    pub fibre_reels: Vec<Counted>,
    /// What a cable is longer than its way.
    pub slack: Slack,
    /// What is packed in which case: devices, switches' and devices' gear types, places.
    pub cases: IndexMap<Id, Vec<Id>>,
}

/// So many of one length.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Counted {
    /// How long each is.
    pub length: Length,
    /// How many there are.
    pub count: u32,
}

/// What a cable is longer than its way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Slack {
    /// Of the way, for bends and dressing.
    pub along: Share,
    /// At each end, to reach the port and to cut one bad end off.
    pub per_end: Length,
    /// Coiled at each end of a cable that leads from one place to another, so that a rack can be pulled out.
    pub service_loop: Length,
}

impl Default for Slack {
    /// 5 % of the way and 2 m at each end. Own choice: enough to reach the port, dress the cable and cut one bad end off;
    /// not so much that it lies about in coils.
    fn default() -> Self {
        Self { along: Share::from_parts_per_million(50_000), per_end: Length::from_millimetres(2_000), service_loop: Length::ZERO }
    }
}

impl Stock {
    /// Lengths to choose from for copper, or else for fibre: those without a count, then those with one.
    pub fn lengths(&self, medium: Medium) -> impl Iterator<Item = Length> + '_ {
        let (listed, counted) =
            if medium == Medium::Copper { (&self.copper, &self.copper_count) } else { (&self.fibre, &self.fibre_count) };
        listed.iter().copied().chain(counted.iter().map(|own| own.length))
    }

    /// Pieces with a count.
    pub fn counted(&self, medium: Medium) -> &[Counted] {
        if medium == Medium::Copper { &self.copper_count } else { &self.fibre_count }
    }

    /// Reels to cut from.
    pub fn reels(&self, medium: Medium) -> &[Counted] {
        if medium == Medium::Copper { &self.copper_reels } else { &self.fibre_reels }
    }

    /// Whether cables of this medium come in given lengths only.
    pub fn has_lengths(&self, medium: Medium) -> bool {
        self.lengths(medium).next().is_some()
    }
}

/// What material and work cost, in the plan's currency.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Labour {
    /// Laying one metre of cable.
    pub per_metre: Option<Money>,
    /// Making or plugging one end.
    pub per_end: Option<Money>,
    /// Making or plugging one end of fibre, where that is another price.
    pub fibre_per_end: Option<Money>,
    /// One pluggable module.
    pub per_module: Option<Money>,
    /// One metre of copper.
    pub copper_per_metre: Option<Money>,
    /// One metre of fibre.
    pub fibre_per_metre: Option<Money>,
}

/// Why a name does not lead to a port.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoSuchPort(pub PortRef);

impl fmt::Display for NoSuchPort {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "there is no port `{}`", self.0)
    }
}

impl Plan {
    /// The gear type of a device. Always there when the plan came through the reader.
    pub fn gear_of(&self, device: &Device) -> Option<&Gear> {
        self.gear.get(&device.gear)
    }

    /// The feeds that keep an item with `own` feeds at `place` running: its own, else the first of
    /// its place, else none that is modelled.
    pub fn feeds_of<'a>(&'a self, own: &'a [Id], place: &Id) -> &'a [Id] {
        if !own.is_empty() {
            return own;
        }
        self.places.get(place).map_or(&[], |place| &place.feeds[..place.feeds.len().min(1)])
    }
}
