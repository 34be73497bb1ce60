//! The proof as data: what `check --json` prints, and what pages and sheets show.
//!
//! Items are written `kind:name`. Times are whole nanoseconds (`_ns`, worst cases rounded up), rates
//! bit/s (`_bps`), lengths millimetres (`_mm`), power milliwatts (`_mw`).

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
    /// Every single failure.
    pub failures: Vec<FailureLine>,
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
    pub id: String,
    /// Packet stream within it, from 1.
    pub packet_stream: u32,
    /// Sender.
    pub from: String,
    /// Receiver.
    pub to: String,
    /// Network.
    pub network: String,
    /// Ports and cables in order, from the sender's port to the receiver's.
    pub path: Vec<String>,
    /// Cables on the way.
    pub hops: u32,
    /// Rate on the wire.
    pub wire_bps: u64,
    /// Delay; absent where no bound exists.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub delay: Option<DelayLine>,
}

/// Delay of one packet stream at one receiver.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct DelayLine {
    /// Never sooner.
    pub least_ns: u64,
    /// Never later.
    pub worst_ns: u64,
    /// Whether a packet that late was constructed.
    pub known_tight: bool,
    /// Where the worst case goes, hop by hop.
    pub per_hop: Vec<HopLine>,
}

/// One hop's part of the worst case. The four parts add up to the hop; the hops add up to the whole.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct HopLine {
    /// The port it leaves from.
    pub at: String,
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
    pub behind: Vec<String>,
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
    /// Networks that get another leader, as `network: old > new`.
    pub clock_changes: Vec<String>,
}

/// One stream at one receiver.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
pub struct SilentLine {
    /// Stream.
    pub stream: String,
    /// Receiver.
    pub to: String,
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
    /// What the chances are of: how long, and with or without repair.
    pub of: String,
    /// Gear types in use that were taken never to fail, because the plan gives no mean time between failures.
    pub taken_as_perfect: Vec<String>,
}

/// How likely one stream is up at one receiver.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct UpLine {
    /// Stream.
    pub stream: String,
    /// Receiver.
    pub to: String,
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
