//! The proof as data: what `check --json` prints, and what pages and sheets show.
//!
//! Items are written `kind:name`. Times are whole nanoseconds (`_ns`, worst cases rounded up), rates
//! bit/s (`_bps`), lengths millimetres (`_mm`), power milliwatts (`_mw`).

pub use crate::name::Name;

use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// The whole proof.
#[derive(Debug, Clone, Default, PartialEq, Serialize, JsonSchema)]
pub struct Report {
    /// What was proved.
    pub plan: PlanLine,
    /// Whether nothing stops the show.
    pub ready: bool,
    /// One sentence a person can act on.
    pub verdict: String,
    /// Findings, most harmful first.
    pub findings: Vec<FindingLine>,
    /// Every packet stream at every receiver in every network.
    pub streams: Vec<StreamLine>,
    /// Every cable in every direction that carries a stream.
    pub links: Vec<LinkLine>,
    /// Clock by network.
    pub clock: Vec<ClockLine>,
    /// Queue memory of every box that forwards a stream.
    pub memory: Vec<MemoryLine>,
    /// Receivers that play in step: groups of the plan, then every stream with several receivers.
    pub in_phase: Vec<InPhaseLine>,
    /// Whole ways of sound through several devices.
    pub journeys: Vec<JourneyLine>,
    /// Every single failure.
    pub failures: Vec<FailureLine>,
    /// What all single failures do, counted. It follows from `failures` and is not printed as data.
    #[serde(skip)]
    pub counts: FailureCounts,
    /// Pairs of failures.
    pub pairs: Pairs,
    /// How likely the streams stay up.
    pub availability: Availability,
    /// Draw of each feed.
    pub power: Vec<FeedLine>,
    /// Power over Ethernet of each switch.
    pub poe: Vec<PoeLine>,
    /// Every cable's length against its limit.
    pub lengths: Vec<LengthLine>,
}

/// What all single failures do, counted.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct FailureCounts {
    /// How many were tried.
    pub tried: usize,
    /// How many of them silence a stream.
    pub silencing: usize,
    /// How many of them silence an essential stream.
    pub silencing_essential: usize,
    /// The longest silence that ends by itself, in nanoseconds.
    pub longest_gap_ns: Option<u64>,
}

/// Which plan was proved.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct PlanLine {
    /// Name of the plan.
    pub name: String,
    /// Its revision.
    pub revision: String,
    /// Digest of plan and wiring as read; empty if unknown.
    pub digest: String,
}

/// One finding.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct FindingLine {
    /// `area/trouble`.
    pub code: String,
    /// `stop`, `warn` or `note`.
    pub severity: String,
    /// The culprit first.
    pub items: Vec<String>,
    /// One sentence.
    pub says: String,
    /// The figure found.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<String>,
    /// The figure allowed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limit: Option<String>,
    /// Where the limit comes from.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
    /// What to do.
    #[serde(rename = "do")]
    pub remedy: String,
    /// Where the culprit is written.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<At>,
}

/// A place in a file, from 1.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct At {
    /// File.
    pub file: String,
    /// Line.
    pub line: u32,
    /// Column.
    pub column: u32,
}

/// One packet stream at one receiver in one network.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct StreamLine {
    /// Stream.
    pub id: Name,
    /// Packet stream within it, from 1.
    pub packet_stream: u32,
    /// Sender.
    pub from: Name,
    /// Receiver.
    pub to: Name,
    /// Network.
    pub network: Name,
    /// Ports and cables in order, from the sender's port to the receiver's.
    pub path: Vec<Name>,
    /// Cables on the way.
    pub hops: u32,
    /// Rate on the wire.
    pub wire_bps: u64,
    /// Delay; absent where no bound exists.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub delay: Option<DelayLine>,
}

/// Delay of one packet stream at one receiver.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct DelayLine {
    /// Never sooner.
    pub least_ns: u64,
    /// Never later.
    pub worst_ns: u64,
    /// A delay that a packet can really have, by construction; absent where the construction does not hold.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reached_ns: Option<u64>,
    /// Whether a packet that late was constructed.
    pub known_tight: bool,
    /// What the receiver has to hold back.
    pub hold: HoldLine,
    /// Where the worst case goes, hop by hop.
    pub per_hop: Vec<HopLine>,
}

/// What a receiver has to hold back for one packet stream.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct HoldLine {
    /// What the delay in the network can vary by.
    pub variation_ns: u64,
    /// How much later than nominal the sender may send.
    pub jitter_ns: u64,
    /// Audio time in one packet.
    pub packet_ns: u64,
    /// Audio to hold ready: the sum of the three.
    pub buffer_ns: u64,
    /// Least delay from a sample's entry at the sender to its leaving the receiver's buffer: packet, jitter, worst delay.
    pub receive_delay_ns: u64,
    /// The first of the receiver's settings that is as long; absent where its gear states none that is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub setting_ns: Option<u64>,
}

