//! The result of a rehearsal, as data: what `rehearse --json` prints.

use serde::Serialize;

/// The whole rehearsal.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Report {
    /// What was built.
    pub built: Built,
    /// What this machine cannot show, in sentences.
    pub cannot_check: Vec<String>,
    /// What had to be made up, changed or slowed down, in sentences.
    pub notes: Vec<String>,
    /// All whole: every stream where it should be.
    pub intact: StepLine,
    /// Ports that the kernel's spanning tree shut, and those that the plan expects: differences, in sentences.
    pub tree_differences: Vec<String>,
    /// One line for each thing that was taken away.
    pub steps: Vec<StepLine>,
    /// Steps that could not be tried, each with the reason.
    pub not_tried: Vec<NotTried>,
    /// Everything that was tried went as predicted, and everything was tried.
    pub agrees: bool,
}

/// What was built, once for each copy.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Built {
    /// The kernel's name and release.
    pub kernel: String,
    /// Network namespaces.
    pub spaces: usize,
    /// Bridges.
    pub bridges: usize,
    /// Cables, counted once for each network that they carry.
    pub leads: usize,
    /// Sockets that send.
    pub senders: usize,
    /// Sockets that listen.
    pub listeners: usize,
    /// Copies of all this, which share the steps.
    pub copies: usize,
    /// Milliseconds that building the quickest copy took, without the sockets.
    pub network_ms: u64,
    /// Packets of each packet stream in a second.
    pub packets_per_second: u64,
    /// Seconds that all took.
    pub seconds: u64,
}

/// One thing that was taken away.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct StepLine {
    /// What; empty for the whole network.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub without: String,
    /// A switch whose links stay up while nothing is forwarded.
    pub frozen: bool,
    /// What went dark with it.
    pub gone_too: Vec<String>,
    /// Whether all went as predicted.
    pub agrees: bool,
    /// Streams that did not arrive at the end, by receiver and network.
    pub silent: Vec<SilentLine>,
    /// Streams that came back, or were expected to need time, by receiver.
    pub outages: Vec<OutageLine>,
    /// What went otherwise than predicted.
    pub differences: Vec<Difference>,
}

/// One stream at one receiver over one network.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SilentLine {
    /// Stream.
    pub stream: String,
    /// Receiver.
    pub to: String,
    /// Network.
    pub network: String,
}

/// A silence that ended.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct OutageLine {
    /// Stream.
    pub stream: String,
    /// Receiver.
    pub to: String,
    /// How long nothing came over any network.
    pub silent_ms: u64,
    /// Upper bound predicted for the rehearsal's timers; `None` where no silence was predicted.
    pub at_most_ms: Option<u64>,
}

/// One thing that went otherwise than predicted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Difference {
    /// Stream.
    pub stream: String,
    /// Receiver.
    pub to: String,
    /// Network; `None` where all were counted together.
    pub network: Option<String>,
    /// The prediction.
    pub expected: String,
    /// What was seen.
    pub seen: String,
}

/// A step that could not be tried.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct NotTried {
    /// What would have been taken away.
    pub without: String,
    /// Why not.
    pub reason: String,
}