impl DelayLine {
    /// Of the bound: `known to occur`, or that nobody knows.
    pub fn standing(&self) -> &'static str {
        if self.known_tight { "known to occur" } else { "not known to be reached" }
    }
}

/// One hop's part of the worst case. The four parts add up to the hop; the hops add up to the whole.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct HopLine {
    /// The port it leaves from.
    pub at: Name,
    /// Own bits onto the cable.
    pub serialise_ns: u64,
    /// Waiting behind others.
    pub wait_ns: u64,
    /// Inside the box at the far end of the cable, before the next queue.
    pub forward_ns: u64,
    /// Along the cable.
    pub propagate_ns: u64,
    /// Part of the wait that is one lower-priority frame already on the cable.
    pub blocked_ns: u64,
    /// Streams it may have to wait behind.
    pub behind: Vec<Name>,
}

/// One cable in one direction.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct LinkLine {
    /// Port it leaves from.
    pub from: String,
    /// Port it arrives at.
    pub to: String,
    /// Cable.
    pub cable: String,
    /// Speed.
    pub speed_bps: u64,
    /// All streams on it.
    pub load_bps: u64,
    /// How many packet streams.
    pub streams: u32,
    /// Load that nobody behind it asked for.
    pub unwanted_bps: u64,
    /// Most that planned streams may have waiting for it; absent where no bound exists.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub backlog_bytes: Option<u64>,
}

/// The queues of one box that forwards.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct MemoryLine {
    /// Switch or device.
    pub item: String,
    /// Its gear type.
    pub gear: String,
    /// All its queues at their fullest, an upper bound; absent where one has none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub needed_bytes: Option<u64>,
    /// The port whose queue may need most.
    pub fullest_port: String,
    /// How much that is.
    pub fullest_bytes: u64,
    /// What the gear states, shared by all ports; absent where it does not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stated_bytes: Option<u64>,
}

/// Receivers that play in step.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct InPhaseLine {
    /// Its name in the plan, or the stream whose receivers it holds.
    pub name: String,
    /// Whether the plan asks for it.
    pub declared: bool,
    /// Who plays.
    pub players: Vec<PlayerLine>,
    /// Least receive delay that suits all; absent where one has no bound.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub needed_ns: Option<u64>,
    /// The setting for all; absent where there is none, or none is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub setting_ns: Option<u64>,
    /// How far apart they can play if each starts its own buffer with the first packet that comes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub spread_ns: Option<u64>,
    /// That, as a way through air.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub spread_mm: Option<u64>,
}

/// One receiver of a group that plays in step.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct PlayerLine {
    /// Stream.
    pub stream: Name,
    /// Receiver.
    pub to: Name,
    /// Least receive delay of its own; absent where no bound exists.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub receive_delay_ns: Option<u64>,
}

/// One whole way of sound.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct JourneyLine {
    /// Its name in the plan.
    pub name: String,
    /// The last device.
    pub to: String,
    /// The whole; absent where a stream on it has no bound.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub whole_ns: Option<u64>,
    /// How far sound goes through air meanwhile.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub air_mm: Option<u64>,
    /// Its limit, if it has one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limit_ns: Option<u64>,
    /// Its parts in order; they add up to the whole.
    pub parts: Vec<JourneyPart>,
    /// Devices whose gear does not say how long they take: counted as nothing.
    pub not_stated: Vec<String>,
    /// Receivers without a setting as long as needed: counted with what they need.
    pub unset: Vec<String>,
}

/// One part of a way of sound.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct JourneyPart {
    /// `inside`, `packet`, `network` or `held`.
    pub on: String,
    /// The device or stream.
    pub at: String,
    /// How long.
    pub ns: u64,
}

impl JourneyPart {
    /// What the time is spent on, in words.
    pub fn spent(&self) -> &str {
        match self.on.as_str() {
            "inside" => "converters and processing inside",
            "packet" => "filling a packet",
            "network" => "in the network, at worst",
            "held" => "held until the setting is over",
            other => other,
        }
    }
}

/// The clock of one network.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct ClockLine {
    /// Network.
    pub network: String,
    /// Who leads; absent if nobody can.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub leader: Option<String>,
    /// Everybody who follows.
    pub per_device: Vec<FollowerLine>,
}

/// One follower.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct FollowerLine {
    /// Device.
    pub device: String,
    /// Boxes between it and its leader.
    pub hops: u32,
    /// Guaranteed error bound; absent where none exists.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub worst_error_ns: Option<u64>,
    /// Mean error to expect under the planned load, without a filter. Not guaranteed; absent where nothing can be said.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub expected_error_ns: Option<u64>,
    /// Error to expect if it keeps the quickest of 64 exchanges; absent where the boxes on the way are too full for that
    /// to help. Not guaranteed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub filtered_error_ns: Option<u64>,
}

/// One failure and what it does.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct FailureLine {
    /// What was taken away.
    pub without: Vec<String>,
    /// A switch whose links stay up while nothing is forwarded.
    pub frozen: bool,
    /// What goes with it: boxes left without power, and cables.
    pub gone_too: Vec<String>,
    /// Streams and receivers with no leg left, after reconvergence.
    pub silent: Vec<SilentLine>,
    /// Streams and receivers that lost a leg but still hear.
    pub one_leg_left: Vec<SilentLine>,
    /// How long each affected `stream>receiver` was silent before it came back.
    pub gap_ns: BTreeMap<String, u64>,
    /// What the longest of these gaps is made of.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub longest_gap: Option<GapLine>,
    /// Networks that get another leader, as `network: old > new`.
    pub clock_changes: Vec<String>,
}

/// A gap, and why it is so long: upper bounds from the standards' timers.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct GapLine {
    /// Until the spanning tree has found the new way.
    pub tree_ns: u64,
    /// From then until switches know again behind which ports the members are.
    pub members_ns: u64,
}

/// One stream at one receiver.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
pub struct SilentLine {
    /// Stream.
    pub stream: Name,
    /// Receiver.
    pub to: Name,
}

/// Pairs of failures.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Pairs {
    /// Pairs that silence an essential stream though neither does alone.
    pub count: u64,
    /// The worst of them.
    pub worst: Vec<FailureLine>,
}

/// Availability.
#[derive(Debug, Clone, Default, PartialEq, Serialize, JsonSchema)]
pub struct Availability {
    /// Chance that every essential stream is up; absent until computed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub essential: Option<f64>,
    /// Each stream at each receiver.
    pub per_stream: Vec<UpLine>,
    /// Spares by what they buy.
    pub spares: Vec<SpareLine>,
    /// Single boxes by what a spare beside them buys, the best 20.
    pub boxes: Vec<ItemLine>,
    /// What has no figure of its own and is taken as perfect (cables, routes, hazards, feeds, some boxes), by how much hangs
    /// on it, the first 20: what to guard.
    pub guard: Vec<ItemLine>,
    /// What the chances are of: how long, and with or without repair.
    pub of: String,
    /// Gear types in use that were taken never to fail, because the plan gives no mean time between failures.
    pub taken_as_perfect: Vec<String>,
}

/// How likely one stream is up at one receiver.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct UpLine {
    /// Stream.
    pub stream: Name,
    /// Receiver.
    pub to: Name,
    /// Probability.
    pub up: f64,
}

/// What one spare buys.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SpareLine {
    /// Gear type.
    pub gear: String,
    /// Gain in availability.
    pub gain: f64,
    /// How many of that type are in use.
    pub count: u32,
    /// The one of them that matters most: where to keep the spare.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub beside: Option<String>,
}

/// How much one thing matters to the essential streams.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ItemLine {
    /// The thing.
    pub item: String,
    /// Essential streams at receivers that fall silent with it.
    pub silences: u32,
    /// Chance that, with it lost for a whole show, one more box fails and silences an essential stream that still played.
    pub next: f64,
    /// Gain in availability if it never failed, counted from failures of one and of two boxes.
    pub gain: f64,
}

/// One feed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct FeedLine {
    /// Feed.
    pub feed: String,
    /// Draw of what hangs on it.
    pub draw_mw: u64,
}

/// One switch's power over Ethernet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct PoeLine {
    /// Switch.
    pub switch: String,
    /// What it can give.
    pub budget_mw: u64,
    /// What is asked of it.
    pub draw_mw: u64,
}

/// One cable.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct LengthLine {
    /// Cable.
    pub cable: String,
    /// Its length.
    pub length_mm: u64,
    /// The limit for its medium and speed.
    pub limit_mm: u64,
}

/// The JSON Schema of [`Report`], generated from its types, as printed text.
pub fn schema() -> String {
    // What is printed: a field that is left out when empty is not required.
    let schema = schemars::generate::SchemaSettings::draft2020_12().for_serialize().into_generator().into_root_schema_for::<Report>();
    serde_json::to_string_pretty(schema.as_value()).expect("a schema holds nothing but text and numbers")
}
